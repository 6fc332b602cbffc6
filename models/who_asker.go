package models

import (
	"context"
	"fmt"
	"time"

	"gorm.io/gorm"
)

// Whoever reaches the server may try the planner's passphrase, and so could keep the
// planner waiting by trying wrongly on purpose, again and again. Therefore wrong tries
// are counted by who asks: all strangers together, however many machines and addresses
// they have, and apart from them each tablet that is enrolled and each browser on which
// the planner signed in before. Such a browser shows a secret of 130 random bits of its
// own, which lets nobody in: it only says whose tries its tries are counted with, and
// keeps no planner waiting for what others did (OWASP's page “Slow Down Online Guessing
// Attacks with Device Cookies” describes the way).
//
// An address would not do: behind a proxy, or a router, all have one. What it costs:
// whoever has a known browser, or an enrolled tablet, in their hands has tries of their
// own, which wait like those of strangers; of a secret of 15 characters and more some
// hundred a day for each of them find nothing. A planner who signs in for the first time
// on a browser still waits for strangers; the Shop screen on a known one ends that, and
// so does “faceside unlock”.
//
// A person's PIN is tried on enrolled tablets alone, and ten wrong ones in a row lock it
// wherever they were typed: those are counted together.
type asker string

const anybody asker = ""

// KnownBrowser is a browser on which the planner signed in.
type KnownBrowser struct {
	ID     ID
	Secret string // hash of what it shows
	SeenAt time.Time
}

// browsersKept is how many browsers are known; the one that was not used for longest
// goes for a new one.
const browsersKept = 50

// knownBrowser finds a browser by what it shows; nil for none.
func knownBrowser(tx *gorm.DB, shown string) (*KnownBrowser, error) {
	if shown == "" {
		return nil, nil
	}
	return one[KnownBrowser](tx.Where("secret = ?", tokenHash(shown)))
}

// askerOf says with whose tries those of a request are counted.
func askerOf(tx *gorm.DB, in Admission) (asker, error) {
	if in.Key != nil && in.Key.Kind == TabletKey {
		return asker(fmt.Sprintf("tablet %d", in.Key.ID)), nil
	}
	known, err := knownBrowser(tx, in.Browser)
	if err != nil || known == nil {
		return anybody, err
	}
	return asker(fmt.Sprintf("browser %d", known.ID)), nil
}

// KnowBrowser knows a browser from now on, on which the planner has just signed in, and
// returns what it shows: what it has shown already, or something new.
func (s *Store) KnowBrowser(ctx context.Context, in Admission) (shown string, err error) {
	shown = in.Browser
	err = s.write(ctx, "sign in", func(tx *gorm.DB) (*Change, error) {
		known, err := knownBrowser(tx, in.Browser)
		if err != nil {
			return nil, err
		}
		if known != nil {
			return nil, tx.Model(known).UpdateColumn("seen_at", s.Now()).Error
		}
		var kept string
		shown, kept = newToken()
		if err := tx.Create(&KnownBrowser{Secret: kept, SeenAt: s.Now()}).Error; err != nil {
			return nil, fmt.Errorf("know the browser: %w", err)
		}
		old := tx.Model(&KnownBrowser{}).Select("id").Order("seen_at DESC, id DESC").Offset(browsersKept).Limit(-1)
		if err := tx.Where("id IN (?)", old).Delete(&KnownBrowser{}).Error; err != nil {
			return nil, fmt.Errorf("forget the oldest browsers: %w", err)
		}
		return nil, nil
	})
	return shown, err
}
