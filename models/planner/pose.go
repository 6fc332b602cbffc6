package planner

import (
	"fmt"
	"sort"
	"time"

	"faceside/models"
	"faceside/models/phrase"
	"faceside/models/sequence"
)

// weights of the objective. Each comes before the next, as a maker would have
// it: a minute that a commission of weight 1 is late costs as much as 50 setup
// minutes; a setup minute as much as 20 minutes of one commission standing in
// the shop; a step that starts at another time than people have seen, as much
// as 15 such minutes. They are not further apart than that, so that a plan
// which is one minute late may still save an hour of setups.
var weights = sequence.Weights{Tardiness: 1000, Setup: 20, Flow: 1, Moved: 15}

// tolerance is how many minutes a start may shift without being called moved.
const tolerance = 30

// posed is a problem and what is needed to read its answer.
type posed struct {
	*sequence.Problem
	snap   *models.Snapshot
	at     time.Time // now
	cal    *calendar
	line   *timeline
	crew   []*models.Person // who works here
	hands  int              // how many, at least 1
	items  []*item
	byStep map[models.ID]*item
	lags   []*greatest
	notes  []phrase.Phrase

	askedFor map[models.ID]bool // those to whom a step is given
	written  []byte             // the problem as it is kept, once it has a plan
}

// item is a step in the problem.
type item struct {
	*models.Step
	stand   stand
	left    int  // attended minutes to do
	start   int  // minute where it is fixed, for held, atRest and pinned
	follows bool // in hand in a run, after another step of it
	release int  // not before this minute
	hands   int  // people it takes, as far as there are any
	cut     bool // may be split by a break
	station bool // takes a place at its station
	setup   bool // needs its setup there
	zone    bool // is wet or dusty where that matters
	clamps  []models.StepClamp
	planned time.Time     // its start in the plan before; zero: not in it
	pin     time.Time     // where a maker pinned it; zero: nowhere
	pinned  bool          // and that is where it starts
	loose   phrase.Phrase // why it does not, "" while it does

	day     string         // the day to which a maker pinned it, "" for none
	onDay   bool           // and that is when it is begun
	dayLink int            // the link that sees to it
	given   *models.Person // whose it is; nil: whoever is free
	own     []models.ID    // of a step in hand: whose hands it has that others are given to
}

// fixed tells whether the step is where it is.
func (i *item) fixed() bool { return i.stand == held || i.stand == atRest }

// errNeverOpen says why nothing can be planned.
var errNeverOpen = &models.Error{Code: models.Invalid, Field: "hours", Sentence: phrase.Of("The shop has no opening hours: set them on the Shop screen.")}

// pose writes the problem of a snapshot: all open commissions, and of held ones
// what is in hand or at rest, because it keeps hands, clamps and air from others.
// O(n log n) in steps, links and openings.
func pose(snap *models.Snapshot) (*posed, error) {
	cal, err := newCalendar(snap)
	if err != nil {
		return nil, err
	}
	q := &posed{Problem: &sequence.Problem{Version: sequence.Version, Objective: weights}, snap: snap, at: snap.At,
		cal: cal, byStep: map[models.ID]*item{}, askedFor: map[models.ID]bool{}}
	origin := snap.At.UTC().Truncate(time.Minute)
	if _, ok := cal.next(origin); !ok {
		return nil, errNeverOpen
	}
	q.findCrew()
	q.gather()
	q.line = cal.timeline(origin, q.minutesToPins()+q.minutesOfWork(), q.daysOfRest())
	q.Calendars = map[string][]sequence.Window{shopName: q.line.windows}
	q.Resources = []sequence.Resource{{ID: handsName, Capacity: q.hands, Calendar: shopName}}
	q.settle()
	q.settleGiven()
	q.addStations()
	q.addClamps()
	q.addZones()
	if err := q.addJobs(); err != nil {
		return nil, err
	}
	q.addLinks() // before the tasks: it finds their releases
	q.settleDays()
	q.settlePins()
	q.addTasks()
	q.addAway()
	q.addPrevious()
	last := q.line.windows[len(q.line.windows)-1][1]
	q.Horizon = last + q.longestRest() + 1
	q.addClosures()
	q.addLoans()
	q.addStays()
	return q, nil
}

// note adds a sentence to what had to be relaxed.
func (q *posed) note(format string, args ...any) {
	q.notes = append(q.notes, phrase.Of(format, args...))
}

// noteOn is note for a sentence about one commission: several may have steps of
// one name.
func (q *posed) noteOn(st *models.Step, format string, args ...any) {
	q.notes = append(q.notes, q.on(st, phrase.Of(format, args...)))
}

// on puts the commission in front of a sentence about one of its steps.
func (q *posed) on(st *models.Step, sentence phrase.Phrase) phrase.Phrase {
	if c := q.snap.Commission(st.CommissionID); c != nil {
		return phrase.Of("%s: %s", c.Name, sentence)
	}
	return sentence
}

// named is a step with its commission, for sentences about several.
func (q *posed) named(st *models.Step) phrase.Phrase {
	if c := q.snap.Commission(st.CommissionID); c != nil {
		return phrase.Of("%s (%s)", quoted(st), c.Name)
	}
	return quoted(st)
}

func (q *posed) findCrew() {
	for i := range q.snap.People {
		if p := &q.snap.People[i]; p.Active && !q.cal.Gone(p.ID, q.cal.Date(q.at)) {
			q.crew = append(q.crew, &q.snap.People[i])
		}
	}
	q.hands = max(1, len(q.crew))
	if len(q.crew) == 0 {
		q.note("Nobody works in the shop: the plan is for one pair of hands. Add people on the Shop screen.")
	}
}

// gather collects the steps to place, in the order of the plan before, the new
// ones behind. What waits for something that is missing is left out.
func (q *posed) gather() {
	heldUp := HeldUp(q.snap)
	q.noteHeldUp(heldUp)
	for i := range q.snap.Steps {
		st := &q.snap.Steps[i]
		it := &item{Step: st, stand: standOf(st, q.at), left: q.left(st), hands: max(1, st.Hands),
			cut: st.Interruptible, station: q.snap.Station(st.StationID) != nil, setup: st.SetupID != nil, zone: true,
			clamps: append([]models.StepClamp(nil), q.snap.ClampsOf(st.ID)...)}
		c := q.snap.Commission(st.CommissionID)
		open := c != nil && c.State == models.Open
		if _, waits := heldUp[st.ID]; it.stand == over || !it.fixed() && (!open || waits) {
			continue
		}
		if p := q.snap.Planned(st.ID); p != nil && !it.fixed() {
			it.planned = p.Start
		}
		q.items = append(q.items, it)
		q.byStep[st.ID] = it
	}
	sort.SliceStable(q.items, func(a, b int) bool {
		x, y := q.items[a], q.items[b]
		if x.fixed() != y.fixed() {
			return x.fixed()
		}
		if x.planned.IsZero() != y.planned.IsZero() {
			return y.planned.IsZero()
		}
		return x.planned.Before(y.planned)
	})
}

// minutesOfWork is at least the open time that all work would take if one
// thing were done after the other, setups included. What must not be cut may
// waste as much of an opening as it takes, and a whole day where it is long.
func (q *posed) minutesOfWork() int {
	sum := 0
	for _, it := range q.items {
		need := it.left
		if s := q.snap.Station(it.StationID); s != nil && it.setup {
			need += max(s.SetupMinutes, s.ResetMinutes)
		}
		switch {
		case !it.cut && need > 60:
			need = max(need, q.cal.FullDay())
		case !it.cut:
			need *= 2
		}
		sum += need
	}
	return sum
}

// daysOfRest is how many working days to look ahead beyond the work: for the
// rests and lags if one ran after the other, for people's days off, and four
// weeks for what the breaks waste.
func (q *posed) daysOfRest() int {
	minutes := 0
	for _, it := range q.items {
		minutes += it.Unattended
		for _, l := range q.snap.Before(it.ID) {
			minutes += max(0, l.MinLag)
		}
	}
	return minutes/(24*60) + q.cal.DaysAway() + 28
}

func (q *posed) longestRest() int {
	longest := 0
	for _, it := range q.items {
		longest = max(longest, it.rest(q))
	}
	return longest
}

// rest returns the unattended minutes still to run.
func (i *item) rest(q *posed) int {
	if i.stand == atRest {
		return max(1, q.line.minuteUp(*i.RestEndsAt))
	}
	return i.Unattended
}

// addJobs makes one job of each open commission with work left, due at closing
// time of the promised day.
func (q *posed) addJobs() error {
	for i := range q.snap.Commissions {
		c := &q.snap.Commissions[i]
		if c.State != models.Open || !q.hasWork(c.ID) {
			continue
		}
		by, err := q.cal.promised(c.PromisedOn)
		if err != nil {
			return fmt.Errorf("commission %q: %w", c.Name, err)
		}
		due := q.line.minute(by)
		q.Jobs = append(q.Jobs, sequence.Job{ID: commissionName(c.ID), Due: &due, Weight: max(1, c.Weight), Calendar: shopName})
	}
	return nil
}

func (q *posed) hasWork(commission models.ID) bool {
	for _, st := range q.snap.StepsOf(commission) {
		if q.byStep[st.ID] != nil {
			return true
		}
	}
	return false
}

// addTasks writes every item as a task.
func (q *posed) addTasks() {
	for _, it := range q.items {
		t := sequence.Task{ID: stepName(it.ID), Attended: it.left, Interruptible: it.cut, Unattended: it.rest(q), Release: it.release}
		if c := q.snap.Commission(it.CommissionID); c.State == models.Open {
			t.Job = commissionName(c.ID)
		}
		if it.fixed() || it.pinned {
			start := it.start
			t.Start, t.Release = &start, 0
		}
		q.addUses(&t, it)
		q.Tasks = append(q.Tasks, t)
	}
}

func (q *posed) addUses(t *sequence.Task, it *item) {
	if it.hands > 0 && it.left > 0 {
		t.Uses = append(t.Uses, sequence.Use{Resource: handsName, Amount: it.hands, During: sequence.Attended})
	}
	if it.given != nil && it.left > 0 {
		t.Uses = append(t.Uses, useOf(it.given.ID))
	}
	for _, p := range it.own {
		t.Uses = append(t.Uses, useOf(p))
	}
	switch {
	case it.left == 0 || !it.station:
	case it.setup:
		t.Setup = &sequence.SetupNeed{Resource: stationName(it.StationID), State: setupName(*it.SetupID)}
	default:
		t.Uses = append(t.Uses, sequence.Use{Resource: stationName(it.StationID), Amount: 1, During: sequence.Attended})
	}
	for _, c := range it.clamps {
		t.Uses = append(t.Uses, sequence.Use{Resource: clampName(c.ClampClassID), Amount: c.Count, During: sequence.All})
	}
	if kind, zone, ok := q.airOf(it); ok {
		t.Zone = &sequence.ZoneUse{Name: zoneName(zone), Kind: kind}
	}
}

// airOf says what a step does to the air of its station's zone.
func (q *posed) airOf(it *item) (sequence.ZoneKind, models.ID, bool) {
	s := q.snap.Station(it.StationID)
	if !it.zone || s == nil || s.ZoneID == nil {
		return "", 0, false
	}
	switch {
	case it.Wet:
		return sequence.Wet, *s.ZoneID, true
	case it.Dusty && it.left > 0:
		return sequence.Dusty, *s.ZoneID, true
	}
	return "", 0, false
}

// addZones declares the zones that stations stand in.
func (q *posed) addZones() {
	for _, z := range q.snap.Zones {
		q.Zones = append(q.Zones, zoneName(z.ID))
	}
}

// addClamps declares the clamp classes.
func (q *posed) addClamps() {
	for _, c := range q.snap.Clamps {
		q.Resources = append(q.Resources, sequence.Resource{ID: clampName(c.ID), Capacity: c.Count + q.borrowed(c.ID)})
	}
}

// addPrevious tells where people have seen the steps that are still to be placed.
func (q *posed) addPrevious() {
	q.Previous = &sequence.Previous{Tolerance: tolerance}
	for _, it := range q.items {
		if it.pinned {
			q.Previous.Starts = append(q.Previous.Starts, sequence.Start{ID: stepName(it.ID), Start: it.start})
		} else if !it.planned.IsZero() {
			q.Previous.Starts = append(q.Previous.Starts, sequence.Start{ID: stepName(it.ID), Start: max(0, q.line.minute(it.planned))})
		}
	}
}
