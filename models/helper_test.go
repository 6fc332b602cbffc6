package models_test

import (
	"context"
	"path/filepath"
	"testing"
	"time"

	"faceside/models"
	"faceside/models/testrig"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// hands gives a step hands, or frees them.
func (b *bench) hands(kind models.TapKind, key string, helper, who models.ID) (models.TapResult, error) {
	return b.give(models.TapRequest{Kind: kind, StepID: b.step(key).ID, HelperID: helper, PersonID: who})
}

// hours are those that were booked so far.
func (b *bench) hours() ([]models.PersonHours, error) {
	return b.store.Hours(context.Background(), time.Time{}, b.clock.Now().Add(time.Hour))
}

// booked lists the minutes that are booked: a person's own, and helping.
func (b *bench) booked(who models.ID) (own, helped float64) {
	b.t.Helper()
	all, err := b.hours()
	require.NoError(b.t, err)
	for _, h := range all {
		if h.PersonID == who {
			return float64(h.Own) / 60, float64(h.Helped) / 60
		}
	}
	return 0, 0
}

func TestASecondPairOfHandsIsBooked(t *testing.T) {
	b := newBench(t)
	b.tap(models.TapStart, "joint", b.ana)
	b.clock.Step(10 * time.Minute)
	_, err := b.hands(models.TapHelp, "joint", b.ben, b.ana)
	require.NoError(t, err)
	assert.Equal(t, "joint", b.snap().Helps(b.ben).Key)
	_, err = b.hands(models.TapHelp, "joint", b.ben, b.ana)
	refused(t, err, models.Conflict, "Ben helps with “Joint a face and an edge”: tap first that it is managed without.")
	b.clock.Step(6 * time.Minute)
	_, err = b.hands(models.TapManage, "joint", b.ben, b.ana)
	require.NoError(t, err)
	assert.Nil(t, b.snap().Helps(b.ben))
	b.clock.Step(4 * time.Minute)
	lent, err := b.hands(models.TapHelp, "joint", b.ben, b.ben)
	require.NoError(t, err, "who helps may tap it too")
	b.clock.Step(5 * time.Minute)
	done := b.tap(models.TapFinish, "joint", b.ana)
	s := b.step("joint")
	assert.Equal(t, 25*60, s.Worked)
	assert.Equal(t, 11*60, s.Helped)
	assert.Empty(t, s.Helpers, "the step's end frees the hands")
	own, helped := b.booked(b.ben)
	assert.Equal(t, []float64{0, 11}, []float64{own, helped})
	own, helped = b.booked(b.ana)
	assert.Equal(t, []float64{25, 0}, []float64{own, helped})
	assertReplays(t, b.store, b.snap())

	b.tap(models.TapStart, "plane", b.ben)
	_, err = b.undo(done.Tap.Seq, b.ana)
	refused(t, err, models.Conflict, "“Plane the boards” follows “Joint a face and an edge” and was started since: take that back first.")
	_, err = b.undo(b.snap().LastTaps[0].Seq, b.ben)
	require.NoError(t, err)
	_, err = b.undo(done.Tap.Seq, b.ana)
	require.NoError(t, err)
	assert.Equal(t, "joint", b.snap().Helps(b.ben).Key, "he has his hands on it again")
	_, err = b.undo(lent.Tap.Seq, b.ana)
	require.NoError(t, err)
	assert.Equal(t, 6*60, b.step("joint").Helped)
	assertReplays(t, b.store, b.snap())
}

func TestHandsThatCannotBeGiven(t *testing.T) {
	b := newRunBench(t)
	_, err := b.hands(models.TapHelp, "trim", b.ben, b.ana)
	refused(t, err, models.Conflict, "“Trim the panel” is not started: it cannot be helped with.")
	b.tap(models.TapStart, "plane", b.ana)
	for _, c := range []struct {
		kind     models.TapKind
		helper   models.ID
		code     models.Code
		sentence string
	}{
		{models.TapHelp, b.ana, models.Conflict, "Ana has “Plane the boards” in hand, and cannot be the second pair of hands."},
		{models.TapHelp, 0, models.Invalid, "The tap (help) does not say whose hands."},
		{models.TapManage, b.ben, models.Conflict, "Ben does not help with “Plane the boards”."},
	} {
		_, err := b.hands(c.kind, "plane", c.helper, b.ana)
		refused(t, err, c.code, c.sentence)
	}
	_, err = b.hands(models.TapHelp, "plane", b.ben, b.ana)
	require.NoError(t, err)
	_, err = b.try(models.TapStart, "rip", b.ben)
	require.Error(t, err)
	_, err = b.try(models.TapStart, "plane-rails", b.ben)
	refused(t, err, models.Conflict, "Ben helps with “Plane the boards”: tap first that it is managed without.")
	ben := *b.snap().Person(b.ben)
	ben.Active = false
	_, err = b.store.SavePerson(context.Background(), ben)
	refused(t, err, models.Conflict, "Ben helps with “Plane the boards”: tap first that it is managed without.")
}

// Whatever is tapped, nobody has hands in two places, and what is booked for each
// person is the time in which they had them somewhere.
func TestHoursNeverOverlapAndAddUp(t *testing.T) {
	fresh := filepath.Join(t.TempDir(), "fresh")
	require.NoError(t, newRunBench(t).store.Backup(context.Background(), fresh))
	var helped, inRuns int
	rapid.Check(t, func(rt *rapid.T) {
		b := copiedBench(t, fresh)
		b.taps = 1000
		before, err := b.hours()
		require.NoError(rt, err)
		want := map[models.ID]int{}
		for _, h := range before {
			want[h.PersonID] = h.Own + h.Helped
		}
		now := b.snap()
		for range rapid.IntRange(1, 30).Draw(rt, "taps") {
			passed := rapid.IntRange(0, 300).Draw(rt, "minutes")
			b.clock.Step(time.Duration(passed) * time.Minute)
			for _, p := range now.People {
				want[p.ID] += 60 * passed * busyIn(rt, now, p.ID)
			}
			r := drawTap(rt, now, b.clock.Now())
			if r.Kind == models.TapUndo {
				continue // what is taken back is booked otherwise afterwards; see the replay's property
			}
			r.ID = b.id()
			_, err := b.store.Tap(context.Background(), r)
			assertCode(rt, err)
			count(&helped, err == nil && r.Kind == models.TapHelp)
			count(&inRuns, err == nil && r.Kind == models.TapJoinRun)
			now = b.snap()
		}
		for i := range now.Steps { // what is in hand is booked when it leaves the hand
			if st := now.Steps[i]; st.State == models.InHand {
				_, err := b.give(models.TapRequest{Kind: models.TapPutDown, StepID: st.ID, PersonID: *st.PersonID})
				require.NoError(rt, err)
			}
		}
		got := map[models.ID]int{}
		after, err := b.hours()
		require.NoError(rt, err)
		own, further := 0, 0
		for _, h := range after {
			got[h.PersonID] = h.Own + h.Helped
			own, further = own+h.Own, further+h.Helped
		}
		for id, seconds := range want {
			require.Equal(rt, seconds, got[id], "person %d", id)
		}
		for _, st := range b.snap().Steps {
			own, further = own-st.Worked, further-st.Helped
		}
		require.Zero(rt, own, "the people's hours are the steps' hours")
		require.Zero(rt, further)
		require.NoError(rt, b.store.Close())
	})
	assert.NotZero(t, helped)
	assert.NotZero(t, inRuns)
}

// The hours of one period after another are those of the whole journal, replayed at
// once; each period reads the steps alone that were worked on in it.
func TestHoursOfPeriodsAreThoseOfTheJournal(t *testing.T) {
	fresh := filepath.Join(t.TempDir(), "fresh")
	require.NoError(t, newRunBench(t).store.Backup(context.Background(), fresh))
	var several, undone int
	rapid.Check(t, func(rt *rapid.T) {
		b := copiedBench(t, fresh)
		b.taps = 1000
		now := b.snap()
		cuts := []time.Time{{}}
		for range rapid.IntRange(1, 30).Draw(rt, "taps") {
			b.clock.Step(time.Duration(rapid.IntRange(0, 300).Draw(rt, "minutes")) * time.Minute)
			if rapid.IntRange(0, 3).Draw(rt, "cut") == 0 {
				cuts = append(cuts, b.clock.Now())
			}
			r := drawTap(rt, now, b.clock.Now())
			r.ID = b.id()
			_, err := b.store.Tap(context.Background(), r)
			assertCode(rt, err)
			count(&undone, err == nil && r.Kind == models.TapUndo)
			now = b.snap()
		}
		cuts = append(cuts, b.clock.Now().Add(time.Second))
		got, periods := map[models.ID]models.Booked{}, 0
		for i := range cuts[1:] {
			hours, err := b.store.Hours(context.Background(), cuts[i], cuts[i+1])
			require.NoError(rt, err)
			periods += min(1, len(hours))
			for _, h := range hours {
				got[h.PersonID] = models.Booked{Own: got[h.PersonID].Own + h.Own, Helped: got[h.PersonID].Helped + h.Helped}
			}
		}
		taps, err := b.store.Journal(context.Background(), models.JournalFilter{})
		require.NoError(rt, err)
		rests := map[models.ID]int{}
		for _, st := range now.Steps {
			rests[st.ID] = st.Unattended
		}
		all, err := models.Replay(taps, rests)
		require.NoError(rt, err)
		require.Equal(rt, all.Hours, got)
		count(&several, periods > 1)
		require.NoError(rt, b.store.Close())
	})
	assert.NotZero(t, several, "hours fell into several periods")
	assert.NotZero(t, undone)
}

// busyIn counts the places that a person has hands in: one at most.
func busyIn(rt *rapid.T, now *models.Snapshot, person models.ID) int {
	places := map[string]bool{}
	for i := range now.Steps {
		st := &now.Steps[i]
		if st.State == models.InHand && *st.PersonID == person {
			places["run "+st.Run+key(st)] = true
		}
		for _, h := range st.Helpers {
			if h.PersonID == person {
				places["helps with "+st.Name] = true
			}
		}
	}
	require.LessOrEqual(rt, len(places), 1, "%v", places)
	return len(places)
}

// key tells steps apart that are in no run.
func key(st *models.Step) string {
	if st.Run != "" {
		return ""
	}
	return st.Key
}

// Hands that were given while the tablet was not connected are booked from when they
// came free elsewhere, if that was later.
func TestHandsGivenLateAreNotBookedTwice(t *testing.T) {
	b := newRunBench(t)
	b.tap(models.TapStart, "plane", b.ana)
	b.tap(models.TapStart, "plane-rails", b.ben)
	b.clock.Step(20 * time.Minute)
	b.tap(models.TapFinish, "plane-rails", b.ben)
	b.clock.Step(10 * time.Minute)
	r := models.TapRequest{ID: "late", Kind: models.TapHelp, StepID: b.step("plane").ID, HelperID: b.ben, PersonID: b.ana, Tablet: "t",
		Queued: &models.Queued{Queue: "q", Number: 1}}
	b.sent(late(r, 25*time.Minute))
	assert.Equal(t, 20*time.Minute, b.step("plane").Helpers[0].Since.Sub(testrig.Monday().Now()))
	b.tap(models.TapFinish, "plane", b.ana)
	own, helped := b.booked(b.ben)
	assert.Equal(t, []float64{20, 10}, []float64{own, helped})
}
