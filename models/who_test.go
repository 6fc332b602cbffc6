package models_test

import (
	"context"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"faceside/models"
	"faceside/models/testrig"
	"faceside/models/testrig/disk"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

const passphrase = "seven planes hang on a nail"

// door is a shop where everybody signs in, and a tablet that is enrolled.
type door struct {
	*testing.T
	clock    *testrig.Clock
	store    *models.Store
	ana, ben models.ID
	secret   string // of the tablet
}

func newDoor(t *testing.T) *door {
	t.Helper()
	models.CheapHashes(t)
	clock := testrig.Monday()
	d := &door{T: t, clock: clock, store: testrig.Shop(t, clock)}
	snap := testrig.Snapshot(t, d.store)
	d.ana, d.ben = testrig.Person(t, snap, "Ana"), testrig.Person(t, snap, "Ben")
	require.NoError(t, d.store.SetPassphrase(t.Context(), passphrase, 0))
	d.secret = d.enrol("Bench by the window", "tablet-1")
	return d
}

func (d *door) enrol(name, tablet string) string {
	d.Helper()
	_, code, err := d.store.MakeCode(d.Context(), name)
	require.NoError(d, err)
	secret, err := d.store.Enrol(d.Context(), code, tablet)
	require.NoError(d, err)
	return secret
}

func (d *door) pin(person models.ID) string {
	d.Helper()
	pin, err := d.store.GivePIN(d.Context(), person)
	require.NoError(d, err)
	return pin
}

// at is as what a request is let in that shows a session on the tablet.
func (d *door) at(session string) models.Admission {
	d.Helper()
	a, err := d.store.Admit(d.Context(), models.Credentials{Session: session, Tablet: d.secret}, true)
	require.NoError(d, err)
	require.True(d, a.On)
	return a
}

func (d *door) signIn(person models.ID, pin string) string {
	d.Helper()
	token, err := d.store.SignInPerson(d.Context(), d.at(""), person, pin)
	require.NoError(d, err)
	return token
}

func (d *door) events() (kinds []models.SignInEventKind) {
	d.Helper()
	all, err := d.store.SignInEvents(d.Context(), 100)
	require.NoError(d, err)
	for _, e := range all {
		kinds = append(kinds, e.Kind)
	}
	return kinds
}

// wrongly tries a PIN that is wrong and returns why it was refused.
func (d *door) wrongly(person models.ID, pin string) *models.Error {
	d.Helper()
	_, err := d.store.SignInPerson(d.Context(), d.at(""), person, pin)
	var refusal *models.Error
	require.ErrorAs(d, err, &refusal)
	return refusal
}

func TestNobodyIsAskedWithoutAPassphrase(t *testing.T) {
	store := testrig.Shop(t, testrig.Monday())
	a, err := store.Admit(t.Context(), models.Credentials{Session: "x", Tablet: "y", Bearer: "z"}, true)
	require.NoError(t, err)
	assert.False(t, a.On)
	require.NoError(t, store.SetPassphrase(t.Context(), passphrase, 0))
	a, err = store.Admit(t.Context(), models.Credentials{}, true)
	require.NoError(t, err)
	assert.True(t, a.On)
	require.NoError(t, store.RemovePassphrase(t.Context()))
	a, err = store.Admit(t.Context(), models.Credentials{}, true)
	require.NoError(t, err)
	assert.False(t, a.On)
}

func TestSignInWithThePIN(t *testing.T) {
	d := newDoor(t)
	pin := d.pin(d.ana)
	assert.Len(t, pin, models.PINDigits)
	token := d.signIn(d.ana, pin)
	a := d.at(token)
	assert.Equal(t, models.Bench, a.Role)
	assert.Equal(t, d.ana, *a.Person)
	assert.False(t, a.OwnPIN, "it was given")

	refused(t, d.store.SetPIN(t.Context(), a, pin, "11a111"), models.Invalid, "A PIN has 6 digits and nothing else.")
	refused(t, d.store.SetPIN(t.Context(), a, pin, pin), models.Invalid, "That is the PIN so far. Choose another one.")
	require.NoError(t, d.store.SetPIN(t.Context(), a, pin, "730195"))
	assert.True(t, d.at(token).OwnPIN)
	assert.Equal(t, "That was wrong. 9 tries are left before it is locked.", d.wrongly(d.ana, pin).Error())
	d.signIn(d.ana, "730195")

	require.NoError(t, d.store.SignOff(t.Context(), d.at(token)))
	assert.Equal(t, models.Nobody, d.at(token).Role)
}

// The session counts with the tablet's own secret only, and each sign-in has a new one.
func TestSessionsBelongToATabletAndAreNew(t *testing.T) {
	d := newDoor(t)
	pin := d.pin(d.ana)
	first := d.signIn(d.ana, pin)
	for _, elsewhere := range []models.Credentials{{Session: first}, {Session: first, Tablet: d.enrol("Saw", "tablet-2")}, {Session: first, Tablet: "guessed"}} {
		a, err := d.store.Admit(t.Context(), elsewhere, true)
		require.NoError(t, err)
		assert.Equal(t, models.Nobody, a.Role)
	}
	second := d.signIn(d.ana, pin)
	assert.NotEqual(t, first, second)
	assert.GreaterOrEqual(t, len(first), 26, "26 letters of 5 bits are 130 random bits")
	assert.Equal(t, models.Nobody, d.at(first).Role, "what the tablet showed before counts no more")
	assert.Equal(t, models.Bench, d.at(second).Role)
}

// Several people at one tablet need their PIN once in the idle time, not at each change.
func TestPeopleTakeTurnsWithoutThePIN(t *testing.T) {
	d := newDoor(t)
	anas := d.signIn(d.ana, d.pin(d.ana))
	bens, err := d.store.SignInPerson(t.Context(), d.at(anas), d.ben, d.pin(d.ben))
	require.NoError(t, err)
	assert.Equal(t, models.Nobody, d.at(anas).Role, "the tablet shows Ben's now")
	again, ok, err := d.store.SignInAgain(t.Context(), d.at(bens), d.ana)
	require.NoError(t, err)
	require.True(t, ok)
	assert.Equal(t, d.ana, *d.at(again).Person)

	d.clock.Step(15 * time.Minute)
	for _, person := range []models.ID{d.ana, d.ben, 99} {
		_, ok, err = d.store.SignInAgain(t.Context(), d.at(again), person)
		require.NoError(t, err)
		assert.False(t, ok, "idle: the PIN is asked for")
	}
	_, ok, err = d.store.SignInAgain(t.Context(), models.Admission{On: true}, d.ana)
	require.NoError(t, err)
	assert.False(t, ok, "not on a tablet that is not enrolled")
}

func TestSessionsIdleOut(t *testing.T) {
	d := newDoor(t)
	require.NoError(t, d.store.SaveIdle(t.Context(), 20))
	refused(t, d.store.SaveIdle(t.Context(), 0), models.Invalid, "The idle time 0 min is not between 1 and 480 min.")
	token := d.signIn(d.ana, d.pin(d.ana))
	for range 5 { // somebody does something all the time
		d.clock.Step(19 * time.Minute)
		require.Equal(t, models.Bench, d.at(token).Role)
	}
	d.clock.Step(19 * time.Minute)
	_, err := d.store.Admit(t.Context(), models.Credentials{Session: token, Tablet: d.secret}, false) // a screen follows by itself
	require.NoError(t, err)
	d.clock.Step(time.Minute)
	assert.Equal(t, models.Nobody, d.at(token).Role)
	assert.Equal(t, models.EventIdle, d.events()[0])

	planner, err := d.store.SignInPlanner(t.Context(), models.Admission{On: true}, passphrase)
	require.NoError(t, err)
	d.clock.Step(29 * time.Minute)
	require.Equal(t, models.Planner, d.at(planner).Role)
	d.clock.Step(30 * time.Minute)
	require.Equal(t, models.Nobody, d.at(planner).Role)

	token = d.signIn(d.ana, d.pin(d.ana))
	for range 12 * 4 {
		require.Equal(t, models.Bench, d.at(token).Role)
		d.clock.Step(15 * time.Minute)
	}
	assert.Equal(t, models.Nobody, d.at(token).Role, "no session lasts longer than 12 hours")
}

func TestOldSessionsGo(t *testing.T) {
	d := newDoor(t)
	pin := d.pin(d.ana)
	for range 3 {
		d.signIn(d.ana, pin)
		d.clock.Step(20 * 24 * time.Hour)
	}
	path := filepath.Join(t.TempDir(), "copy.db")
	require.NoError(t, d.store.Backup(t.Context(), path))
	var kept int
	require.NoError(t, raw(t, path).QueryRow("SELECT count(*) FROM sessions").Scan(&kept))
	assert.Equal(t, 2, kept, "the first was used 40 days before the last began")
}

// A tap that waited counts for who was signed in when it was made, also where nobody has
// asked since in the session that idled out.
func TestWhoseATapThatWaitedIs(t *testing.T) {
	const minutes = time.Minute
	for name, tt := range map[string]struct {
		heard, made time.Duration // since Ana signed in, for a quarter of an hour
		counts      bool
	}{
		"made while she was signed in":                   {heard: 5 * minutes, made: 10 * minutes, counts: true},
		"made later, without having heard from a server": {heard: 5 * minutes, made: 60 * minutes, counts: true},
		"made later, where she could have been asked":    {heard: 50 * minutes, made: 60 * minutes},
		"made before": {heard: -20 * minutes, made: -10 * minutes},
	} {
		t.Run(name, func(t *testing.T) {
			d := newDoor(t)
			anas := d.signIn(d.ana, d.pin(d.ana))
			began := d.clock.Now()
			_, err := d.store.SignInPerson(t.Context(), d.at(anas), d.ben, d.pin(d.ben)) // hers is shown by nobody then
			require.NoError(t, err)
			d.clock.Step(2 * time.Hour)
			heard := began.Add(tt.heard)
			_, err = d.store.Tap(t.Context(), models.TapRequest{ID: "late", Kind: models.TapDown, StationID: testrig.Station(t, testrig.Snapshot(t, d.store), "planer").ID, PersonID: d.ana, Tablet: "tablet-1", Doubted: true,
				Queued: &models.Queued{Queue: "q", Number: 1, Late: true, Waited: d.clock.Now().Sub(began.Add(tt.made)), Heard: &heard}})
			if tt.counts {
				require.NoError(t, err)
				return
			}
			refused(t, err, models.Barred, "Nobody of that name was signed in on this tablet then.")
			assert.Len(t, testrig.Snapshot(t, d.store).Returned, 1, "it is asked about")
		})
	}
}

func TestWhatEndsSessions(t *testing.T) {
	for name, ends := range map[string]func(d *door, a models.Admission) error{
		"the planner ends it":   func(d *door, a models.Admission) error { return d.store.EndSession(d.Context(), a.Session.ID) },
		"the tablet is revoked": func(d *door, a models.Admission) error { return d.store.EndKey(d.Context(), a.Key.ID) },
		"the PIN is renewed":    func(d *door, _ models.Admission) error { _, err := d.store.GivePIN(d.Context(), d.ana); return err },
		"the person has gone": func(d *door, _ models.Admission) error {
			_, err := d.store.SavePerson(d.Context(), models.Person{ID: d.ana, Name: "Ana"})
			return err
		},
		"the tablet is enrolled anew": func(d *door, _ models.Admission) error { d.enrol("Another name", "tablet-1"); return nil },
	} {
		t.Run(name, func(t *testing.T) {
			d := newDoor(t)
			token := d.signIn(d.ana, d.pin(d.ana))
			a := d.at(token)
			require.Equal(t, models.Bench, a.Role)
			require.NoError(t, ends(d, a))
			assert.Equal(t, models.Nobody, d.at(token).Role)
		})
	}
}

func TestTenWrongPINsLock(t *testing.T) {
	d := newDoor(t)
	pin := d.pin(d.ana)
	waits := []time.Duration{0, 0, 5, 10, 20, 40, 80, 160, 320}
	for n, wait := range waits {
		refusal := d.wrongly(d.ana, "000000")
		left := fmt.Sprintf("%d tries are left", models.PINTries-n-1)
		if n == len(waits)-1 {
			left = "One try is left"
		}
		assert.Equal(t, models.Invalid, refusal.Code)
		assert.Contains(t, refusal.Error(), left)
		if wait *= time.Second; wait > 0 {
			refusal = d.wrongly(d.ana, pin)
			assert.Equal(t, models.TooSoon, refusal.Code, "not even the right one is tried")
			assert.Equal(t, wait, refusal.Wait)
			assert.Equal(t, fmt.Sprintf("The PIN was wrong %d times in a row: wait another %d seconds.", n+1, wait/time.Second), refusal.Error())
		}
		d.clock.Step(wait)
	}
	assert.Equal(t, models.Barred, d.wrongly(d.ana, "000000").Code)
	d.clock.Step(24 * time.Hour)
	refusal := d.wrongly(d.ana, pin)
	assert.Equal(t, models.Barred, refusal.Code)
	assert.Equal(t, "Locked after 10 wrong PINs in a row. The planner frees it, on the Shop screen under People and tablets.", refusal.Error())
	d.signIn(d.ben, d.pin(d.ben)) // others are not locked

	// Neither does a restart help.
	path := filepath.Join(t.TempDir(), "shop.db")
	require.NoError(t, d.store.Backup(t.Context(), path))
	again, err := models.OpenStore(t.Context(), path, d.clock.Now)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, again.Close()) })
	_, err = again.SignInPerson(t.Context(), d.at(""), d.ana, pin)
	assert.Equal(t, models.Barred, models.CodeOf(err))

	require.NoError(t, d.store.Unlock(t.Context(), d.ana))
	d.signIn(d.ana, pin)
	assert.Subset(t, d.events(), []models.SignInEventKind{models.EventLocked, models.EventFreed, models.EventWrongPIN})
}

// Whether there is such a person, works here, or has a PIN is told by nothing.
func TestFailuresTellNothingOfThePerson(t *testing.T) {
	d := newDoor(t)
	d.pin(d.ana)
	gone, err := d.store.SavePerson(t.Context(), models.Person{Name: "Cleo", Active: true})
	require.NoError(t, err)
	pin := d.pin(gone.ID)
	gone.Active = false
	_, err = d.store.SavePerson(t.Context(), gone)
	require.NoError(t, err)
	want := d.wrongly(d.ana, "000000")
	for _, refusal := range []*models.Error{d.wrongly(d.ben, "000000"), d.wrongly(gone.ID, pin), d.wrongly(99, "000000"), d.wrongly(-1, "000000")} {
		assert.Equal(t, want, refusal)
	}
}

// The planner's passphrase is never locked: it is waited for, and not for ever.
func TestThePassphraseBacksOff(t *testing.T) {
	d := newDoor(t)
	anybody := models.Admission{On: true}
	for n := range 30 {
		_, err := d.store.SignInPlanner(t.Context(), anybody, "something else entirely")
		refused(t, err, models.Invalid, "That is not the planner's passphrase.")
		if n >= 2 {
			_, err = d.store.SignInPlanner(t.Context(), anybody, passphrase)
			require.Equal(t, models.TooSoon, models.CodeOf(err))
			assert.ErrorContains(t, err, "Nobody is locked out for good")
		}
		d.clock.Step(15 * time.Minute)
	}
	_, err := d.store.SignInPlanner(t.Context(), anybody, passphrase)
	require.NoError(t, err)

	for range 3 {
		_, err := d.store.SignInPlanner(t.Context(), anybody, "something else entirely")
		require.Error(t, err)
	}
	require.NoError(t, d.store.Unlock(t.Context(), 0))
	_, err = d.store.SignInPlanner(t.Context(), anybody, passphrase)
	require.NoError(t, err, "the machine's own command frees it")
}

// Strangers who try wrongly on purpose keep other strangers waiting, together, however
// many they are; they keep no enrolled tablet and no browser waiting on which the planner
// signed in before. Those have tries of their own, which wait the same way.
func TestStrangersKeepNobodyElseWaiting(t *testing.T) {
	d := newDoor(t)
	stranger, tablet := models.Admission{On: true}, d.at("")
	laptop := models.Admission{On: true}
	knows := func(in models.Admission) models.Admission {
		_, err := d.store.SignInPlanner(t.Context(), in, passphrase)
		require.NoError(t, err)
		shown, err := d.store.KnowBrowser(t.Context(), in)
		require.NoError(t, err)
		again, err := d.store.KnowBrowser(t.Context(), models.Admission{On: true, Browser: shown})
		require.NoError(t, err)
		assert.Equal(t, shown, again, "it is known once")
		in.Browser = shown
		return in
	}
	laptop = knows(laptop)
	phone := knows(models.Admission{On: true})
	require.NotEqual(t, laptop.Browser, phone.Browser)

	wrongly := func(in models.Admission) models.Code {
		_, err := d.store.SignInPlanner(t.Context(), in, "something else entirely")
		require.Error(t, err)
		return models.CodeOf(err)
	}
	tries := func(in models.Admission) (looked int) { // within an hour, every second one
		for range 3600 {
			if wrongly(in) == models.Invalid {
				looked++
			}
			d.clock.Step(time.Second)
		}
		return looked
	}
	made := models.Admission{On: true, Browser: "MADEUP"}
	assert.Equal(t, 13, tries(stranger), "five seconds, ten … and a quarter of an hour each")
	assert.Equal(t, models.TooSoon, wrongly(made), "a secret that is made up is a stranger's")
	for _, known := range []models.Admission{tablet, laptop, phone} {
		_, err := d.store.SignInPlanner(t.Context(), known, passphrase)
		require.NoError(t, err)
	}
	assert.Equal(t, models.TooSoon, wrongly(stranger), "who is known frees no stranger")

	for _, known := range []models.Admission{tablet, laptop} {
		for range 3 {
			assert.Equal(t, models.Invalid, wrongly(known))
		}
		_, err := d.store.SignInPlanner(t.Context(), known, passphrase)
		assert.Equal(t, models.TooSoon, models.CodeOf(err), "theirs wait, too")
	}
	_, err := d.store.SignInPlanner(t.Context(), phone, passphrase)
	require.NoError(t, err)

	path := filepath.Join(t.TempDir(), "shop.db") // a restart changes nothing of that
	require.NoError(t, d.store.Backup(t.Context(), path))
	again, err := models.OpenStore(t.Context(), path, d.clock.Now)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, again.Close()) })
	for _, waits := range []models.Admission{stranger, laptop, tablet} {
		_, err = again.SignInPlanner(t.Context(), waits, passphrase)
		assert.Equal(t, models.TooSoon, models.CodeOf(err))
	}
	_, err = again.SignInPlanner(t.Context(), phone, passphrase)
	require.NoError(t, err)

	for range 60 { // the browsers that were not used for longest are forgotten
		d.clock.Step(time.Minute)
		_, err := d.store.KnowBrowser(t.Context(), models.Admission{On: true})
		require.NoError(t, err)
	}
	assert.Equal(t, models.Invalid, wrongly(stranger))
	assert.Equal(t, models.TooSoon, wrongly(phone), "it is a stranger now")
}

func TestPassphrases(t *testing.T) {
	store := testrig.Shop(t, testrig.Monday())
	for given, why := range map[string]string{
		"":                                 "The passphrase has 0 characters, and 15 are the least.",
		"fourteen chars":                   "The passphrase has 14 characters, and 15 are the least.",
		strings.Repeat("x", 201):           "The passphrase has 201 characters, and 200 are the most.",
		"passwordpassword":                 "That passphrase is among those that are tried first.",
		"Passphrase 1234567890":            "That passphrase is among those that are tried first.",
		"correct horse battery staple":     "That passphrase is among those that are tried first.",
		"aaaaaaaaaaaaaaaaaaaaaa":           "That passphrase is among those that are tried first.",
		"Workshop Workshop 12":             "That passphrase is among those that are tried first.",
		"no text \xff\xff\xff\xff\xff\xff": "The passphrase is not text.",
	} {
		err := store.SetPassphrase(t.Context(), given, 0)
		assert.ErrorContains(t, err, why, "%q", given)
		assert.Equal(t, models.Invalid, models.CodeOf(err), "%q", given)
	}
	for _, good := range []string{"fünfzehn Zeich.", "éèàüöäñçßøåæœþð", strings.Repeat("long words ", 10) + "quietly", "        spaces count too"} {
		require.NoError(t, store.SetPassphrase(t.Context(), good, 0), good)
		_, err := store.SignInPlanner(t.Context(), models.Admission{On: true}, good)
		require.NoError(t, err, good)
	}
	// However a keyboard composes it.
	require.NoError(t, store.SetPassphrase(t.Context(), "Hobelba\u0308nke aus Buche", 0))
	_, err := store.SignInPlanner(t.Context(), models.Admission{On: true}, "Hobelb\u00e4nke aus Buche")
	require.NoError(t, err)
}

func TestChangingThePassphraseEndsOtherSessions(t *testing.T) {
	d := newDoor(t)
	mine, err := d.store.SignInPlanner(t.Context(), models.Admission{On: true}, passphrase)
	require.NoError(t, err)
	other, err := d.store.SignInPlanner(t.Context(), models.Admission{On: true}, passphrase)
	require.NoError(t, err)
	refused(t, d.store.ChangePassphrase(t.Context(), d.at(mine), "wrong wrong wrong", "another few words here"), models.Invalid, "That is not the planner's passphrase.")
	require.NoError(t, d.store.ChangePassphrase(t.Context(), d.at(mine), passphrase, "another few words here"))
	assert.Equal(t, models.Planner, d.at(mine).Role)
	assert.Equal(t, models.Nobody, d.at(other).Role)
	_, err = d.store.SignInPlanner(t.Context(), models.Admission{On: true}, passphrase)
	require.Error(t, err)
}

func TestEnrollingATablet(t *testing.T) {
	d := newDoor(t)
	key, code, err := d.store.MakeCode(t.Context(), " Saw ")
	require.NoError(t, err)
	assert.Equal(t, "Saw", key.Name)
	assert.Len(t, code, 24)
	_, err = d.store.Code(t.Context(), "AAAA")
	assert.ErrorContains(t, err, "That code enrols no tablet")
	found, err := d.store.Code(t.Context(), strings.ToLower(code[:4]+"-"+code[4:12]+" "+code[12:]))
	require.NoError(t, err)
	assert.Equal(t, key.ID, found.ID)

	d.clock.Step(10 * time.Minute)
	_, err = d.store.Enrol(t.Context(), code, "tablet-2")
	assert.ErrorContains(t, err, "for 10 minutes")
	_, code, err = d.store.MakeCode(t.Context(), "Saw")
	require.NoError(t, err, "the name is free again")
	secret, err := d.store.Enrol(t.Context(), code, "tablet-2")
	require.NoError(t, err)
	_, err = d.store.Enrol(t.Context(), code, "tablet-3")
	assert.ErrorContains(t, err, "each counts once")
	_, _, err = d.store.MakeCode(t.Context(), "saw")
	assert.ErrorContains(t, err, "“Saw” is let in already")

	a, err := d.store.Admit(t.Context(), models.Credentials{Tablet: secret}, false)
	require.NoError(t, err)
	assert.Equal(t, "tablet-2", *a.Key.Tablet)
	assert.Equal(t, "Saw", testrig.Snapshot(t, d.store).Tablet("tablet-2").Name)
	d.clock.Step(time.Hour)
	_, err = d.store.Admit(t.Context(), models.Credentials{Tablet: secret}, false)
	require.NoError(t, err)
	keys, err := d.store.Keys(t.Context())
	require.NoError(t, err)
	require.Len(t, keys, 2)
	assert.Equal(t, d.clock.Now(), *keys[1].SeenAt, "it is known when it was last seen")

	require.NoError(t, d.store.EndKey(t.Context(), a.Key.ID))
	a, err = d.store.Admit(t.Context(), models.Credentials{Tablet: secret}, false)
	require.NoError(t, err)
	assert.Nil(t, a.Key)
	refused(t, d.store.EndKey(t.Context(), 99), models.NotFound, "There is no such tablet or program.")
}

func TestProgramsReadByTheirKey(t *testing.T) {
	d := newDoor(t)
	key, token, err := d.store.MakeProgramKey(t.Context(), "Spreadsheet")
	require.NoError(t, err)
	role := func(c models.Credentials) models.Role {
		a, err := d.store.Admit(t.Context(), c, true)
		require.NoError(t, err)
		return a.Role
	}
	assert.Equal(t, models.Program, role(models.Credentials{Bearer: token}))
	assert.Equal(t, models.Program, role(models.Credentials{Bearer: d.secret}), "a tablet's own counts, too")
	assert.Equal(t, models.Nobody, role(models.Credentials{Bearer: "guessed"}))
	assert.Equal(t, models.Nobody, role(models.Credentials{Tablet: token}), "a program is no tablet")
	require.NoError(t, d.store.EndKey(t.Context(), key.ID))
	assert.Equal(t, models.Nobody, role(models.Credentials{Bearer: token}))
}

// No table keeps a secret: only what holds one against it.
func TestNoSecretIsKept(t *testing.T) {
	d := newDoor(t)
	pin := d.pin(d.ana)
	token := d.signIn(d.ana, pin)
	_, program, err := d.store.MakeProgramKey(t.Context(), "Spreadsheet")
	require.NoError(t, err)
	_, code, err := d.store.MakeCode(t.Context(), "Saw")
	require.NoError(t, err)
	path := filepath.Join(t.TempDir(), "copy.db")
	require.NoError(t, d.store.Backup(t.Context(), path))
	db := raw(t, path)
	query, err := everything(db)
	require.NoError(t, err)
	rows, err := texts(db, query)
	require.NoError(t, err)
	for _, row := range rows {
		for _, secret := range []string{passphrase, pin, token, program, code, d.secret} {
			assert.NotContains(t, row, secret)
		}
	}
	for _, table := range []string{"sign_in", "pins", "access_keys", "sessions", "sign_in_events"} {
		assert.True(t, slices.ContainsFunc(rows, func(row string) bool { return strings.HasPrefix(row, table+" ") }), "rows of %s were looked at", table)
	}
}

// A PIN that a person may choose is six digits, and one that was drawn is among those.
func TestPINs(t *testing.T) {
	d := newDoor(t)
	pin := d.pin(d.ana)
	a := d.at(d.signIn(d.ana, pin))
	for given, why := range map[string]string{
		"000000": "repeats itself", "121212": "repeats itself", "123123": "repeats itself",
		"123456": "counts up or down", "987654": "counts up or down", "789012": "counts up or down",
		"12345": "6 digits", "1234567": "6 digits", "12 456": "6 digits", "１２３４５６": "6 digits", "": "6 digits",
	} {
		assert.ErrorContains(t, d.store.SetPIN(t.Context(), a, pin, given), why, given)
	}
}

// Whatever is tried in whatever order, a person is locked by ten wrong tries in a row
// that were looked at, and by nothing else; while waiting or locked nothing is looked at.
func TestTriesAreCounted(t *testing.T) {
	drawnSoOften(t, 40)
	d := newDoor(t)
	pin := d.pin(d.ana)
	met := map[models.Code]int{}
	rapid.Check(t, func(rt *rapid.T) {
		require.NoError(rt, d.store.Unlock(context.Background(), d.ana))
		failed, free, locked := 0, d.clock.Now(), false
		rightly := rapid.SampledFrom([]float64{0.02, 0.1, 0.3}).Draw(rt, "rightly")
		for range rapid.IntRange(12, 30).Draw(rt, "tries") {
			right := rapid.Float64Range(0, 1).Draw(rt, "luck") > 1-rightly
			given := "000000"
			if right {
				given = pin
			}
			token, err := d.store.SignInPerson(context.Background(), d.at(""), d.ana, given)
			if err != nil {
				met[models.CodeOf(err)]++
			}
			switch {
			case locked:
				require.Equal(rt, models.Barred, models.CodeOf(err))
			case d.clock.Now().Before(free):
				require.Equal(rt, models.TooSoon, models.CodeOf(err))
			case right:
				require.NoError(rt, err)
				require.NotEmpty(rt, token)
				failed, free = 0, d.clock.Now()
			default:
				require.Error(rt, err)
				require.Empty(rt, token)
				if failed++; failed >= 3 {
					free = d.clock.Now().Add(min(5*time.Second<<(failed-3), 15*time.Minute))
				}
				locked = failed == 10
			}
			d.clock.Step(rapid.SampledFrom([]time.Duration{15 * time.Minute, 5 * time.Second, time.Second}).Draw(rt, "waits"))
		}
	})
	t.Log(met)
	for _, code := range []models.Code{models.Invalid, models.TooSoon, models.Barred} {
		assert.NotZero(t, met[code], "a property that never met the case shows nothing: %s", code)
	}
}

// Who is signed in can still read where the disk has no room for a note of that.
func TestAFullDiskKeepsNobodyOut(t *testing.T) {
	full := disk.Watch(t, filepath.Dir(t.TempDir())) // where the shop's folder is made
	d := newDoor(t)
	token := d.signIn(d.ana, d.pin(d.ana))
	d.clock.Step(10 * time.Minute) // time to note that somebody was seen
	full.Fail(disk.Fault{Call: disk.Write, From: 1, Error: syscall.ENOSPC})
	a, err := d.store.Admit(t.Context(), models.Credentials{Session: token, Tablet: d.secret}, true)
	hit := full.Failed()
	full.Fail(disk.Fault{})
	require.NoError(t, err)
	assert.Positive(t, hit, "it tried to note it")
	assert.Equal(t, models.Bench, a.Role)
	assert.Equal(t, d.ana, *a.Person)
}
