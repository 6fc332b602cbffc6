package models

import (
	"context"
	"fmt"
	"strings"
	"time"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
	"gorm.io/gorm"

	"faceside/models/phrase"
)

// How long a passphrase is, in characters. NIST SP 800-63B-4 wants at least 15 of one
// that stands alone, no rule on what it is made of and at least 64 taken; OWASP's ASVS
// 5.0 (6.2.1, 6.2.5, 6.2.9) says the same.
const (
	PassphraseLeast = 15
	passphraseMost  = 200
)

// SignIn is what the shop says of signing in.
type SignIn struct {
	ID         ID
	Passphrase string // hash; "": nobody is asked who they are
	SetAt      *time.Time
	Idle       int // minutes after which a person is asked again
}

func (SignIn) TableName() string { return "sign_in" }

// On says whether somebody has to sign in at all.
func (i SignIn) On() bool { return i.Passphrase != "" }

// SignIn returns what the shop says of signing in.
func (s *Store) SignIn(ctx context.Context) (row SignIn, err error) {
	err = s.read(ctx, "read who may sign in", func(tx *gorm.DB) error {
		row, err = signInOf(tx)
		return err
	})
	return row, err
}

func signInOf(tx *gorm.DB) (row SignIn, err error) {
	err = tx.First(&row, 1).Error
	return row, err
}

// SaveIdle says after how many minutes without a touch a person is asked for the PIN again.
func (s *Store) SaveIdle(ctx context.Context, minutes int) error {
	if err := between("idle time", minutes, 1, 480, "min"); err != nil {
		return err
	}
	return s.write(ctx, "save the idle time", func(tx *gorm.DB) (*Change, error) {
		return nil, tx.Model(&SignIn{}).Where("id = 1").Update("idle", minutes).Error
	})
}

// SetPassphrase sets the planner's passphrase: from then on everybody signs in. The
// planner's sessions end but one, as whoever had the old passphrase may have one.
func (s *Store) SetPassphrase(ctx context.Context, passphrase string, but ID) error {
	passphrase = normal(passphrase)
	if err := s.checkPassphrase(ctx, passphrase); err != nil {
		return err
	}
	hash, err := s.hashing.hash(ctx, passphrase)
	if err != nil {
		return failed("set the passphrase", err)
	}
	return s.savePassphrase(ctx, hash, but)
}

// RemovePassphrase has nobody asked who they are any more.
func (s *Store) RemovePassphrase(ctx context.Context) error {
	return s.savePassphrase(ctx, "", 0)
}

func (s *Store) savePassphrase(ctx context.Context, hash string, but ID) error {
	return s.write(ctx, "set the passphrase", func(tx *gorm.DB) (*Change, error) {
		kind, at := EventPassphrase, new(s.Now())
		if hash == "" {
			kind, at = EventNoSignIn, nil
		}
		if err := tx.Model(&SignIn{}).Where("id = 1").Updates(map[string]any{"passphrase": hash, "set_at": at}).Error; err != nil {
			return nil, fmt.Errorf("keep the passphrase: %w", err)
		}
		if _, err := forgive(tx, thePlanner); err != nil {
			return nil, err
		}
		if err := s.endSessions(tx.Where("role = ? AND id <> ?", Planner, but), EndStopped); err != nil {
			return nil, err
		}
		return nil, s.noteEvent(tx, SignInEvent{Kind: kind})
	})
}

// ChangePassphrase sets another passphrase for who knows the present one.
func (s *Store) ChangePassphrase(ctx context.Context, in Admission, now, next string) error {
	if in.Session == nil {
		return &Error{Code: Barred, Sentence: phrase.Of("There is no passphrase to change: on the machine that serves, “faceside passphrase” sets the first one.")}
	}
	if err := s.tryPassphrase(ctx, in, now, "now"); err != nil {
		return err
	}
	return s.SetPassphrase(ctx, next, in.Session.ID)
}

// tryPassphrase refuses a wrong passphrase, which was typed into a field. Who has to wait
// is told so before the room for hashing is taken: strangers who try in spite of that
// must not take it from who is known.
func (s *Store) tryPassphrase(ctx context.Context, in Admission, passphrase, field string) error {
	var by asker
	err := s.read(ctx, "sign in", func(tx *gorm.DB) (err error) {
		if by, err = askerOf(tx, in); err != nil {
			return err
		}
		row, err := triesOf(tx, thePlanner, by)
		if err != nil {
			return err
		}
		return row.mayTry(s.Now())
	})
	if err != nil {
		return err
	}
	_, right, err := s.try(ctx, normal(passphrase), func(tx *gorm.DB) (string, int, error) {
		row, err := signInOf(tx)
		if err != nil {
			return "", 0, err
		}
		wrong, err := s.countTry(tx, thePlanner, by)
		return row.Passphrase, wrong, err
	})
	if err != nil {
		return err
	}
	err = s.write(ctx, "sign in", func(tx *gorm.DB) (*Change, error) {
		if right {
			_, err := forget(tx.Where("whose = ? AND asker = ?", thePlanner, by))
			return nil, err
		}
		return nil, s.noteEvent(tx, SignInEvent{Kind: EventWrongPassphrase, KeyID: in.Key.id()})
	})
	if err == nil && !right {
		err = invalid(field, "", "That is not the planner's passphrase.")
	}
	return err
}

// normal writes a passphrase in one way, however a keyboard composed it (NIST SP
// 800-63B-4 names NFKC or NFKD).
func normal(passphrase string) string { return norm.NFKC.String(passphrase) }

// checkPassphrase refuses one that is too short, or among the first to be tried.
func (s *Store) checkPassphrase(ctx context.Context, passphrase string) error {
	if !utf8.ValidString(passphrase) {
		return invalid("next", "", "The passphrase is not text.")
	}
	switch n := utf8.RuneCountInString(passphrase); {
	case n < PassphraseLeast:
		return invalid("next", "", "The passphrase has %d characters, and %d are the least. A few words that nobody would put together do well.", n, PassphraseLeast)
	case n > passphraseMost:
		return invalid("next", "", "The passphrase has %d characters, and %d are the most.", n, passphraseMost)
	}
	var shop Shop
	if err := s.read(ctx, "read the shop", func(tx *gorm.DB) error { return tx.First(&shop, 1).Error }); err != nil {
		return err
	}
	if easy(passphrase, shop.Name) {
		return invalid("next", "", "That passphrase is among those that are tried first. Choose words that have nothing to do with each other or with the shop.")
	}
	return nil
}

// firstTried are words of which the passphrases are made that are tried first.
var firstTried = []string{
	"faceside", "password", "passphrase", "passwort", "kennwort", "workshop", "werkstatt", "tischlerei", "schreinerei", "furniture",
	"planner", "admin", "letmein", "welcome", "willkommen", "qwertyuiop", "qwertzuiop", "asdfghjkl", "asdfghjklö", "yxcvbnm", "zxcvbnm",
	"correct", "horse", "battery", "staple", "iloveyou", "ichliebedich", "1234567890", "123456789", "abcdefghijklmnopqrstuvwxyz",
}

// easy says whether little is left of a passphrase without the words that are tried
// first, the shop's own name, and what repeats itself.
func easy(passphrase, shop string) bool {
	bare := strings.ToLower(passphrase)
	for _, word := range append(strings.Fields(strings.ToLower(shop)), firstTried...) {
		if utf8.RuneCountInString(word) >= 4 {
			bare = strings.ReplaceAll(bare, word, "")
		}
	}
	seen := map[rune]bool{}
	for _, r := range bare {
		if r != ' ' {
			seen[r] = true
		}
	}
	return len(seen) < 5
}
