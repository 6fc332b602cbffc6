package models

import (
	"fmt"
	"time"

	"gorm.io/gorm"

	"faceside/models/phrase"
)

// ExtraHours is one opening of the shop on one day, beside those of the week, or hours
// of one person beside those of the shop. Minutes from midnight.
type ExtraHours struct {
	ID       ID
	Date     string // YYYY-MM-DD
	Opens    int
	Closes   int
	PersonID *ID // nil: the whole shop
}

// TableName: hours have no singular.
func (ExtraHours) TableName() string { return "extra_hours" }

// Stay is some days on which a person is there who otherwise is not: a borrowed
// pair of hands. Both days are among them.
type Stay struct {
	ID        ID
	PersonID  ID
	FromDate  string
	UntilDate string
}

// Closure is some days on which nothing is done at a station.
type Closure struct {
	ID        ID
	StationID ID
	FromDate  string
	UntilDate string
}

// Loan is clamps that are lent to somebody for some days or, where Count is below
// 0, borrowed.
type Loan struct {
	ID           ID
	ClampClassID ID
	Count        int
	FromDate     string
	UntilDate    string
}

// Wanted says on what day, or by whom, a step is to be done. It counts only while
// nothing of the step was begun.
type Wanted struct {
	StepID   ID `gorm:"primaryKey"`
	Day      string
	PersonID *ID
}

// TableName: it is no noun.
func (Wanted) TableName() string { return "wanted" }

// Steered is a change of what the plan reckons with that was kept, and whether it
// was let go again.
type Steered struct {
	ID      ID
	Act     string // the same for what was kept together
	KeptAt  time.Time
	KeptBy  *ID           // nil where nobody had said who is at the tablet
	Change  Steer         `gorm:"serializer:json"`
	Says    phrase.Phrase `gorm:"serializer:json"`
	Was     SteerWas      `gorm:"serializer:json"`
	LetGoAt *time.Time
	LetGoBy *ID
}

// TableName: it is no noun.
func (Steered) TableName() string { return "steered" }

// readSteering reads what the plan is steered by.
func (s *Snapshot) readSteering(tx *gorm.DB) error {
	for _, t := range []table{
		{&s.ExtraHours, "date, opens"}, {&s.Stays, "from_date, id"}, {&s.Closures, "from_date, id"}, {&s.Loans, "from_date, id"}, {&s.Wanted, "step_id"},
	} {
		if err := tx.Order(t.order).Find(t.rows).Error; err != nil {
			return fmt.Errorf("read %T: %w", t.rows, err)
		}
	}
	return nil
}

// Wants returns what a maker wants of a step that is not begun, nil for nothing.
func (s *Snapshot) Wants(step ID) *Wanted {
	st := s.Step(step)
	if st == nil || st.State != Todo {
		return nil
	}
	return find(s.Wanted, s.indexed().wanted, step)
}

// onDays tells whether a day is one of two or between them.
func onDays(day, from, until string) bool { return from <= day && day <= until }

// Of tells whether the loan runs on a day.
func (l *Loan) Of(day string) bool { return onDays(day, l.FromDate, l.UntilDate) }

// Of tells whether the station is closed on a day.
func (c *Closure) Of(day string) bool { return onDays(day, c.FromDate, c.UntilDate) }

// ClosedOn tells whether nothing is done at a station on a day.
func (s *Snapshot) ClosedOn(station ID, day string) bool {
	for i := range s.Closures {
		if c := &s.Closures[i]; c.StationID == station && c.Of(day) {
			return true
		}
	}
	return false
}
