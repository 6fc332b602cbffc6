package models

import (
	"context"
	"crypto/rand"
	"fmt"
	"strings"
	"time"

	"gorm.io/gorm"

	"faceside/models/phrase"
)

// KeyKind is who shows a key.
type KeyKind string

// The kinds of key.
const (
	TabletKey  KeyKind = "tablet"  // on which people sign in
	ProgramKey KeyKind = "program" // that reads the records
)

// AccessKey is what a tablet that is enrolled, or a program, shows to be let in.
type AccessKey struct {
	ID        ID
	Kind      KeyKind
	Name      string
	Code      *string    // hash of the code that enrols a tablet; nil: it was used
	CodeUntil *time.Time // until when that counts
	Secret    *string    // hash of what it shows; nil: the code was not used yet
	Tablet    *string    // the tablet's own id
	MadeAt    time.Time
	SeenAt    *time.Time
	EndedAt   *time.Time
}

// A code that enrols a tablet is used once, soon. It has 120 random bits: so many need
// no slow hash (ASVS 5.0, 6.5.2). Ten minutes are what 6.5.5 allows.
const (
	codeLetters = 24
	codeLife    = 10 * time.Minute
)

// id is the key's number, nil for no key.
func (k *AccessKey) id() *ID {
	if k == nil {
		return nil
	}
	return &k.ID
}

func notEnrolled() *Error {
	return &Error{Code: Barred, Field: "tablet", Sentence: phrase.Of("This tablet is not enrolled: the planner makes a code for it, on the Shop screen under People and tablets.")}
}

// keyOf finds the key with a secret; nil for none. It is found by its hash: how long
// that takes tells nothing of the secret.
func keyOf(tx *gorm.DB, secret string, kinds ...KeyKind) (*AccessKey, error) {
	if secret == "" {
		return nil, nil
	}
	return one[AccessKey](tx.Where("secret = ? AND kind IN ? AND ended_at IS NULL", tokenHash(secret), kinds))
}

// Keys lists the tablets that are enrolled, or may be still, and the programs.
func (s *Store) Keys(ctx context.Context) ([]AccessKey, error) {
	var all []AccessKey
	err := s.read(ctx, "read the tablets that are enrolled", func(tx *gorm.DB) error {
		return tx.Where("ended_at IS NULL AND (secret IS NOT NULL OR code_until > ?)", s.Now()).Order("kind DESC, name").Find(&all).Error
	})
	return all, err
}

// KeyNames are the names of all keys there ever were.
func (s *Store) KeyNames(ctx context.Context) (map[ID]string, error) {
	var all []AccessKey
	names := map[ID]string{}
	err := s.read(ctx, "read the tablets that are enrolled", func(tx *gorm.DB) error { return tx.Select("id", "name").Find(&all).Error })
	for _, key := range all {
		names[key.ID] = key.Name
	}
	return names, err
}

// MakeCode makes the code that enrols a tablet, once, within the next minutes.
func (s *Store) MakeCode(ctx context.Context, name string) (key AccessKey, code string, err error) {
	code = rand.Text()[:codeLetters]
	hash, until := tokenHash(code), s.Now().Add(codeLife)
	key = AccessKey{Kind: TabletKey, Name: strings.TrimSpace(name), Code: &hash, CodeUntil: &until}
	return key, code, s.makeKey(ctx, &key)
}

// MakeProgramKey makes the key of a program, which is told this once.
func (s *Store) MakeProgramKey(ctx context.Context, name string) (key AccessKey, token string, err error) {
	token, hash := newToken()
	key = AccessKey{Kind: ProgramKey, Name: strings.TrimSpace(name), Secret: &hash}
	return key, token, s.makeKey(ctx, &key)
}

func (s *Store) makeKey(ctx context.Context, key *AccessKey) error {
	if err := nameGiven("name", key.Name); err != nil {
		return err
	}
	return s.write(ctx, "let a tablet in", func(tx *gorm.DB) (*Change, error) {
		key.MadeAt = s.Now()
		// A code that nobody used gives its name back.
		stale := tx.Model(&AccessKey{}).Where("secret IS NULL AND ended_at IS NULL AND (code_until <= ? OR name = ?)", key.MadeAt, key.Name)
		if err := stale.Updates(map[string]any{"code": nil, "code_until": nil, "ended_at": key.MadeAt}).Error; err != nil {
			return nil, fmt.Errorf("put unused codes away: %w", err)
		}
		same, err := one[AccessKey](tx.Where("kind = ? AND name = ? AND ended_at IS NULL", key.Kind, key.Name))
		if err != nil {
			return nil, err
		}
		if same != nil {
			return nil, invalid("name", key.Name, "“%s” is let in already: choose another name, or take that one's key back first.", same.Name)
		}
		if err := tx.Create(key).Error; err != nil {
			return nil, fmt.Errorf("keep the key: %w", err)
		}
		kind := EventCode
		if key.Kind == ProgramKey {
			kind = EventProgram
		}
		return nil, s.noteEvent(tx, SignInEvent{Kind: kind, KeyID: &key.ID})
	})
}

// Code finds the tablet that a code enrols.
func (s *Store) Code(ctx context.Context, code string) (AccessKey, error) {
	var key *AccessKey
	err := s.read(ctx, "read the code", func(tx *gorm.DB) (err error) {
		key, err = s.codeOf(tx, code)
		return err
	})
	if err != nil {
		return AccessKey{}, err
	}
	return *key, nil
}

func (s *Store) codeOf(tx *gorm.DB, code string) (*AccessKey, error) {
	key, err := one[AccessKey](tx.Where("code = ? AND ended_at IS NULL AND code_until > ?", tokenHash(cleanCode(code)), s.Now()))
	if err == nil && key == nil {
		err = invalid("code", "", "That code enrols no tablet: each counts once, for %d minutes. The planner makes another, on the Shop screen under People and tablets.", int(codeLife/time.Minute))
	}
	return key, err
}

// cleanCode takes out what people put between the letters they type.
func cleanCode(code string) string {
	return strings.ToUpper(strings.NewReplacer("-", "", " ", "", "\t", "").Replace(code))
}

// Enrol uses a code up for the tablet with that id, and returns what it shows from then
// on. A tablet that was enrolled before has the new key alone.
func (s *Store) Enrol(ctx context.Context, code, tablet string) (secret string, err error) {
	if err := textAtMost("tablet", tablet, tabletLimit); err != nil {
		return "", err
	}
	secret, kept := newToken()
	err = s.write(ctx, "enrol the tablet", func(tx *gorm.DB) (*Change, error) {
		key, err := s.codeOf(tx, code)
		if err != nil {
			return nil, err
		}
		before, err := one[AccessKey](tx.Where("tablet = ? AND ended_at IS NULL", tablet))
		if err != nil {
			return nil, err
		}
		if before != nil {
			if err := s.endKey(tx, before); err != nil {
				return nil, err
			}
		}
		if err := tx.Model(key).Updates(map[string]any{"code": nil, "code_until": nil, "secret": kept, "tablet": tablet, "seen_at": s.Now()}).Error; err != nil {
			return nil, fmt.Errorf("enrol the tablet: %w", err)
		}
		if err := nameTablet(tx, tablet, key.Name); err != nil {
			return nil, err
		}
		return &Change{Kind: ChangedTablet}, s.noteEvent(tx, SignInEvent{Kind: EventEnrolled, KeyID: &key.ID})
	})
	return secret, err
}

// nameTablet gives a tablet that has no name the one it is enrolled by, unless another
// has that.
func nameTablet(tx *gorm.DB, id, name string) error {
	taken, err := one[Tablet](tx.Where("name = ? OR (id = ? AND name <> '')", name, id))
	if err != nil || taken != nil {
		return err
	}
	return saveTablet(tx, Tablet{ID: id, Name: name}, "name")
}

// EndKey takes a key back. Who was signed in on the tablet is so no more; what they
// tapped and could not send is kept, and asked about.
func (s *Store) EndKey(ctx context.Context, id ID) error {
	return s.write(ctx, "take the key back", func(tx *gorm.DB) (*Change, error) {
		key, err := one[AccessKey](tx.Where("id = ?", id))
		if err != nil {
			return nil, err
		}
		if key == nil {
			return nil, &Error{Code: NotFound, Field: "key", Value: fmt.Sprint(id), Sentence: phrase.Of("There is no such tablet or program.")}
		}
		if key.EndedAt != nil {
			return nil, nil
		}
		return &Change{Kind: ChangedTablet}, s.endKey(tx, key)
	})
}

func (s *Store) endKey(tx *gorm.DB, key *AccessKey) error {
	if err := tx.Model(&AccessKey{}).Where("id = ?", key.ID).Updates(map[string]any{"ended_at": s.Now(), "code": nil, "code_until": nil}).Error; err != nil {
		return fmt.Errorf("end key %d: %w", key.ID, err)
	}
	if err := s.endSessions(tx.Where("key_id = ?", key.ID), EndStopped); err != nil {
		return err
	}
	return s.noteEvent(tx, SignInEvent{Kind: EventRevoked, KeyID: &key.ID})
}
