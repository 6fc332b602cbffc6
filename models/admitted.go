package models

import (
	"context"
	"crypto/sha256"
	"slices"
	"sync"
	"time"

	"gorm.io/gorm"
)

// As what a request is let in hangs on five rows, and a tablet asks several times a
// second. So it is kept in memory, until something is written that it hangs on: this
// store sees each such write, whoever makes it, and forgets all before the write is
// acknowledged. What another program writes into the file (`faceside passphrase`) counts
// a second later, as what is kept is no older.

// hangOn are the tables on which it hangs who is let in.
var hangOn = []string{"sign_in", "sessions", "access_keys", "people", "pins"}

// admittedMost is how many are kept at most.
const admittedMost = 2000

// admitted is as what those who show something that counts were let in a moment ago.
type admitted struct {
	mu      sync.Mutex
	all     map[[sha256.Size]byte]admittedOnce // by what is shown, hashed as it is secret
	changes int                                // what was read before the last one is not kept
	wrote   bool                               // something it hangs on; for who has the token of writing
}

// admittedOnce is shared by requests and not changed.
type admittedOnce struct {
	Admission
	read time.Time // by the machine's clock
}

func shownHash(c Credentials) [sha256.Size]byte {
	return sha256.Sum256([]byte(c.Session + "\n" + c.Tablet + "\n" + c.Bearer)) // no header has a line's end in it
}

// known is what is kept for what is shown, nil for nothing.
func (k *admitted) known(c Credentials) (a *Admission, changes int) {
	k.mu.Lock()
	defer k.mu.Unlock()
	if once, ok := k.all[shownHash(c)]; ok && time.Since(once.read) < signInKeptFor {
		return &once.Admission, k.changes
	}
	return nil, k.changes
}

// keep keeps what was read after so many changes. What nothing counts of is not kept, so
// that nobody fills the memory by showing nonsense.
func (k *admitted) keep(c Credentials, changes int, a Admission, read time.Time) {
	k.mu.Lock()
	defer k.mu.Unlock()
	if changes != k.changes || a.Key == nil && a.Session == nil {
		return
	}
	if k.all == nil || len(k.all) >= admittedMost {
		k.all = map[[sha256.Size]byte]admittedOnce{}
	}
	k.all[shownHash(c)] = admittedOnce{a, read}
}

// drop forgets one, of whom something was noted.
func (k *admitted) drop(c Credentials) {
	k.mu.Lock()
	defer k.mu.Unlock()
	delete(k.all, shownHash(c))
}

func (k *admitted) forget() {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.all = nil
	k.changes++
}

// watchDoor sees every write that may change who is let in.
func (s *Store) watchDoor() error {
	wrote := func(tx *gorm.DB) {
		if slices.Contains(hangOn, tx.Statement.Table) && !onlySeen(tx.Statement.Dest) {
			s.admitted.wrote = true
		}
	}
	on := s.w.Callback()
	return first(
		on.Create().Register("faceside:door", wrote),
		on.Update().Register("faceside:door", wrote),
		on.Delete().Register("faceside:door", wrote),
	)
}

// onlySeen says whether an update notes only that somebody was there.
func onlySeen(to any) bool {
	columns, ok := to.(map[string]any)
	_, seen := columns["seen_at"]
	return ok && seen && len(columns) == 1
}

// doorWritten forgets who was let in, after a transaction that wrote of it.
func (s *Store) doorWritten() {
	if !s.admitted.wrote {
		return
	}
	s.admitted.wrote = false
	s.admitted.forget()
	s.signInNow.forget()
}

// letIn says as what a request is let in, from what is known or from the records. over
// is its session where that is over by itself.
func (s *Store) letIn(ctx context.Context, shown Credentials, in SignIn) (a Admission, over *Session, err error) {
	known, changes := s.admitted.known(shown)
	if known != nil && (known.Session == nil || s.Now().Before(known.Session.over(in))) {
		return *known, nil, nil
	}
	read := time.Now()
	err = s.read(ctx, "read who is signed in", func(tx *gorm.DB) error {
		over, err = a.look(tx, shown, in, s.Now())
		return err
	})
	if err == nil {
		s.admitted.keep(shown, changes, a, read)
	}
	return a, over, err
}

// look reads of whom is what a request shows.
func (a *Admission) look(tx *gorm.DB, shown Credentials, in SignIn, now time.Time) (over *Session, err error) {
	if shown.Bearer != "" {
		if a.Key, err = keyOf(tx, shown.Bearer, ProgramKey, TabletKey); a.Key != nil {
			a.Role = Program
		}
		return nil, err
	}
	if a.Key, err = keyOf(tx, shown.Tablet, TabletKey); err != nil || shown.Session == "" {
		return nil, err
	}
	found, err := one[Session](tx.Where("token = ? AND ended_at IS NULL", tokenHash(shown.Session)))
	if err != nil || found == nil {
		return nil, err
	}
	if !now.Before(found.over(in)) {
		return found, nil
	}
	return nil, a.use(tx, found)
}
