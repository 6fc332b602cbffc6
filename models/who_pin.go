package models

import (
	"context"
	"crypto/rand"
	"fmt"
	"math/big"
	"strings"
	"time"

	"gorm.io/gorm"
	"gorm.io/gorm/clause"

	"faceside/models/phrase"
)

// PINDigits is how long a PIN is. It opens nothing by itself: it counts on an enrolled
// tablet only.
const PINDigits = 6

// PIN is what a person shows who they are by.
type PIN struct {
	PersonID ID `gorm:"primaryKey;autoIncrement:false"`
	Hash     string
	Given    bool // drawn by the program; the person sets one of their own
	SetAt    time.Time
}

// GivePIN draws a PIN for a person, which is told this once. The one before it is over,
// and so are the person's sessions and lock.
func (s *Store) GivePIN(ctx context.Context, person ID) (pin string, err error) {
	if pin, err = drawPIN(); err != nil {
		return "", failed("give a PIN", err)
	}
	return pin, s.storePIN(ctx, phrase.Key("give a PIN"), PIN{PersonID: person, Given: true}, pin, 0)
}

// SetPIN gives the person of a session a PIN of their own choice. Their other sessions end.
func (s *Store) SetPIN(ctx context.Context, in Admission, now, next string) error {
	if in.Person == nil || in.Session == nil {
		return &Error{Code: Barred, Sentence: phrase.Of("Sign in with your PIN first: then you can change it.")}
	}
	if err := checkPIN(next); err != nil {
		return err
	}
	if now == next {
		return invalid("next", "", "That is the PIN so far. Choose another one.")
	}
	if err := s.tryPIN(ctx, in.Key, *in.Person, now); err != nil {
		return err
	}
	return s.storePIN(ctx, phrase.Key("change the PIN"), PIN{PersonID: *in.Person}, next, in.Session.ID)
}

// storePIN hashes a PIN and keeps it. All sessions of the person end but one.
func (s *Store) storePIN(ctx context.Context, doing phrase.Key, p PIN, pin string, but ID) error {
	var err error
	if p.Hash, err = s.hashing.hash(ctx, pin); err != nil {
		return failed(doing, err)
	}
	return s.write(ctx, doing, func(tx *gorm.DB) (*Change, error) {
		if _, err := get[Person](tx, "person", p.PersonID); err != nil {
			return nil, err
		}
		p.SetAt = s.Now()
		if err := tx.Clauses(clause.OnConflict{UpdateAll: true}).Create(&p).Error; err != nil {
			return nil, fmt.Errorf("keep the PIN of person %d: %w", p.PersonID, err)
		}
		if _, err := forgive(tx, p.PersonID); err != nil {
			return nil, err
		}
		if err := s.endSessions(tx.Where("person_id = ? AND role = ? AND id <> ?", p.PersonID, Bench, but), EndStopped); err != nil {
			return nil, err
		}
		kind := EventPINChanged
		if p.Given {
			kind = EventPINGiven
		}
		return nil, s.noteEvent(tx, SignInEvent{Kind: kind, PersonID: &p.PersonID})
	})
}

// tryPIN refuses a PIN that is not the person's. Nothing tells one who has none, or does
// not work here, from one whose PIN is another.
func (s *Store) tryPIN(ctx context.Context, key *AccessKey, person ID, pin string) error {
	wrong, right, err := s.try(ctx, pin, func(tx *gorm.DB) (string, int, error) {
		known, err := one[Person](tx.Where("id = ?", person))
		if err != nil || known == nil {
			return "", 1, err // as a first wrong try of somebody; no row for everything that is made up
		}
		wrong, err := s.countTry(tx, person, anybody)
		if err != nil || !known.Active {
			return "", wrong, err
		}
		row, err := one[PIN](tx.Where("person_id = ?", person))
		if err != nil || row == nil {
			return "", wrong, err
		}
		return row.Hash, wrong, nil
	})
	if err != nil || right {
		return err
	}
	return s.wrongPIN(ctx, SignInEvent{PersonID: &person, KeyID: key.id()}, wrong)
}

// wrongPIN notes a wrong PIN and says how many tries are left.
func (s *Store) wrongPIN(ctx context.Context, event SignInEvent, wrong int) error {
	event.Kind = EventWrongPIN
	if wrong >= PINTries {
		event.Kind = EventLocked
	}
	err := s.write(ctx, "sign in", func(tx *gorm.DB) (*Change, error) {
		if err := knownOnly(tx, &event); err != nil {
			return nil, err
		}
		return nil, s.noteEvent(tx, event)
	})
	if err != nil {
		return err
	}
	left := PINTries - wrong
	switch {
	case left <= 0:
		return &Error{Code: Barred, Field: "pin", Sentence: phrase.Of("That was wrong, and the last of %d tries. The planner frees it, on the Shop screen under People and tablets.", PINTries)}
	case left == 1:
		return invalid("pin", "", "That was wrong. One try is left before it is locked.")
	}
	return invalid("pin", "", "That was wrong. %d tries are left before it is locked.", left)
}

// drawPIN draws a PIN that is not among the easy ones.
func drawPIN() (string, error) {
	most := new(big.Int).Exp(big.NewInt(10), big.NewInt(PINDigits), nil)
	for {
		n, err := rand.Int(rand.Reader, most)
		if err != nil {
			return "", fmt.Errorf("draw a PIN: %w", err)
		}
		if pin := fmt.Sprintf("%0*d", PINDigits, n); checkPIN(pin) == nil {
			return pin, nil
		}
	}
}

// checkPIN refuses what is no PIN, and the ones that are tried first: a digit again and
// again, a few in turn, and runs. That these are the common ones is known of leaked
// PINs; the list here is our own.
func checkPIN(pin string) error {
	if len(pin) != PINDigits || strings.Trim(pin, "0123456789") != "" {
		return invalid("next", "", "A PIN has %d digits and nothing else.", PINDigits)
	}
	for part := 1; part <= PINDigits/2; part++ {
		if PINDigits%part == 0 && strings.Repeat(pin[:part], PINDigits/part) == pin {
			return invalid("next", "", "That PIN repeats itself, and would be tried first. Choose another one.")
		}
	}
	up, down := true, true
	for i := 1; i < len(pin); i++ {
		up = up && (pin[i]-'0') == (pin[i-1]-'0'+1)%10
		down = down && (pin[i-1]-'0') == (pin[i]-'0'+1)%10
	}
	if up || down {
		return invalid("next", "", "That PIN counts up or down, and would be tried first. Choose another one.")
	}
	return nil
}
