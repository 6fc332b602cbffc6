package planner

import (
	"context"
	"testing"
	"time"

	"faceside/models"
	"faceside/models/sequence"
	"faceside/models/testrig"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// walker takes a shop through taps, days off and mishaps, in memory: it sets
// the columns as the journal would.
type walker struct {
	*rapid.T
	snap *models.Snapshot
}

func newWalker(t *rapid.T, from *models.Snapshot) *walker {
	snap := from.Copied()
	snap.Steps = append([]models.Step(nil), from.Steps...)
	snap.People = append([]models.Person(nil), from.People...)
	snap.Stations = append([]models.Station(nil), from.Stations...)
	snap.Commissions = append([]models.Commission(nil), from.Commissions...)
	return &walker{t, snap}
}

// walk does so many random things.
func (w *walker) walk() {
	acts := []func(){w.wait, w.wait, w.start, w.start, w.start, w.finish, w.finish, w.finish, w.putDown, w.out, w.trouble, w.mishap, w.pin, w.pin}
	for range rapid.IntRange(0, 40).Draw(w.T, "things") {
		acts[rapid.IntRange(0, len(acts)-1).Draw(w.T, "what")]()
	}
}

func (w *walker) wait() {
	minutes := rapid.OneOf(rapid.IntRange(1, 90), rapid.IntRange(60, 3000)).Draw(w.T, "wait")
	w.snap.At = w.snap.At.Add(time.Duration(minutes)*time.Minute + 17*time.Second)
}

// pick draws a step that fits, nil if none does.
func (w *walker) pick(fits func(*models.Step) bool) *models.Step {
	var all []*models.Step
	for i := range w.snap.Steps {
		if st := &w.snap.Steps[i]; fits(st) {
			all = append(all, st)
		}
	}
	if len(all) == 0 {
		return nil
	}
	return all[rapid.IntRange(0, len(all)-1).Draw(w.T, "step")]
}

func (w *walker) in(states ...models.StepState) func(*models.Step) bool {
	return func(st *models.Step) bool {
		for _, s := range states {
			if st.State == s {
				return true
			}
		}
		return false
	}
}

func (w *walker) start() {
	who := w.snap.People[rapid.IntRange(0, len(w.snap.People)-1).Draw(w.T, "who")].ID
	busy := w.pick(func(st *models.Step) bool { return st.State == models.InHand && *st.PersonID == who })
	odd := rapid.IntRange(0, 9).Draw(w.T, "odd") == 0 // begun though something before it is not done
	st := w.pick(func(st *models.Step) bool {
		return (st.State == models.Todo || st.State == models.PutDown) && (odd || len(w.snap.WaitsFor(st.ID, w.snap.At)) == 0)
	})
	if busy != nil || st == nil {
		return
	}
	at := w.snap.At
	st.State, st.PersonID, st.TakenAt = models.InHand, &who, &at
	if st.StartedAt == nil {
		st.StartedAt = &at
	}
	if st.SetupID != nil {
		for i := range w.snap.Stations {
			if w.snap.Stations[i].ID == st.StationID {
				w.snap.Stations[i].SetupID = st.SetupID
			}
		}
	}
}

// lay takes a step out of somebody's hands.
func (w *walker) lay(st *models.Step, state models.StepState) {
	if st.TakenAt != nil {
		st.Worked += int(w.snap.At.Sub(*st.TakenAt) / time.Second)
	}
	st.State, st.TakenAt = state, nil
}

func (w *walker) putDown() {
	if st := w.pick(w.in(models.InHand)); st != nil {
		w.lay(st, models.PutDown)
	}
}

func (w *walker) finish() {
	st := w.pick(w.in(models.InHand))
	if st == nil {
		return
	}
	at := w.snap.At
	w.lay(st, models.Done)
	st.FinishedAt = &at
	if st.Unattended == 0 {
		st.DoneAt = &at
		return
	}
	ends := at.Add(time.Duration(st.Unattended) * time.Minute)
	st.State, st.RestEndsAt = models.AtRest, &ends
}

func (w *walker) out() {
	if st := w.pick(w.in(models.AtRest)); st != nil {
		at := w.snap.At
		st.State, st.DoneAt = models.Done, &at
	}
}

func (w *walker) trouble() {
	if st := w.pick(w.in(models.Todo, models.InHand, models.PutDown)); st != nil {
		w.lay(st, models.InTrouble)
		st.Trouble = "a knot"
	}
}

// pin pins a step anywhere in the next days: also where the store would refuse
// it, for what comes later makes such pins of good ones.
func (w *walker) pin() {
	st := w.pick(w.in(models.Todo))
	if st == nil {
		return
	}
	minutes := rapid.OneOf(rapid.IntRange(0, 600), rapid.IntRange(0, 12*24*60)).Draw(w.T, "pin")
	at := w.snap.At.Truncate(time.Hour).Add(time.Duration(minutes) * time.Minute)
	st.PinnedAt = &at
	if minutes == 0 {
		st.PinnedAt = nil
	}
}

// mishap changes the shop.
func (w *walker) mishap() {
	day := w.snap.At.AddDate(0, 0, rapid.IntRange(0, 3).Draw(w.T, "days")).Format(time.DateOnly)
	who := &w.snap.People[rapid.IntRange(0, len(w.snap.People)-1).Draw(w.T, "whom")]
	switch rapid.IntRange(0, 5).Draw(w.T, "mishap") {
	case 0:
		w.snap.DaysOff = append(w.snap.DaysOff[:len(w.snap.DaysOff):len(w.snap.DaysOff)], models.DayOff{Date: day})
	case 1, 2:
		id := who.ID
		w.snap.DaysOff = append(w.snap.DaysOff[:len(w.snap.DaysOff):len(w.snap.DaysOff)], models.DayOff{Date: day, PersonID: &id})
	case 3:
		who.Active = !who.Active
	case 4:
		s := &w.snap.Stations[rapid.IntRange(0, len(w.snap.Stations)-1).Draw(w.T, "station")]
		s.Down = !s.Down
	case 5:
		c := &w.snap.Commissions[rapid.IntRange(0, len(w.snap.Commissions)-1).Draw(w.T, "commission")]
		if c.State == models.Open {
			c.State = models.Held
		} else {
			c.State = models.Open
		}
	}
}

// walked takes a shop through random things and plans it anew.
func walked(t *rapid.T, from *models.Snapshot) (*walker, *posed, *sequence.Plan) {
	w := newWalker(t, from)
	w.walk()
	o := options{}
	o.Work, o.Seed = 20, 1
	q, answer, err := solve(context.Background(), w.snap, o)
	require.NoError(t, err)
	return w, q, answer
}

// threeShelves is a shop with three commissions, and a plan for them.
func threeShelves(t *testing.T) *models.Snapshot {
	r := newRig(t, "2026-12-01 08:00")
	r.take("Shelf A", "2026-12-04")
	r.take("Shelf B", "2026-12-03")
	r.take("Shelf C", "2026-12-11")
	r.plan()
	return r.snap()
}

func TestEveryStateOfAShopHasAPlanThatKeepsTheRules(t *testing.T) {
	from := threeShelves(t)
	rapid.Check(t, func(rt *rapid.T) {
		w, q, answer := walked(rt, from)
		require.NoError(rt, q.Validate())
		require.NoError(rt, sequence.Check(q.Problem, answer))
		plan := q.records(answer, w.snap.At)
		checkComplete(rt, w.snap, plan)
		checkLinks(rt, w.snap, plan)
		checkPeople(rt, q, plan)
		checkPins(rt, w.snap, plan)
		checkReading(rt, planned(w.snap, plan))
	})
}

// checkComplete wants every step of open commissions that is not done, once.
func checkComplete(t require.TestingT, snap *models.Snapshot, plan *models.Plan) {
	in := map[models.ID]int{}
	for _, p := range plan.Steps {
		in[p.StepID]++
		assert.False(t, p.Start.Before(p.SetupStart) || p.AttendedEnd.Before(p.Start) || p.End.Before(p.AttendedEnd))
	}
	for i := range snap.Steps {
		st := &snap.Steps[i]
		over := st.State == models.Done || st.State == models.AtRest && !st.RestEndsAt.After(snap.At)
		switch open := snap.Commission(st.CommissionID).State == models.Open; {
		case over:
			assert.Zero(t, in[st.ID])
		case open:
			assert.Equal(t, 1, in[st.ID])
		}
	}
}

// checkLinks wants every least lag kept by what is not begun yet.
func checkLinks(t require.TestingT, snap *models.Snapshot, plan *models.Plan) {
	s := planned(snap, plan)
	for _, l := range snap.Links {
		before, after, a := snap.Step(l.BeforeID), snap.Step(l.AfterID), s.Planned(l.AfterID)
		if a == nil || after.State == models.InHand || after.State == models.AtRest {
			continue
		}
		point := before.DoneAt
		b := s.Planned(l.BeforeID)
		switch {
		case b == nil && (point == nil || before.RestEndsAt != nil && before.RestEndsAt.Before(*point)):
			point = before.RestEndsAt
		case b != nil:
			point = &b.End
		}
		if l.From == models.FromAttended && b != nil {
			point = &b.AttendedEnd
		} else if l.From == models.FromAttended {
			point = before.FinishedAt
		}
		assert.False(t, a.Start.Before(point.Add(time.Duration(l.MinLag)*time.Minute)), "%s before %s", before.Key, after.Key)
	}
}

// checkPins wants every pinned step where it is pinned, or a sentence about it.
func checkPins(t require.TestingT, snap *models.Snapshot, plan *models.Plan) {
	s := planned(snap, plan)
	for i := range snap.Steps {
		st := &snap.Steps[i]
		at, pinned := st.Pinned()
		if p := s.Planned(st.ID); pinned && p != nil && !p.Start.Equal(at) {
			assert.Contains(t, plan.Note.String(), quoted(st).String()+" was pinned to ")
		}
	}
}

// checkPeople wants nobody in two places at once, nor at work on a day off but
// for what they have in hand.
func checkPeople(t require.TestingT, q *posed, plan *models.Plan) {
	minute := func(at time.Time) int { return max(0, q.line.minute(at)) }
	for from := 0; from < len(q.line.windows); from++ {
		w := q.line.windows[from]
		for i := range plan.Steps {
			p := &plan.Steps[i]
			st := q.byStep[p.StepID]
			a, b := max(w[0], minute(p.Start)), min(w[1], minute(p.AttendedEnd))
			if a >= b || len(p.PersonIDs) != st.Hands || st.stand == held {
				continue // handed over in between, or the shop has nobody
			}
			for _, who := range p.PersonIDs {
				assert.False(t, q.cal.Away(q.cal.Date(q.line.time(a)))[who])
				for j := range plan.Steps {
					o := &plan.Steps[j]
					c, d := max(w[0], minute(o.Start)), min(w[1], minute(o.AttendedEnd))
					if i != j && has(o.PersonIDs, who) && len(o.PersonIDs) == q.byStep[o.StepID].Hands {
						assert.False(t, a < d && c < b, "person %d at steps %d %v %v-%v and %d %v %v-%v", who, p.StepID, st.stand, p.Start, p.AttendedEnd, o.StepID, q.byStep[o.StepID].stand, o.Start, o.AttendedEnd)
					}
				}
			}
		}
	}
}

// checkReading has everything that is read off a plan hold together.
func checkReading(t require.TestingT, snap *models.Snapshot) {
	forecast := map[models.ID]Forecast{}
	for _, f := range Forecasts(snap) {
		forecast[f.CommissionID] = f
		assert.False(t, f.Ends.Before(snap.At))
		assert.False(t, f.Late && f.SlackMin > 0)
		assert.False(t, !f.Late && f.SlackMin < 0)
	}
	for _, p := range snap.People {
		seen, waiting := map[models.ID]bool{}, false
		for _, s := range Next(snap, p.ID, snap.At) {
			assert.NotEmpty(t, s.Why.String())
			assert.False(t, seen[s.StepID])
			assert.False(t, waiting && s.Ready, "ready ones come first")
			seen[s.StepID], waiting = true, waiting || !s.Ready
			standing := snap.Standing(s.StepID, snap.At)
			assert.True(t, !s.Ready || standing == models.StandsReady || standing == models.StandsPutDown)
		}
		checkSoonest(t, snap, p.ID)
	}
	for _, g := range GatesToTheLast(snap, snap.At) {
		p := snap.Planned(g.StepID)
		assert.Contains(t, forecast, g.Promise)
		assert.NotEmpty(t, g.Holds)
		assert.NotEmpty(t, g.Why.String())
		assert.False(t, !g.Latest.IsZero() && g.Latest.Before(snap.At))
		assert.False(t, !g.CloseBy.IsZero() && g.CloseBy.Before(p.AttendedEnd))
		for _, l := range snap.After(g.StepID) {
			if after := snap.Planned(l.AfterID); after != nil && !g.CloseBy.IsZero() && l.From == models.FromEnd && toPlace(snap.Step(l.AfterID), snap.At) {
				open := g.CloseBy.Add(time.Duration(snap.Step(g.StepID).Unattended+l.MinLag) * time.Minute)
				assert.False(t, after.Start.Before(open), "closed in time, it lets what follows start as planned")
			}
		}
	}
	for _, p := range snap.Plan.Steps {
		if toPlace(snap.Step(p.StepID), snap.At) {
			require.Equal(t, &p, Expected(snap, p.StepID), "a plan of now is expected to hold as it is")
		}
	}
	checkGates(t, snap)
	checkQueues(t, snap)
	checkFloats(t, snap, func(most int) int { return most / 2 })
}

// checkSoonest wants what comes next in order of its times, none of them past, and
// nothing left out that comes before it.
func checkSoonest(t require.TestingT, snap *models.Snapshot, person models.ID) {
	all := Next(snap, person, snap.At)
	for _, most := range []int{1, 5, len(all)} {
		some := Soonest(all, most)
		assert.Len(t, some, min(most, len(all)))
		listed, last := map[models.ID]bool{}, time.Time{}
		for i, s := range some {
			listed[s.StepID], last = true, later(last, s.turn)
			assert.Equal(t, s.Planned, snap.Planned(s.StepID) != nil)
			assert.False(t, s.Planned && s.Start.Before(snap.At.Truncate(time.Minute)))
			if i > 0 {
				assert.False(t, s.Planned && (!some[i-1].Planned || s.Start.Before(some[i-1].Start)), "times run backwards")
			}
		}
		for _, s := range all {
			assert.False(t, s.Planned && !listed[s.StepID] && s.turn.Before(last), "its turn comes before that of one that is listed")
		}
	}
}

// checkQueues wants the times at each station in order, and none of them past.
func checkQueues(t require.TestingT, snap *models.Snapshot) {
	for _, q := range Queues(snap, snap.At) {
		last := snap.At.Truncate(time.Minute)
		for _, run := range q.Runs {
			assert.False(t, !run.Start.IsZero() && run.Start.Before(last), "times run backwards")
			last = later(last, run.Start)
		}
	}
}

// The same, through the real journal.
func TestPlansFollowTheJournal(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	c := r.take("Shelf", "2026-12-08")
	for range 60 {
		snap := r.snap()
		if open := Next(snap, testrig.Person(t, snap, "Ana"), r.clock.Now()); len(open) == 0 {
			break
		} else if !open[0].Ready {
			r.clock.Step(2 * time.Hour)
			r.plan()
			continue
		} else {
			st := snap.Step(open[0].StepID)
			r.tap(models.TapStart, "Ana", c, st.Key)
			r.plan()
			r.clock.Step(time.Duration(st.Attended) * time.Minute)
			r.tap(models.TapFinish, "Ana", c, st.Key)
			p := r.plan()
			checkComplete(t, r.snap(), p)
			checkLinks(t, r.snap(), p)
		}
	}
	assert.Empty(t, Next(r.snap(), 0, r.clock.Now()), "all was done in the order that was suggested")
}
