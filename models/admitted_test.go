package models_test

import (
	"sync"
	"testing"

	"faceside/models"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Whatever changes as what somebody is let in counts for the next request, although the
// one before was a moment ago.
func TestWhatChangesAtTheDoorCountsAtOnce(t *testing.T) {
	type sees struct {
		on, enrolled bool
		role         models.Role
		ownPIN       bool
	}
	in := sees{true, true, models.Bench, false}
	out := sees{true, true, models.Nobody, false}
	for name, c := range map[string]struct {
		do   func(d *door, a models.Admission, pin string) error
		want sees
	}{
		"nothing":    {func(*door, models.Admission, string) error { return nil }, in},
		"signed off": {func(d *door, a models.Admission, _ string) error { return d.store.SignOff(d.Context(), a) }, out},
		"session ended": {func(d *door, a models.Admission, _ string) error {
			return d.store.EndSession(d.Context(), a.Session.ID)
		}, out},
		"key taken back": {func(d *door, a models.Admission, _ string) error { return d.store.EndKey(d.Context(), a.Key.ID) }, sees{true, false, models.Nobody, false}},
		"another at the door": {func(d *door, a models.Admission, _ string) error {
			_, err := d.store.SignInPerson(d.Context(), a, d.ben, d.pin(d.ben))
			return err
		}, out},
		"PIN of their own": {func(d *door, a models.Admission, pin string) error {
			return d.store.SetPIN(d.Context(), a, pin, "730195")
		}, sees{true, true, models.Bench, true}},
		"gone from the shop": {func(d *door, _ models.Admission, _ string) error {
			_, err := d.store.SavePerson(d.Context(), models.Person{ID: d.ana, Name: "Ana"})
			return err
		}, out},
		"nobody signs in": {func(d *door, _ models.Admission, _ string) error { return d.store.RemovePassphrase(d.Context()) }, sees{false, true, models.Bench, false}},
	} {
		t.Run(name, func(t *testing.T) {
			d := newDoor(t)
			pin := d.pin(d.ana)
			token := d.signIn(d.ana, pin)
			shown := models.Credentials{Session: token, Tablet: d.secret}
			for range 2 { // the second from memory
				_, err := d.store.Admit(t.Context(), shown, true)
				require.NoError(t, err)
			}
			require.NoError(t, c.do(d, d.at(token), pin))
			a, err := d.store.Admit(t.Context(), shown, true)
			require.NoError(t, err)
			assert.Equal(t, c.want, sees{a.On, a.Key != nil, a.Role, a.OwnPIN && a.Session != nil})
		})
	}
}

// While others ask without a pause: nobody who asks after a session was ended is let in.
func TestAnEndedSessionLetsNobodyInAmongMany(t *testing.T) {
	d := newDoor(t)
	pin := d.pin(d.ana)
	for range 20 {
		token := d.signIn(d.ana, pin)
		a := d.at(token)
		ended := make(chan struct{})
		var all sync.WaitGroup
		for range 4 {
			all.Go(func() {
				for over := false; !over; {
					select {
					case <-ended:
						over = true
					default:
					}
					now, err := d.store.Admit(t.Context(), models.Credentials{Session: token, Tablet: d.secret}, false)
					assert.NoError(t, err)
					assert.False(t, over && now.Session != nil, "asked after the end, and let in")
				}
			})
		}
		assert.NoError(t, d.store.EndSession(t.Context(), a.Session.ID))
		close(ended)
		all.Wait()
	}
}

// Another program writes into the same file: that counts once what is kept is a second old.
func TestWhatAnotherProgramEndsCountsSoon(t *testing.T) {
	d := newDoor(t)
	token := d.signIn(d.ana, d.pin(d.ana))
	a := d.at(token)
	other, err := models.OpenStore(t.Context(), d.store.Path(), d.clock.Now)
	require.NoError(t, err)
	defer func() { assert.NoError(t, other.Close()) }()
	require.NoError(t, other.EndSession(t.Context(), a.Session.ID))
	d.store.AgeAdmitted()
	assert.Nil(t, d.at(token).Session)
}

// What is shown and does not count is not kept: it would fill the memory.
func TestNonsenseIsNotKept(t *testing.T) {
	d := newDoor(t)
	d.at("nonsense") // on the tablet, which counts
	for _, shown := range []models.Credentials{{Session: "a"}, {Tablet: "b"}, {Bearer: "c"}, {Session: "d", Tablet: "e"}} {
		_, err := d.store.Admit(t.Context(), shown, false)
		require.NoError(t, err)
	}
	assert.Equal(t, 1, d.store.Admitted())
}
