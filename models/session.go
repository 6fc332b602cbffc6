package models

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"
	"time"

	"gorm.io/gorm"

	"faceside/models/phrase"
)

// Role is what somebody may do.
type Role string

// The roles. A planner may do everything.
const (
	Nobody  Role = ""
	Bench   Role = "bench"   // tap, tick off, note, and read what that needs
	Program Role = "program" // read the records as data
	Planner Role = "planner"
)

// Session is one person's, or the planner's, being signed in. A person's counts on the
// tablet on which it began only.
type Session struct {
	ID       ID
	Token    string // hash of what the browser shows
	Role     Role
	PersonID *ID
	KeyID    *ID // of the tablet; nil: another browser, of the planner
	MadeAt   time.Time
	SeenAt   time.Time // when somebody last did something in it
	EndedAt  *time.Time
	Ended    SessionEnd
}

// SessionEnd says how a session ended.
type SessionEnd string

// How sessions end.
const (
	EndNot     SessionEnd = ""
	EndOff     SessionEnd = "off"     // signed off
	EndIdle    SessionEnd = "idle"    // nobody did anything in it
	EndStopped SessionEnd = "stopped" // by the planner, or because what it began with is over
)

// How long sessions last: the planner's without anything done in it, and any since it
// began. A person's idle time the shop sets (SignIn.Idle). ASVS 5.0, 7.3.1 and 7.3.2,
// wants both kinds of limit; a working day is what a shop can live with.
const (
	plannerIdle   = 30 * time.Minute
	sessionLife   = 12 * time.Hour
	touchEvery    = 15 * time.Second // Session.SeenAt is written no oftener
	keySeenEvery  = 5 * time.Minute
	signInKeptFor = time.Second         // another program may have set a passphrase
	sessionsKept  = 30 * 24 * time.Hour // since they were used; taps that waited are asked of them (session_tap.go)
)

// over says when a session is over by itself.
func (s *Session) over(in SignIn) time.Time {
	idle := time.Duration(in.Idle) * time.Minute
	if s.Role == Planner {
		idle = plannerIdle
	}
	over, last := s.SeenAt.Add(idle), s.MadeAt.Add(sessionLife)
	if last.Before(over) {
		return last
	}
	return over
}

// Credentials are what a request shows.
type Credentials struct {
	Session string // of the session's cookie
	Tablet  string // of the tablet's cookie
	Browser string // of the cookie of a browser on which the planner signed in
	Bearer  string // of a program; cookies do not count beside it
}

// Admission is as what a request is let in.
type Admission struct {
	On      bool // somebody has to sign in at all; false: anybody may do everything
	Role    Role
	Person  *ID
	Session *Session   // nil: nobody is signed in
	Key     *AccessKey // of the tablet or program; nil: it is not enrolled
	OwnPIN  bool       // false: the person has the PIN that was given
	Browser string     // what was shown of having signed the planner in before; looked up once a passphrase is tried
}

// signInCache keeps for a moment what the shop says of signing in, as every request
// asks. While one request reads it anew the others go by what was known.
type signInCache struct {
	mu      sync.Mutex
	row     SignIn
	read    time.Time // by the machine's clock; zero: not known
	reading bool      // anew
	changes int       // a row that was read before the last one is not kept
}

func (c *signInCache) get(s *Store, ctx context.Context) (SignIn, error) {
	row, changes, good := c.kept()
	if good {
		return row, nil
	}
	err := errors.New("not read") // which a panic leaves so
	defer func() { c.keep(row, changes, err) }()
	row, err = s.SignIn(ctx)
	return row, err
}

// keep ends a reading; what it found is kept unless it failed or was overtaken.
func (c *signInCache) keep(row SignIn, changes int, err error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.reading = false
	if err == nil && changes == c.changes {
		c.row, c.read = row, time.Now()
	}
}

// kept is what is known, and whether it is good enough for now; if not, who asked reads.
func (c *signInCache) kept() (row SignIn, changes int, good bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if !c.read.IsZero() && (c.reading || time.Since(c.read) < signInKeptFor) {
		return c.row, c.changes, true
	}
	c.reading = true
	return SignIn{}, c.changes, false
}

func (c *signInCache) forget() {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.read = time.Time{}
	c.changes++
}

// Admit says as what a request is let in. Where somebody does something (acts) the
// session and the tablet are noted as seen.
func (s *Store) Admit(ctx context.Context, shown Credentials, acts bool) (Admission, error) {
	in, err := s.signInNow.get(s, ctx)
	if err != nil {
		return Admission{}, err
	}
	nobody := Admission{On: in.On(), Browser: shown.Browser}
	if shown.Session == "" && shown.Tablet == "" && shown.Bearer == "" {
		return nobody, nil
	}
	a, over, err := s.letIn(ctx, shown, in)
	if err != nil {
		return Admission{}, err
	}
	a.On, a.Browser = nobody.On, nobody.Browser
	err = s.noteSeen(ctx, shown, &a, over, in, acts)
	if code := CodeOf(err); code == DiskFull || code == DiskFails {
		err = nil // the bench can still be read; who wants to write is told
	}
	return a, err
}

// use takes up a session that has not ended.
func (a *Admission) use(tx *gorm.DB, found *Session) error {
	if found.Role == Bench && (a.Key == nil || *found.KeyID != a.Key.ID) {
		return nil // on another tablet it does not count
	}
	if found.PersonID != nil {
		person, err := one[Person](tx.Where("id = ? AND active", *found.PersonID))
		if err != nil {
			return err
		}
		if person == nil && found.Role == Bench {
			return nil
		}
		pin, err := one[PIN](tx.Where("person_id = ?", *found.PersonID))
		if err != nil {
			return err
		}
		a.Person, a.OwnPIN = found.PersonID, pin == nil || !pin.Given
	}
	a.Session, a.Role = found, found.Role
	return nil
}

// noteSeen writes down, not too often, that a session and a tablet were used, and that
// a session is over.
func (s *Store) noteSeen(ctx context.Context, shown Credentials, a *Admission, over *Session, in SignIn, acts bool) error {
	now := s.Now()
	touch := acts && a.Session != nil && now.Sub(a.Session.SeenAt) >= touchEvery
	seen := a.Key != nil && (a.Key.SeenAt == nil || now.Sub(*a.Key.SeenAt) >= keySeenEvery)
	if over == nil && !touch && !seen {
		return nil
	}
	defer s.admitted.drop(shown)
	return s.write(ctx, "note who was here", func(tx *gorm.DB) (*Change, error) {
		if over != nil {
			if err := s.endIdle(tx, over, in); err != nil {
				return nil, err
			}
		}
		if touch {
			if err := tx.Model(&Session{}).Where("id = ? AND ended_at IS NULL", a.Session.ID).UpdateColumn("seen_at", now).Error; err != nil {
				return nil, err
			}
		}
		if !seen {
			return nil, nil
		}
		return nil, tx.Model(&AccessKey{}).Where("id = ?", a.Key.ID).UpdateColumn("seen_at", now).Error
	})
}

// endIdle ends a session as of when it was over.
func (s *Store) endIdle(tx *gorm.DB, over *Session, in SignIn) error {
	done := tx.Model(&Session{}).Where("id = ? AND ended_at IS NULL", over.ID).
		Updates(map[string]any{"ended_at": over.over(in).UTC(), "ended": EndIdle})
	if done.Error != nil || done.RowsAffected == 0 {
		return done.Error
	}
	return s.noteEvent(tx, SignInEvent{Kind: EventIdle, PersonID: over.PersonID, KeyID: over.KeyID})
}

// endSessions ends those that are asked for.
func (s *Store) endSessions(asked *gorm.DB, how SessionEnd) error {
	err := asked.Model(&Session{}).Where("ended_at IS NULL").Updates(map[string]any{"ended_at": s.Now(), "ended": how}).Error
	if err != nil {
		return fmt.Errorf("end sessions: %w", err)
	}
	return nil
}

// SignInPerson signs somebody in on a tablet by the PIN, and returns what the browser
// shows from then on.
func (s *Store) SignInPerson(ctx context.Context, in Admission, person ID, pin string) (token string, err error) {
	if in.Key == nil || in.Key.Kind != TabletKey {
		return "", notEnrolled()
	}
	if err := s.tryPIN(ctx, in.Key, person, pin); err != nil {
		return "", err
	}
	return s.begin(ctx, in, Session{Role: Bench, PersonID: &person, KeyID: in.Key.id()})
}

// SignInAgain signs somebody in without the PIN, where their session on this tablet is
// not over: others were at the tablet meanwhile. ok is false where the PIN is needed.
func (s *Store) SignInAgain(ctx context.Context, in Admission, person ID) (token string, ok bool, err error) {
	if in.Key == nil {
		return "", false, nil
	}
	token, kept := newToken()
	err = s.write(ctx, "sign in", func(tx *gorm.DB) (*Change, error) {
		rules, err := signInOf(tx)
		if err != nil {
			return nil, err
		}
		there, err := one[Session](tx.Where("person_id = ? AND key_id = ? AND role = ? AND ended_at IS NULL AND person_id IN (SELECT id FROM people WHERE active)", person, in.Key.ID, Bench))
		if err != nil || there == nil || !s.Now().Before(there.over(rules)) {
			return nil, err
		}
		if err := s.leave(tx, in); err != nil {
			return nil, err
		}
		ok = true
		return nil, tx.Model(there).Updates(map[string]any{"token": kept, "seen_at": s.Now()}).Error
	})
	return token, ok && err == nil, err
}

// SignInPlanner signs the planner in by the passphrase, on any browser.
func (s *Store) SignInPlanner(ctx context.Context, in Admission, passphrase string) (token string, err error) {
	if err := s.tryPassphrase(ctx, in, passphrase, "passphrase"); err != nil {
		return "", err
	}
	return s.begin(ctx, in, Session{Role: Planner, PersonID: in.Person, KeyID: in.Key.id()})
}

// begin makes a session with a token of its own. What the browser showed before counts
// no more: a session that was handed to somebody is worth nothing once they sign in.
func (s *Store) begin(ctx context.Context, in Admission, next Session) (token string, err error) {
	token, next.Token = newToken()
	err = s.write(ctx, "sign in", func(tx *gorm.DB) (*Change, error) {
		if err := s.leave(tx, in); err != nil {
			return nil, err
		}
		if next.Role == Bench {
			if _, err := forgive(tx, *next.PersonID); err != nil {
				return nil, err
			}
			before := tx.Where("person_id = ? AND key_id = ? AND role = ?", *next.PersonID, *next.KeyID, Bench)
			if err := s.endSessions(before, EndOff); err != nil {
				return nil, err
			}
		}
		next.MadeAt, next.SeenAt = s.Now(), s.Now()
		if err := tx.Where("seen_at < ?", next.MadeAt.Add(-sessionsKept)).Delete(&Session{}).Error; err != nil {
			return nil, fmt.Errorf("let old sessions go: %w", err)
		}
		if err := tx.Create(&next).Error; err != nil {
			return nil, fmt.Errorf("keep the session: %w", err)
		}
		return nil, s.noteEvent(tx, SignInEvent{Kind: EventSignedIn, PersonID: next.PersonID, KeyID: next.KeyID})
	})
	return token, err
}

// leave has the browser's session so far count no more for what it showed. A person's
// stays: they are asked for no PIN when they come back within the idle time.
func (s *Store) leave(tx *gorm.DB, in Admission) error {
	if in.Session == nil {
		return nil
	}
	if in.Session.Role != Bench {
		return s.endSessions(tx.Where("id = ?", in.Session.ID), EndOff)
	}
	_, nobodys := newToken()
	return tx.Model(&Session{}).Where("id = ?", in.Session.ID).UpdateColumn("token", nobodys).Error
}

// SignOff ends the session of a request.
func (s *Store) SignOff(ctx context.Context, in Admission) error {
	if in.Session == nil {
		return nil
	}
	return s.endOne(ctx, in.Session.ID, EndOff, EventSignedOff)
}

// EndSession ends one session for whoever is in it.
func (s *Store) EndSession(ctx context.Context, id ID) error {
	return s.endOne(ctx, id, EndStopped, EventStopped)
}

func (s *Store) endOne(ctx context.Context, id ID, how SessionEnd, kind SignInEventKind) error {
	return s.write(ctx, "end the session", func(tx *gorm.DB) (*Change, error) {
		there, err := one[Session](tx.Where("id = ?", id))
		if err != nil {
			return nil, err
		}
		if there == nil {
			return nil, &Error{Code: NotFound, Field: "session", Value: fmt.Sprint(id), Sentence: phrase.Of("There is no such session.")}
		}
		if there.EndedAt != nil {
			return nil, nil
		}
		if err := s.endSessions(tx.Where("id = ?", id), how); err != nil {
			return nil, err
		}
		return nil, s.noteEvent(tx, SignInEvent{Kind: kind, PersonID: there.PersonID, KeyID: there.KeyID})
	})
}

// Sessions lists those that are not over, the newest first.
func (s *Store) Sessions(ctx context.Context) ([]Session, error) {
	var all []Session
	err := s.read(ctx, "read who is signed in", func(tx *gorm.DB) error {
		rules, err := signInOf(tx)
		if err != nil {
			return err
		}
		if err := tx.Where("ended_at IS NULL").Order("id DESC").Find(&all).Error; err != nil {
			return err
		}
		now := s.Now()
		all = slices.DeleteFunc(all, func(one Session) bool { return !now.Before(one.over(rules)) })
		return nil
	})
	return all, err
}
