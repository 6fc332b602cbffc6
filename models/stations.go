package models

import (
	"context"
	"fmt"

	"gorm.io/gorm"
)

// SaveStation adds a station (ID 0) or changes one, and returns it with its ID.
// What the station is set to (SetupID), and whether it is out of order (Down),
// is the journal's: it is left as it is, and a new station is in order.
func (s *Store) SaveStation(ctx context.Context, st Station) (Station, error) {
	if err := st.check(); err != nil {
		return st, err
	}
	err := s.write(ctx, "save the station", func(tx *gorm.DB) (*Change, error) {
		return &Change{Kind: ChangedShop}, st.save(tx)
	})
	return st, err
}

// SaveStationTapped saves a station as SaveStation does, and records a tap that puts
// it out of order, or in order: both or neither.
func (s *Store) SaveStationTapped(ctx context.Context, st Station, tap TapRequest) (Station, error) {
	if err := st.check(); err != nil {
		return st, err
	}
	err := s.write(ctx, "save the station", func(tx *gorm.DB) (*Change, error) {
		if err := st.save(tx); err != nil {
			return nil, err
		}
		tap.StationID = st.ID
		t := tapper{store: s, tx: tx, now: s.Now(), request: tap}
		var result TapResult
		if _, err := t.record(&result); err != nil {
			return nil, err
		}
		st.Down = tap.Kind == TapDown
		return &Change{Kind: ChangedShop, Tap: &result.Tap}, nil
	})
	return st, err
}

// save writes a station but for what is the journal's.
func (st *Station) save(tx *gorm.DB) error {
	st.SetupID, st.Down = nil, false
	if st.ID != 0 {
		was, err := get[Station](tx, "station", st.ID)
		if err != nil {
			return err
		}
		st.SetupID, st.Down = was.SetupID, was.Down
	}
	if err := st.fits(tx); err != nil {
		return err
	}
	return save(tx, "station", st, st.ID, "Key", "Name", "Kind", "Places", "MaxWidth", "MaxThickness",
		"MinLength", "OpenEnded", "SetupMinutes", "ResetMinutes", "ZoneID", "Down", "Caution")
}

// SettingMinutes is what it takes to set the station from one setup to another; nil is
// one that nobody knows.
func (st *Station) SettingMinutes(from, to *Setup) int {
	if from != nil && to != nil && from.Family == to.Family {
		return st.ResetMinutes
	}
	return st.SetupMinutes
}

// check refuses fields that cannot be.
func (st *Station) check() error {
	return first(
		keyGiven("key", st.Key), nameGiven("name", st.Name), keyGiven("kind", st.Kind),
		between("places", st.Places, 1, 100, ""),
		lengthBetween("greatest width", st.MaxWidth, 0),
		lengthBetween("greatest thickness", st.MaxThickness, 0),
		lengthBetween("least length", st.MinLength, 0),
		between("setup time", st.SetupMinutes, 0, 1440, "minutes"),
		between("reset time", st.ResetMinutes, 0, 1440, "minutes"),
		textAtMost("caution", st.Caution, noteLimit),
	)
}

// fits refuses what does not go with the other records.
func (st *Station) fits(tx *gorm.DB) error {
	if err := unused[Station](tx, "key", "key", st.Key, st.ID); err != nil {
		return err
	}
	if st.ZoneID != nil {
		if _, err := get[Zone](tx, "zone", *st.ZoneID); err != nil {
			return err
		}
	}
	if st.Places == 1 || st.ID == 0 {
		return nil
	}
	var setups int64
	if err := tx.Model(&Setup{}).Where("station_id = ?", st.ID).Count(&setups).Error; err != nil {
		return fmt.Errorf("count the setups of station %d: %w", st.ID, err)
	}
	if setups > 0 {
		return invalid("places", st.Places, "%s is set up for its steps, so it has one place, not %d.", st.Name, st.Places)
	}
	return nil
}

// SaveZone adds a zone (ID 0) or changes one, and returns it with its ID.
func (s *Store) SaveZone(ctx context.Context, z Zone) (Zone, error) {
	if err := first(keyGiven("key", z.Key), nameGiven("name", z.Name)); err != nil {
		return z, err
	}
	err := s.write(ctx, "save the zone", func(tx *gorm.DB) (*Change, error) {
		if err := unused[Zone](tx, "key", "key", z.Key, z.ID); err != nil {
			return nil, err
		}
		return &Change{Kind: ChangedShop}, save(tx, "zone", &z, z.ID, "Key", "Name")
	})
	return z, err
}
