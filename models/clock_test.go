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
)

func TestTheJournalsTimeDoesNotRunBackwards(t *testing.T) {
	tapped := testrig.Monday().Now()
	for _, tt := range []struct {
		name string
		said time.Time     // by the machine's clock, at the next tap
		want time.Time     // of that tap
		told string        // on the screen, before it
		then time.Duration // by which the clock goes on, and a further tap comes
		gets time.Time
	}{
		{"goes on", tapped.Add(time.Minute), tapped.Add(time.Minute), "", time.Minute, tapped.Add(2 * time.Minute)},
		{"is put back a little", tapped.Add(-2 * time.Minute), tapped, "", 3 * time.Minute, tapped.Add(time.Minute)},
		{"wakes with 1970", time.Unix(30, 0).UTC(), tapped, "The clock of the server says Thursday 1 January 1970, 0:00", 7 * time.Minute, tapped.Add(7 * time.Minute)},
		{"wakes with the hour it was last on", tapped.Add(-time.Hour), tapped, "which is before the newest tap (Monday 2 March 2026, 7:30)", 7 * time.Minute, tapped.Add(7 * time.Minute)},
		{"is set right a while later", time.Unix(30, 0).UTC(), tapped, "Set it.", tapped.Add(3 * time.Hour).Sub(time.Unix(30, 0)), tapped.Add(3 * time.Hour)},
		{"stood years ahead when it was tapped", tapped.AddDate(0, -1, 0), tapped.AddDate(0, -1, 0), "the tap came while that clock stood wrong", time.Minute, tapped.AddDate(0, -1, 0).Add(time.Minute)},
	} {
		t.Run("the clock "+tt.name, func(t *testing.T) {
			b := newBench(t)
			b.tap(models.TapStart, "joint", b.ana)
			b.clock.Set(tt.said)
			told := b.store.ClockTold(time.UTC).String()
			if tt.told == "" {
				assert.Empty(t, told)
				require.NoError(t, b.store.ClockRight())
			} else {
				assert.Contains(t, told, tt.told)
				require.Error(t, b.store.ClockRight())
			}
			put := b.tap(models.TapPutDown, "joint", b.ana)
			assert.Equal(t, tt.want, put.Tap.At)
			b.clock.Step(tt.then)
			again := b.tap(models.TapStart, "joint", b.ana)
			assert.Equal(t, tt.gets, again.Tap.At)
			assert.Greater(t, again.Tap.Seq, put.Tap.Seq, "the order is the server's")
			assert.Equal(t, models.InHand, b.step("joint").State)
		})
	}
}

// What is tapped while the clock stands wrong is kept with what the tablet said, and the
// program that starts then knows the newest row of its journal.
func TestTheClockIsHeldAgainstTheJournalAfterARestart(t *testing.T) {
	ctx := context.Background()
	path := filepath.Join(t.TempDir(), "shop.db")
	clock := testrig.Monday()
	store, err := models.OpenStore(ctx, path, clock.Now)
	require.NoError(t, err)
	ana, err := store.SavePerson(ctx, models.Person{Name: "Ana", Active: true})
	require.NoError(t, err)
	station, err := store.SaveStation(ctx, models.Station{Key: "planer", Kind: "planer", Name: "Planer", Places: 1})
	require.NoError(t, err)
	tap := func(id string, kind models.TapKind, said time.Time) models.Tap {
		r, err := store.Tap(ctx, models.TapRequest{ID: id, Kind: kind, StationID: station.ID, PersonID: ana.ID, SaidAt: &said})
		require.NoError(t, err)
		return r.Tap
	}
	first := tap("one", models.TapDown, clock.Now())
	require.NoError(t, store.Close())

	clock.Set(time.Unix(5, 0))
	store, err = models.OpenStore(ctx, path, clock.Now)
	require.NoError(t, err)
	defer func() { require.NoError(t, store.Close()) }()
	said := first.At.Add(9 * time.Hour)
	clock.Step(time.Minute)
	second := tap("two", models.TapUp, said)
	assert.False(t, second.At.Before(first.At))
	assert.Equal(t, said, *second.SaidAt, "as the tablet said")
}

// Tablets whose clock is off: the order is that in which taps came, their time is the
// server's, what the tablet said is kept.
func TestATabletsClockIsNotReckonedWith(t *testing.T) {
	for name, off := range map[string]time.Duration{
		"an hour ahead": time.Hour, "an hour behind": -time.Hour, "at 1970": -56 * 365 * 24 * time.Hour,
	} {
		t.Run(name, func(t *testing.T) {
			b := newBench(t)
			var last models.Tap
			for i, kind := range []models.TapKind{models.TapStart, models.TapPutDown, models.TapStart, models.TapFinish} {
				now := b.clock.Step(10 * time.Minute)
				said := now.Add(off)
				heard := now.Add(-10 * time.Minute)
				r, err := b.store.Tap(context.Background(), models.TapRequest{ID: b.id(), Kind: kind, StepID: b.step("joint").ID, PersonID: b.ana, Tablet: "t1", SaidAt: &said, ClockOff: &off,
					Queued: &models.Queued{Queue: "q", Number: int64(i + 1), Late: true, Waited: 2 * time.Minute, Heard: &heard}})
				require.NoError(t, err)
				assert.Equal(t, now.Add(-2*time.Minute), r.Tap.At, "less what it waited by the tablet's own count")
				assert.Equal(t, said, *r.Tap.SaidAt)
				assert.True(t, r.Tap.At.After(last.At) && r.Tap.Seq > last.Seq)
				last = r.Tap
			}
			assert.Equal(t, 1200, b.step("joint").Worked, "two spans of ten minutes")
		})
	}
}

// On the days on which the clocks change, and on a leap day, hours that were worked are
// the hours that went by.
func TestTimeIsCountedThroughChangesOfTheClock(t *testing.T) {
	zone, err := time.LoadLocation(testrig.Zone)
	require.NoError(t, err)
	for _, tt := range []struct {
		name string
		from time.Time
		to   time.Time
		want time.Duration
	}{
		{"spring: an hour is left out", time.Date(2026, 3, 29, 1, 30, 0, 0, zone), time.Date(2026, 3, 29, 3, 30, 0, 0, zone), time.Hour},
		{"autumn: an hour comes twice", time.Date(2026, 10, 25, 1, 30, 0, 0, zone), time.Date(2026, 10, 25, 3, 30, 0, 0, zone), 3 * time.Hour},
		{"a leap day", time.Date(2028, 2, 28, 23, 0, 0, 0, zone), time.Date(2028, 3, 1, 1, 0, 0, 0, zone), 26 * time.Hour},
		{"no leap day", time.Date(2026, 2, 28, 23, 0, 0, 0, zone), time.Date(2026, 3, 1, 1, 0, 0, 0, zone), 2 * time.Hour},
	} {
		t.Run(tt.name, func(t *testing.T) {
			b := newBench(t)
			b.clock.Set(tt.from)
			b.tap(models.TapStart, "joint", b.ana)
			b.clock.Set(tt.to)
			b.tap(models.TapFinish, "joint", b.ana)
			st := b.step("joint")
			assert.Equal(t, tt.want, time.Duration(st.Worked)*time.Second)
			assert.True(t, st.FinishedAt.Equal(tt.to))
		})
	}
}
