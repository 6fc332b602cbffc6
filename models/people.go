package models

import (
	"context"

	"gorm.io/gorm"
)

// SavePerson adds a person (ID 0) or changes one, and returns it with its ID.
// Somebody with a step in hand cannot be taken off.
func (s *Store) SavePerson(ctx context.Context, p Person) (Person, error) {
	if err := nameGiven("name", p.Name); err != nil {
		return p, err
	}
	err := s.write(ctx, "save the person", func(tx *gorm.DB) (*Change, error) {
		if err := unused[Person](tx, "name", "name", p.Name, p.ID); err != nil {
			return nil, err
		}
		if !p.Active && p.ID != 0 {
			t := tapper{tx: tx, now: s.Now()}
			if err := t.handsFree(p.ID, ""); err != nil {
				return nil, err
			}
		}
		return &Change{Kind: ChangedShop}, save(tx, "person", &p, p.ID, "Name", "Active")
	})
	return p, err
}
