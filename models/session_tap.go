package models

import (
	"context"
	"fmt"

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
	was, err := wasSignedIn(t.tx, t.request.PersonID, t.request.Tablet, "made_at <= ? AND (ended_at IS NULL OR ended_at >= ? OR (ended = ? AND ended_at >= ?))", made, made, EndIdle, heard)
	if err != nil || was {
		return nil, err
	}
	return &Error{Code: Barred, Field: "person", Sentence: phrase.Of("Nobody of that name was signed in on this tablet then.")}, nil
}

func signedOut() *Error {
	return &Error{Code: SignedOut, Field: "person", Sentence: phrase.Of("Nobody is signed in on this tablet any more. Sign in: what was tapped is kept on the tablet and sent then.")}
}

// wasSignedIn looks for a session of a person on a tablet.
func wasSignedIn(tx *gorm.DB, person ID, tablet, when string, args ...any) (bool, error) {
	found, err := one[Session](tx.Where("person_id = ? AND key_id IN (SELECT id FROM access_keys WHERE tablet = ?)", person, tablet).Where(when, args...))
	if err != nil {
		return false, fmt.Errorf("look whether person %d was signed in: %w", person, err)
	}
	return found != nil, nil
}

// ticksKept is for how long after somebody was signed in on a tablet the pieces count
// that they ticked off there. Ticks tell no time, and no plan hangs on them.
const ticksKept = waitedMost

// MayTick says whether pieces that somebody ticked off on a tablet count, now that they
// are not signed in there any more. somebody says whether another person is.
func (s *Store) MayTick(ctx context.Context, person ID, tablet string, somebody bool) error {
	var was bool
	err := s.read(ctx, "read who is signed in", func(tx *gorm.DB) (err error) {
		was, err = wasSignedIn(tx, person, tablet, "seen_at >= ?", s.Now().Add(-ticksKept))
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
