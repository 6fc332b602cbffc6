package models

import (
	"context"
	"fmt"

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
			t := tapper{store: s, tx: tx, now: s.Now()}
			if err := t.handsFree(p.ID, ""); err != nil {
				return nil, err
			}
		}
		if err := p.settles(tx); err != nil {
			return nil, err
		}
		return &Change{Kind: ChangedShop}, save(tx, "person", &p, p.ID, "Name", "Active")
	})
	return p, err
}

// settles lets somebody who was there on some days only, and had gone, work here for
// good.
func (p *Person) settles(tx *gorm.DB) error {
	if p.ID == 0 || !p.Active {
		return nil
	}
	gone := tx.Model(&Person{}).Select("id").Where("id = ? AND NOT active", p.ID)
	if err := tx.Where("person_id IN (?)", gone).Delete(&Stay{}).Error; err != nil {
		return fmt.Errorf("forget the stays of person %d: %w", p.ID, err)
	}
	return nil
}
