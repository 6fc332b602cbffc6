package models

import (
	"context"
	"fmt"
	"time"

	"gorm.io/gorm"
)

// SignInEvent is one line of the journal of who came in, and who did not. It never
// holds a secret.
type SignInEvent struct {
	Seq      int64 `gorm:"primaryKey"`
	At       time.Time
	Kind     SignInEventKind
	PersonID *ID // nil: the planner, or nobody that is known
	KeyID    *ID // the tablet or program, nil for none
}

// SignInEventKind says what happened.
type SignInEventKind string

// The kinds of event.
const (
	EventSignedIn        SignInEventKind = "signed in"
	EventWrongPIN        SignInEventKind = "wrong pin"
	EventWrongPassphrase SignInEventKind = "wrong passphrase"
	EventLocked          SignInEventKind = "locked"
	EventFreed           SignInEventKind = "freed"
	EventSignedOff       SignInEventKind = "signed off"
	EventIdle            SignInEventKind = "idle"
	EventStopped         SignInEventKind = "stopped"
	EventPINGiven        SignInEventKind = "pin given"
	EventPINChanged      SignInEventKind = "pin changed"
	EventPassphrase      SignInEventKind = "passphrase"
	EventNoSignIn        SignInEventKind = "no sign-in"
	EventCode            SignInEventKind = "code"
	EventEnrolled        SignInEventKind = "enrolled"
	EventProgram         SignInEventKind = "program"
	EventRevoked         SignInEventKind = "revoked"
)

// eventsKept is how many events are kept; older ones go as new ones come.
const eventsKept = 5000

// noteEvent adds an event to the journal.
func (s *Store) noteEvent(tx *gorm.DB, e SignInEvent) error {
	e.At = s.Now()
	if err := tx.Create(&e).Error; err != nil {
		return fmt.Errorf("note that somebody %s: %w", e.Kind, err)
	}
	if err := tx.Where("seq <= ?", e.Seq-eventsKept).Delete(&SignInEvent{}).Error; err != nil {
		return fmt.Errorf("let old events go: %w", err)
	}
	return nil
}

// knownOnly leaves out of an event a person there is none of.
func knownOnly(tx *gorm.DB, e *SignInEvent) error {
	if e.PersonID == nil {
		return nil
	}
	there, err := one[Person](tx.Where("id = ?", *e.PersonID))
	if err == nil && there == nil {
		e.PersonID = nil
	}
	return err
}

// SignInEvents are the newest of the journal, the newest first.
func (s *Store) SignInEvents(ctx context.Context, most int) ([]SignInEvent, error) {
	var all []SignInEvent
	err := s.read(ctx, "read who signed in", func(tx *gorm.DB) error {
		return tx.Order("seq DESC").Limit(most).Find(&all).Error
	})
	return all, err
}

// PersonAccess is how somebody may sign in.
type PersonAccess struct {
	HasPIN   bool
	Given    bool // the PIN is the one that was drawn
	Failed   int
	LockedAt *time.Time
	Waits    *time.Time
}

// PeopleAccess tells of everybody who has a PIN or has failed, by their number, of the
// planner's passphrase under 0.
func (s *Store) PeopleAccess(ctx context.Context) (map[ID]PersonAccess, error) {
	all := map[ID]PersonAccess{}
	var pins []PIN
	var tries []Tries
	err := s.read(ctx, "read who may sign in", func(tx *gorm.DB) error {
		if err := tx.Find(&pins).Error; err != nil {
			return err
		}
		return tx.Find(&tries).Error
	})
	for _, p := range pins {
		all[p.PersonID] = PersonAccess{HasPIN: true, Given: p.Given}
	}
	for _, t := range tries { // of the passphrase those of who tried most
		of := all[t.Whose]
		if t.Failed > of.Failed {
			of.Failed, of.LockedAt, of.Waits = t.Failed, t.LockedAt, t.WaitUntil
			all[t.Whose] = of
		}
	}
	return all, err
}
