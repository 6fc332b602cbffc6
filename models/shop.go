package models

import (
	"context"
	"fmt"
	"sort"
	"sync"
	"time"
	_ "time/tzdata" // the shop's time zone must be known on any machine

	"gorm.io/gorm"

	"faceside/models/phrase"
)

// TableName: there is one shop.
func (Shop) TableName() string { return "shop" }

// TableName keeps the plural of a day off.
func (DayOff) TableName() string { return "days_off" }

// Location returns the shop's time zone; an Invalid error if there is no such zone.
func (s *Shop) Location() (*time.Location, error) {
	if known, ok := zones.Load(s.TimeZone); ok {
		return known.(*time.Location), nil
	}
	loc, err := time.LoadLocation(s.TimeZone)
	if err != nil || s.TimeZone == "" || s.TimeZone == "Local" {
		return nil, invalid("time zone", s.TimeZone, "There is no time zone %q; write one such as Europe/Zurich or UTC.", s.TimeZone)
	}
	zones.Store(s.TimeZone, loc)
	return loc, nil
}

// zones are those that were asked for, by name: each tap asks, and the system keeps
// them in files.
var zones sync.Map

// Today returns the date in the shop's time zone, YYYY-MM-DD.
func (s *Shop) Today(now time.Time) (string, error) {
	loc, err := s.Location()
	if err != nil {
		return "", err
	}
	return now.In(loc).Format(time.DateOnly), nil
}

// The least and greatest temperature that a shop, a glue or a finish may be given.
const LeastCelsius, GreatestCelsius = -30.0, 60.0

// SaveShop writes the shop's own fields. ID and Revision are the store's.
func (s *Store) SaveShop(ctx context.Context, shop Shop) error {
	_, zone := shop.Location()
	err := first(
		nameGiven("name", shop.Name), zone,
		oneOf("units", shop.Units, "inch", "mm"),
		oneOf("fraction", fmt.Sprint(shop.Fraction), "8", "16", "32", "64"),
		oneOf("language", shop.Language, "en", "de"),
		between("temperature", shop.TemperatureC, LeastCelsius, GreatestCelsius, "°C"),
		between("humidity", shop.HumidityPct, 0, 100, "%"),
	)
	if err != nil {
		return err
	}
	return s.write(ctx, "save the shop", func(tx *gorm.DB) (*Change, error) {
		shop.ID = 1
		return &Change{Kind: ChangedShop}, tx.Model(&shop).
			Select("Name", "TimeZone", "Units", "Fraction", "TemperatureC", "HumidityPct", "Language").Updates(&shop).Error
	})
}

// SaveHours replaces the hours of the whole week. Openings of one weekday may
// touch but not overlap; the whole week is refused or saved together.
func (s *Store) SaveHours(ctx context.Context, week []Hours) error {
	hours, err := inOrder(week)
	if err != nil {
		return err
	}
	return s.write(ctx, "save the hours", func(tx *gorm.DB) (*Change, error) {
		return &Change{Kind: ChangedShop}, saveWeek(tx, hours)
	})
}

// inOrder are the openings of a week in order; it refuses such as overlap.
func inOrder(week []Hours) ([]Hours, error) {
	hours := append([]Hours(nil), week...)
	sort.Slice(hours, func(i, j int) bool {
		a, b := hours[i], hours[j]
		return a.Weekday < b.Weekday || a.Weekday == b.Weekday && a.Opens < b.Opens
	})
	for i := range hours {
		hours[i].ID = 0
		if err := hours[i].check(); err != nil {
			return nil, err
		}
		if i > 0 && hours[i].Weekday == hours[i-1].Weekday && hours[i].Opens < hours[i-1].Closes {
			return nil, invalid("hours", hours[i], "The hours of %s overlap: %s and %s.", phrase.Weekday(hours[i].Weekday), hours[i-1], hours[i])
		}
	}
	return hours, nil
}

// saveWeek has the openings of the week be these.
func saveWeek(tx *gorm.DB, hours []Hours) error {
	if err := tx.Where("1 = 1").Delete(&Hours{}).Error; err != nil {
		return fmt.Errorf("clear the week: %w", err)
	}
	if len(hours) == 0 {
		return nil
	}
	if err := tx.Create(&hours).Error; err != nil {
		return fmt.Errorf("store the week: %w", err)
	}
	return nil
}

func (h Hours) check() error {
	if h.Weekday < time.Sunday || h.Weekday > time.Saturday {
		return invalid("weekday", int(h.Weekday), "The weekday %d is not between 0 (Sunday) and 6.", int(h.Weekday))
	}
	if h.Opens < 0 || h.Closes > 24*60 || h.Opens >= h.Closes {
		return invalid("hours", h, "The hours of %s, %s, do not open before they close within one day.", phrase.Weekday(h.Weekday), h)
	}
	return nil
}

// String writes the opening as 8:00–12:30.
func (h Hours) String() string {
	return fmt.Sprintf("%d:%02d–%d:%02d", h.Opens/60, h.Opens%60, h.Closes/60, h.Closes%60)
}

// SaveDayOff adds a day off (ID 0) or changes one, and returns it with its ID.
func (s *Store) SaveDayOff(ctx context.Context, d DayOff) (DayOff, error) {
	err := first(dateGiven("date", d.Date), textAtMost("reason", d.Reason, noteLimit))
	if err != nil {
		return d, err
	}
	err = s.write(ctx, "save the day off", func(tx *gorm.DB) (*Change, error) {
		by, err := s.steerer(tx)
		if err != nil {
			return nil, err
		}
		return &Change{Kind: ChangedShop}, by.saveDayOff(&d)
	})
	return d, err
}

// saveDayOff writes a day off that is none yet.
func (s *steerer) saveDayOff(d *DayOff) error {
	if d.PersonID != nil {
		if _, err := get[Person](s.tx, "person", *d.PersonID); err != nil {
			return err
		}
	}
	same, err := s.sameDayOff(d)
	if err != nil {
		return err
	}
	if same > 0 {
		return invalid("date", d.Date, "%s is a day off already.", d.Date)
	}
	if d.ID == 0 {
		d.NotedOn = s.today
	}
	return save(s.tx, "day off", d, d.ID, "Date", "PersonID", "Reason")
}

// sameDayOff counts the other days off on the same day, of the same person or the shop.
func (s *steerer) sameDayOff(d *DayOff) (same int64, err error) {
	err = s.tx.Model(&DayOff{}).Where("date = ? AND coalesce(person_id, 0) = ? AND id <> ?", d.Date, idOf(d.PersonID), d.ID).Count(&same).Error
	if err != nil {
		return 0, fmt.Errorf("look for the same day: %w", err)
	}
	return same, nil
}

// RemoveDayOff takes a day off out of the calendar.
func (s *Store) RemoveDayOff(ctx context.Context, id ID) error {
	return s.write(ctx, "remove the day off", func(tx *gorm.DB) (*Change, error) {
		if _, err := get[DayOff](tx, "day off", id); err != nil {
			return nil, err
		}
		return &Change{Kind: ChangedShop}, tx.Delete(&DayOff{}, id).Error
	})
}

// save creates a record where id is 0, else writes the named columns, zero
// values too, of the record with that number.
func save[T any](tx *gorm.DB, what string, record *T, id ID, columns ...string) error {
	if id == 0 {
		return tx.Create(record).Error
	}
	done := tx.Model(record).Select(columns).Updates(record)
	if done.Error != nil {
		return done.Error
	}
	if done.RowsAffected == 0 {
		return notFound(what, id)
	}
	return nil
}

// unused refuses a value that another record of the same kind has.
func unused[T any](tx *gorm.DB, field, column, value string, id ID) error {
	var record T
	var same int64
	if err := tx.Model(&record).Where(column+" = ? AND id <> ?", value, id).Count(&same).Error; err != nil {
		return fmt.Errorf("look for the same %s: %w", field, err)
	}
	if same > 0 {
		return invalid(field, value, "The %s %q is taken already.", Named(field), value)
	}
	return nil
}
