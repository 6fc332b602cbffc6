package models

import (
	"context"
	"fmt"
	"slices"
	"time"

	"gorm.io/gorm"

	"faceside/models/phrase"
)

// Whose tap it was. A tap that is sent while its person is signed in on the tablet is
// theirs. One that waited on its tablet may come after their session ended: it counts
// for them if they were signed in there when it was made, and the tablet is still
// enrolled:
//
//   - their session began before the tap;
//   - it had not been ended before, by them or by the planner;
//   - where it ended by itself, the tablet had not heard from the server since: then
//     it could not have asked for the PIN, and without a server no tablet can.
//
// Any other is kept whole and asked about (ReturnedTap), as long as it waited. One that
// was made just now on a screen that is out of date stays on its tablet until somebody
// has signed in: nothing is written.

// unproven refuses a tap of which it is not known that its person made it.
func (t *tapper) unproven() (*Error, error) {
	if !t.request.Doubted {
		return nil, nil
	}
	if !t.request.Queued.Late {
		return nil, signedOut()
	}
	made := t.told()
	heard := made
	if t.request.Queued.Heard != nil {
		heard = t.request.Queued.Heard.UTC()
	}
	rules, err := signInOf(t.tx)
	if err != nil {
		return nil, err
	}
	var all []Session
	if err := sessionsOn(t.tx, t.request.PersonID, t.request.Tablet).Find(&all).Error; err != nil {
		return nil, fmt.Errorf("look whether person %d was signed in: %w", t.request.PersonID, err)
	}
	if slices.ContainsFunc(all, func(s Session) bool { return s.covers(made, heard, t.now, rules) }) {
		return nil, nil
	}
	return &Error{Code: Barred, Field: "person", Sentence: phrase.Of("Nobody of that name was signed in on this tablet then.")}, nil
}

func signedOut() *Error {
	return &Error{Code: SignedOut, Field: "person", Sentence: phrase.Of("Nobody is signed in on this tablet any more. Sign in: what was tapped is kept on the tablet and sent then.")}
}

// covers says whether a tap counts by a session that was made at one time, its tablet
// having heard from the server last at another.
func (s *Session) covers(made, heard, now time.Time, rules SignIn) bool {
	ended, how := s.EndedAt, s.Ended
	if over := s.over(rules); ended == nil && !now.Before(over) {
		ended, how = &over, EndIdle // nobody has asked in it since, which would have ended it
	}
	switch {
	case made.Before(s.MadeAt):
		return false
	case ended == nil || !ended.Before(made):
		return true
	}
	return how == EndIdle && !ended.Before(heard)
}

// sessionsOn are the sessions of a person on a tablet.
func sessionsOn(tx *gorm.DB, person ID, tablet string) *gorm.DB {
	return tx.Where("person_id = ? AND key_id IN (SELECT id FROM access_keys WHERE tablet = ?)", person, tablet)
}

// ticksKept is for how long after somebody was signed in on a tablet the pieces count
// that they ticked off there. Ticks tell no time, and no plan hangs on them.
const ticksKept = waitedMost

// MayTick says whether pieces that somebody ticked off on a tablet count, now that they
// are not signed in there any more. somebody says whether another person is.
func (s *Store) MayTick(ctx context.Context, person ID, tablet string, somebody bool) error {
	var was bool
	err := s.read(ctx, "read who is signed in", func(tx *gorm.DB) error {
		found, err := one[Session](sessionsOn(tx, person, tablet).Where("seen_at >= ?", s.Now().Add(-ticksKept)))
		was = found != nil
		return err
	})
	switch {
	case err != nil || was:
		return err
	case somebody:
		return &Error{Code: Barred, Field: "person", Sentence: phrase.Of("That was ticked off for somebody who was not signed in on this tablet.")}
	}
	return signedOut()
}
