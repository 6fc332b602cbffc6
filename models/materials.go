package models

import (
	"context"

	"gorm.io/gorm"
)

// Longest times of a glue or finish, in minutes.
const (
	mostOpen   = 7 * 1440
	mostDrying = 100_000
	mostCuring = 1_000_000
)

// SaveGlue adds a glue (ID 0) or changes one, and returns it with its ID.
func (s *Store) SaveGlue(ctx context.Context, g Glue) (Glue, error) {
	err := first(keyGiven("key", g.Key), nameGiven("name", g.Name),
		between("open time", g.OpenMin, 1, mostOpen, "minutes"),
		between("clamp time", g.ClampMin, 0, mostDrying, "minutes"),
		between("cure time", g.CureMin, 0, mostDrying, "minutes"),
		between("least temperature", g.LeastTempC, LeastCelsius, GreatestCelsius, "°C"),
		textAtMost("caution", g.Caution, noteLimit))
	if err != nil {
		return g, err
	}
	err = s.write(ctx, "save the glue", func(tx *gorm.DB) (*Change, error) {
		if err := unused[Glue](tx, "key", "key", g.Key, g.ID); err != nil {
			return nil, err
		}
		return &Change{Kind: ChangedShop}, save(tx, "glue", &g, g.ID, "Key", "Name", "OpenMin", "ClampMin", "CureMin", "LeastTempC", "Caution")
	})
	return g, err
}

// SaveFinish adds a finish (ID 0) or changes one, and returns it with its ID.
func (s *Store) SaveFinish(ctx context.Context, f Finish) (Finish, error) {
	err := first(keyGiven("key", f.Key), nameGiven("name", f.Name),
		between("drying time", f.DryMin, 0, mostDrying, "minutes"),
		between("least recoat time", f.RecoatLeastMin, 0, mostDrying, "minutes"),
		between("greatest recoat time", f.RecoatGreatestMin, 0, mostCuring, "minutes"),
		between("cure time", f.CureMin, 0, mostCuring, "minutes"),
		between("least temperature", f.LeastTempC, LeastCelsius, GreatestCelsius, "°C"),
		textAtMost("caution", f.Caution, noteLimit))
	if err == nil && f.RecoatGreatestMin != 0 && f.RecoatGreatestMin < f.RecoatLeastMin {
		err = invalid("greatest recoat time", f.RecoatGreatestMin,
			"The greatest recoat time %d minutes is shorter than the least, %d.", f.RecoatGreatestMin, f.RecoatLeastMin)
	}
	if err != nil {
		return f, err
	}
	err = s.write(ctx, "save the finish", func(tx *gorm.DB) (*Change, error) {
		if err := unused[Finish](tx, "key", "key", f.Key, f.ID); err != nil {
			return nil, err
		}
		return &Change{Kind: ChangedShop}, save(tx, "finish", &f, f.ID,
			"Key", "Name", "DryMin", "RecoatLeastMin", "RecoatGreatestMin", "CureMin", "LeastTempC", "Caution")
	})
	return f, err
}
