package planner

import (
	"context"
	"fmt"
	"testing"
	"time"

	"faceside/models"
	"faceside/models/testrig"

	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// steer keeps changes.
func (r *rig) steer(changes ...models.Steer) error {
	_, err := r.store.Steer(context.Background(), uuid.NewString(), changes, 0, r.snap().Shop.Revision)
	return err
}

// steeredShop is a rig with two commissions whose glue-ups have the rest that the glue says.
func steeredShop(t *testing.T) (*rig, []*models.Commission) {
	r := newRig(t, "2026-12-01 08:00")
	var all []*models.Commission
	for i, name := range []string{"One", "Two"} {
		n := testrig.NewCommission(t, r.store, name, fmt.Sprintf("2026-12-%02d", 8+i))
		for k := range n.Pieces[0].Steps {
			if st := &n.Pieces[0].Steps[k]; st.Rest == "in clamps" {
				st.Unattended = 50
			}
		}
		c, err := r.store.TakeCommission(context.Background(), n)
		require.NoError(t, err)
		all = append(all, c)
	}
	return r, all
}

// keepsSteering looks at a plan without the engine: whether it keeps what was steered
// by, but for what its notes say.
func keepsSteering(t require.TestingT, snap *models.Snapshot, plan *models.Plan) {
	zone, err := snap.Shop.Location()
	require.NoError(t, err)
	cal := snap.Calendar(zone)
	days := func(from, until time.Time) (all []string) {
		for i := 0; !cal.Noon(from, i).After(until.Add(24 * time.Hour)); i++ {
			if d := cal.Date(cal.Noon(from, i)); d <= cal.Date(until.Add(-time.Second)) {
				all = append(all, d)
			}
		}
		return all
	}
	for _, ps := range plan.Steps {
		st := snap.Step(ps.StepID)
		for _, day := range days(ps.SetupStart, ps.AttendedEnd) {
			assert.False(t, snap.ClosedOn(st.StationID, day), "%s on %s", st.Name, day)
		}
		w := snap.Wants(st.ID)
		if w == nil {
			continue
		}
		if w.Day != "" && len(plan.Note) == 0 {
			assert.Equal(t, w.Day, cal.Date(ps.Start), st.Name)
		}
		if w.PersonID != nil && len(plan.Note) == 0 {
			assert.Contains(t, ps.PersonIDs, *w.PersonID, st.Name)
		}
	}
	for _, at := range plan.Steps { // the most is reached where something begins
		day := cal.Date(at.Start)
		inUse, hands := map[models.ID]int{}, 0
		for _, ps := range plan.Steps {
			if !ps.Start.After(at.Start) && ps.End.After(at.Start) {
				for _, c := range snap.ClampsOf(ps.StepID) {
					inUse[c.ClampClassID] += c.Count
				}
			}
			if !ps.Start.After(at.Start) && ps.AttendedEnd.After(at.Start) {
				hands += snap.Step(ps.StepID).Hands
			}
		}
		for _, c := range snap.Clamps {
			assert.LessOrEqual(t, inUse[c.ID], c.Count+snap.Borrowed(c.ID, day), "%s at %s", c.Name, at.Start)
		}
		there := 0
		for _, p := range snap.People {
			if p.Active && !cal.Away(day)[p.ID] {
				there++
			}
		}
		assert.LessOrEqual(t, hands, there, "hands at %s", at.Start)
		open := false
		for _, o := range cal.Day(at.Start, 0) {
			open = open || !at.Start.Before(o.From) && at.Start.Before(o.To)
		}
		assert.True(t, open, "%s begins while the shop is closed", snap.Step(at.StepID).Name)
	}
}

// Every plan keeps what it is steered by, and the engine's rules: whatever is kept.
func TestPlansKeepWhatTheyAreSteeredBy(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		r, all := steeredShop(t)
		snap := r.snap()
		day := func(label string) string { return fmt.Sprintf("2026-12-%02d", rapid.IntRange(1, 11).Draw(rt, label)) }
		one := func(c int) models.ID {
			return snap.StepsOf(all[c].ID)[rapid.IntRange(0, 9).Draw(rt, "step")].ID
		}
		for range rapid.IntRange(1, 6).Draw(rt, "changes") {
			c := models.Steer{Kind: rapid.SampledFrom(models.SteerKinds()).Draw(rt, "kind"), StepID: one(rapid.IntRange(0, 1).Draw(rt, "of")),
				CommissionID: all[rapid.IntRange(0, 1).Draw(rt, "commission")].ID, PersonID: snap.People[rapid.IntRange(0, 1).Draw(rt, "who")].ID,
				StationID: snap.Stations[rapid.IntRange(0, len(snap.Stations)-1).Draw(rt, "station")].ID, ClampClassID: snap.Clamps[rapid.IntRange(0, 2).Draw(rt, "class")].ID,
				MaterialID: models.ID(rapid.IntRange(1, 4).Draw(rt, "material")), Date: day("date"), Until: day("until"), Timed: rapid.Bool().Draw(rt, "timed"),
				Opens: 60 * rapid.IntRange(7, 19).Draw(rt, "opens"), Count: rapid.IntRange(1, 8).Draw(rt, "count"), Weight: rapid.IntRange(1, 9).Draw(rt, "weight"), Name: "Cleo"}
			c.Closes = c.Opens + 120
			_ = r.steer(c) // what the store refuses changes nothing
		}
		now := r.snap()
		q, answer := checkPosed(rt, now)
		plan := q.records(answer, now.At)
		keepsSteering(rt, now, plan)
		if len(plan.Steps) > 0 {
			assert.NotNil(rt, newCourse(planned(now, plan)), "the screens time it anew")
		}
	})
}

// What a what-if says is what comes of keeping it.
func TestWhatIfIsWhatComesOfIt(t *testing.T) {
	ctx := context.Background()
	for name, change := range map[string]func(*rig, []*models.Commission) models.Steer{
		"hold": func(_ *rig, all []*models.Commission) models.Steer {
			return models.Steer{Kind: models.SteerHold, CommissionID: all[0].ID}
		},
		"day off": func(*rig, []*models.Commission) models.Steer {
			return models.Steer{Kind: models.SteerDayOff, Date: "2026-12-02"}
		},
		"hours": func(*rig, []*models.Commission) models.Steer {
			return models.Steer{Kind: models.SteerHours, Date: "2026-12-01", Opens: 17 * 60, Closes: 20 * 60}
		},
		"hands": func(*rig, []*models.Commission) models.Steer {
			return models.Steer{Kind: models.SteerHands, Name: "Cleo", Date: "2026-12-01", Until: "2026-12-02"}
		},
		"station": func(r *rig, _ []*models.Commission) models.Steer {
			return models.Steer{Kind: models.SteerStation, StationID: testrig.Station(r.T, r.snap(), "planer").ID, Date: "2026-12-01", Until: "2026-12-02"}
		},
		"lend": func(r *rig, _ []*models.Commission) models.Steer {
			return models.Steer{Kind: models.SteerLend, ClampClassID: r.snap().Clamps[0].ID, Count: 8, Date: "2026-12-01", Until: "2026-12-02"}
		},
		"pin to a day": func(r *rig, all []*models.Commission) models.Steer {
			return models.Steer{Kind: models.SteerPin, StepID: r.step(all[0], "sand").ID, Date: "2026-12-04"}
		},
		"give": func(r *rig, all []*models.Commission) models.Steer {
			return models.Steer{Kind: models.SteerGive, StepID: r.step(all[0], "joint").ID, PersonID: testrig.Person(r.T, r.snap(), "Ben")}
		},
	} {
		t.Run(name, func(t *testing.T) {
			r, all := steeredShop(t)
			r.plan()
			before := r.snap()
			c := change(r, all)
			w, err := r.service.WhatIf(ctx, []models.Steer{c}, IfAtOnce)
			require.NoError(t, err)
			assert.Equal(t, before.Shop.Revision, r.snap().Shop.Revision, "nothing was kept")
			require.Len(t, w.Says, 1)
			require.NoError(t, r.steer(c))
			r.plan()
			after := r.snap()
			now, then := Forecasts(before), Forecasts(after)
			require.Len(t, w.Promises, 2)
			moved := false
			for _, p := range w.Promises {
				assert.Equal(t, forecastOf(now, p.CommissionID).Ends, p.Now.Ends, p.Name)
				assert.Equal(t, forecastOf(then, p.CommissionID).Ends, p.Then.Ends, p.Name)
				moved = moved || p.Moves()
			}
			if name != "give" {
				assert.True(t, moved || w.Then.HandsMin > w.Now.HandsMin, "a change that nobody feels tests nothing")
			}
			assert.Equal(t, handsMinutes(after, w.Until), w.Then.HandsMin)
			assert.Equal(t, handsMinutes(before, w.Until), w.Now.HandsMin)
		})
	}
}

// Hours count for all who are there, and a borrowed pair of hands only on its days.
func TestHandsAreCounted(t *testing.T) {
	r, _ := steeredShop(t)
	day := 8*60 + 30
	until := local(t, "2026-12-03 17:00")
	assert.Equal(t, 2*3*day, handsMinutes(r.snap(), until))
	require.NoError(t, r.steer(models.Steer{Kind: models.SteerHands, Name: "Cleo", Date: "2026-12-02"},
		models.Steer{Kind: models.SteerHours, Date: "2026-12-02", Opens: 17 * 60, Closes: 18 * 60},
		models.Steer{Kind: models.SteerDayOff, Date: "2026-12-03", PersonID: testrig.Person(t, r.snap(), "Ana")}))
	assert.Equal(t, 2*day+3*(day+60)+day, handsMinutes(r.snap(), until))
}

// A greatest lag, a pin or a station that leaves no place for what a step is pinned to
// lets the pin give, and the plan says so.
func TestDayPinThatCannotBeKeptIsLoosened(t *testing.T) {
	r, all := steeredShop(t)
	sand := r.step(all[0], "sand")
	require.NoError(t, r.steer(models.Steer{Kind: models.SteerPin, StepID: sand.ID, Date: "2026-12-02"}))
	p := r.plan()
	assert.Empty(t, p.Note)
	start, _, _ := r.placed(p, all[0], "sand")
	assert.Equal(t, "2026-12-02", start[:10])
	_, err := r.store.SaveDayOff(context.Background(), models.DayOff{Date: "2026-12-02"})
	require.NoError(t, err)
	p = r.plan()
	start, _, _ = r.placed(p, all[0], "sand")
	require.Len(t, p.Note, 1)
	assert.Equal(t, "One: “Sand the shelf” was pinned to Wednesday 2 December, but the shop is not open for it then: it is planned for Thursday 8:00.", p.Note[0].String())
	assert.Equal(t, "2026-12-03", start[:10])
}

// While one person works hours of their own, the plan has no more hands than that, and
// nobody else's.
func TestOwnHoursAreThatPersonsAlone(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	r.lone("Box", "2026-12-04", job("saw", 240), job("plane", 240), job("shape", 240), job("sand", 240))
	before := r.plan()
	ana := testrig.Person(t, r.snap(), "Ana")
	hands := handsMinutes(r.snap(), local(t, "2026-12-05 00:00"))
	for _, day := range []string{"2026-12-01", "2026-12-02", "2026-12-03"} {
		require.NoError(t, r.steer(models.Steer{Kind: models.SteerHours, PersonID: ana, Date: day, Opens: 17 * 60, Closes: 21 * 60}))
	}
	plan, snap := r.plan(), r.snap()
	assert.Equal(t, hands+3*4*60, handsMinutes(snap, local(t, "2026-12-05 00:00")))
	worked, ends := 0, func(p *models.Plan) (last time.Time) {
		for _, ps := range p.Steps {
			last = later(last, ps.End)
		}
		return last
	}
	for _, ps := range plan.Steps {
		for _, o := range localCalendar(snap).Own(snap.At, 0) {
			assert.Equal(t, map[models.ID]bool{ana: true}, o.People)
			if ps.SetupStart.Before(o.To) && o.From.Before(ps.AttendedEnd) {
				worked++
				assert.Contains(t, ps.PersonIDs, ana, "%s at %s", snap.Step(ps.StepID).Name, ps.Start)
			}
		}
	}
	assert.Positive(t, worked, "the evening is used")
	assert.True(t, ends(plan).Before(ends(before)))
}
