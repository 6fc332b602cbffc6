package handlers

import (
	"log/slog"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
	"faceside/models/planner"
	"faceside/models/testrig"
	"faceside/views"
)

// busyWeek is a week with four commissions, the first begun.
func busyWeek(t *testing.T) *weekRoom {
	t.Helper()
	r := newRig(t)
	r.take("Hall shelf")
	r.plan()
	ana := r.as("Ana")
	ana.tap(models.TapStart, r.step("joint"))
	r.clock.Step(20 * time.Minute)
	ana.tap(models.TapFinish, r.step("joint"))
	ana.tap(models.TapStart, r.step("plane"))
	r.clock.Step(8 * time.Minute)
	for _, name := range []string{"Wall shelf", "Shelf over the door", "Long shelf"} {
		r.take(name)
	}
	r.plan()
	room, err := roomOf(testrig.Snapshot(t, r.store), r.clock.Now(), speaker(t, "en"))
	require.NoError(t, err)
	return room.weekRoom(weekAsked{from: midnight(room.say.now), span: 5})
}

func TestWeekShiftsFollowThePlan(t *testing.T) {
	w := busyWeek(t)
	until, minutes := map[models.ID]time.Time{}, map[models.ID]int{}
	for _, s := range w.shifts {
		require.NotZero(t, s.person, "%s is nobody's", s.job.step.Name)
		assert.False(t, s.at.From.Before(until[s.person]), "%s overlaps what %d does before", s.job.step.Name, s.person)
		until[s.person] = s.at.To
		if !s.setup {
			minutes[s.job.step.ID] += s.minutes()
		}
		inside := false
		for _, o := range planner.Openings(w.snap, s.at.From) {
			inside = inside || !s.at.From.Before(o.From) && !s.at.To.After(o.To)
		}
		assert.True(t, inside, "%s from %s lies outside the hours", s.job.step.Name, s.at.From)
	}
	for _, st := range w.snap.Steps {
		assert.Equal(t, st.Attended*st.Hands, minutes[st.ID], "minutes of %s", st.Name)
	}
}

// A step handed over in a break lists both people; each gets the part for which
// they are free.
func TestWeekHandsOver(t *testing.T) {
	day := func(h int) time.Time { return time.Date(2026, 3, 2, h, 0, 0, 0, time.UTC) }
	span := func(from, to int) views.Stretch { return views.Stretch{From: day(from), To: day(to)} }
	w := &weekRoom{days: []weekDay{{date: day(0), open: []views.Stretch{span(8, 12), span(13, 17)}}}}
	w.jobs = []job{
		{step: &models.Step{ID: 1, Hands: 1}, people: []models.ID{1, 2}, work: span(10, 15)},
		{step: &models.Step{ID: 2, Hands: 1}, people: []models.ID{1}, work: span(13, 16)},
		{step: &models.Step{ID: 3, Hands: 1}, people: []models.ID{2}, work: span(8, 12)},
		{step: &models.Step{ID: 4, Hands: 2}, people: []models.ID{1, 2}, work: span(16, 17)},
	}
	got := map[models.ID]map[models.ID][]views.Stretch{1: {}, 2: {}, 3: {}, 4: {}}
	for _, s := range w.allShifts() {
		of := got[s.job.step.ID]
		of[s.person] = append(of[s.person], s.at)
	}
	assert.Equal(t, map[models.ID]map[models.ID][]views.Stretch{
		1: {1: {span(10, 12)}, 2: {span(13, 15)}},
		2: {1: {span(13, 16)}},
		3: {2: {span(8, 12)}},
		4: {1: {span(16, 17)}, 2: {span(16, 17)}},
	}, got)
}

// What was done outside all hours is shown where it was; what is planned never is.
func TestWeekWorkOutsideHours(t *testing.T) {
	day := func(h int) time.Time { return time.Date(2026, 3, 2, h, 0, 0, 0, time.UTC) }
	w := &weekRoom{days: []weekDay{{date: day(0), open: []views.Stretch{{From: day(8), To: day(12)}}}}}
	evening := views.Stretch{From: day(19), To: day(20)}
	assert.Equal(t, []views.Stretch{evening}, w.parts(&job{past: true}, evening))
	assert.Empty(t, w.parts(&job{}, evening))
	late := views.Stretch{From: day(23), To: day(26)}
	assert.Equal(t, []views.Stretch{{From: day(23), To: day(24)}}, w.parts(&job{past: true}, late), "cut to the days shown")
}

// The clamps in use, counted again minute by minute from the records.
func TestWeekLoads(t *testing.T) {
	w := busyWeek(t)
	loads := w.loads()
	require.NotEmpty(t, loads)
	for _, class := range w.snap.Clamps {
		var changes []views.LoadChange
		for _, l := range loads {
			if l.Name == class.Name {
				assert.Equal(t, class.Count, l.Of)
				changes = l.Used
			}
		}
		for at := w.shown().From; at.Before(w.shown().To); at = at.Add(time.Minute) {
			want := 0
			for _, p := range w.snap.Plan.Steps {
				if p.Start.After(at) || !p.End.After(at) {
					continue
				}
				for _, c := range w.snap.ClampsOf(p.StepID) {
					if c.ClampClassID == class.ID {
						want += c.Count
					}
				}
			}
			got := 0
			for _, c := range changes {
				if !c.From.After(at) {
					got = c.Used
				}
			}
			require.Equal(t, want, got, "%s at %s", class.Name, at)
			require.LessOrEqual(t, got, class.Count)
		}
	}
}

func TestWeekVerdicts(t *testing.T) {
	r := newRig(t)
	testrig.Commission(t, r.store, "Soon", "2026-03-03")
	testrig.Commission(t, r.store, "Far", "2026-04-30")
	held := testrig.Commission(t, r.store, "Held", "2026-03-20")
	held.State = models.Held
	require.NoError(t, r.store.SaveCommission(t.Context(), *held))
	r.plan()
	p := r.browser().get("/week")
	rows := p.texts(".week-promises .row")
	require.Len(t, rows, 3)
	assert.Regexp(t, `^A Soon promised Tue 3 Mar · complete .* (late|tight|in time) .* (to spare|too late)$`, rows[0])
	assert.Regexp(t, `^C Far promised Thu 30 Apr · complete .* in time \d+ working days to spare$`, rows[2])
	assert.Equal(t, "B Held promised Fri 20 Mar held, not planned", rows[1], "in order of promise")

	day := planner.Forecast{Ends: time.Unix(1, 0)}
	say := words{speaker: speaker(t, "en")}
	w := &weekRoom{room: &room{say: say}, days: []weekDay{{open: []views.Stretch{{From: time.Unix(0, 0), To: time.Unix(8*3600, 0)}}}}}
	for minutes, want := range map[int]string{30: "30\u00a0min", 480: "8\u00a0h", 959: "15\u00a0h\u00a059", 960: "2 working days", 5000: "10 working days"} {
		day.SlackMin, day.Late = minutes, false
		assert.Equal(t, want, w.slack(day))
		day.SlackMin, day.Late = -minutes, true
		assert.Equal(t, want, w.slack(day))
	}
	assert.Equal(t, "late by 8 h", outlook{word: "late", slack: "8 h", forecast: planner.Forecast{Late: true}}.verdict(say))
	assert.Equal(t, "tight: 2 h to spare", outlook{word: "tight", slack: "2 h"}.verdict(say))
	assert.Equal(t, "not planned yet", outlook{word: "not planned yet"}.verdict(say))
}

// A page of the week with four commissions, from the request to the last byte.
func BenchmarkWeekView(b *testing.B) {
	clock := testrig.Monday()
	store := testrig.Shop(b, clock)
	for range 30 {
		testrig.Commission(b, store, "Shelf", "2026-03-20")
	}
	plans := planner.New(store, slog.New(slog.DiscardHandler), planner.Options{Work: 1, Seed: 1})
	if _, err := plans.Plan(b.Context()); err != nil {
		b.Fatal(err)
	}
	snap := testrig.Snapshot(b, store)
	for b.Loop() {
		room, err := roomOf(snap, clock.Now(), speaker(b, "en"))
		if err != nil {
			b.Fatal(err)
		}
		room.weekRoom(weekAsked{from: midnight(room.say.now), span: weekMonth}).view()
	}
}
