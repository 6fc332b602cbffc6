package planner

import (
	"slices"
	"sort"
	"time"

	"faceside/models"
	"faceside/models/phrase"
)

// Suggestion is a step that somebody might take, and why.
type Suggestion struct {
	StepID  models.ID
	Why     phrase.Phrase // a sentence, true of the plan; where it waits and is pinned, two
	Start   time.Time     // when it is expected to start, now at the earliest; zero where the plan does not have it
	Planned bool
	Ready   bool      // it can be taken in hand now: its links, station, clamps and air allow it
	turn    time.Time // Start, or later where the plan gives it to somebody else
}

// othersLater is by how much a step that the plan gives to somebody else counts
// as later, when it is weighed what a person takes next.
const othersLater = time.Hour

// Next returns the steps of open commissions that are not begun or put down:
// first those that can be taken now, the one that this person should take now
// at the head; then those that wait; each group in the plan's order. Steps in
// hand, at rest, in trouble or done are not among them.
// O(steps log steps + links).
func Next(snap *models.Snapshot, person models.ID, at time.Time) []Suggestion {
	b := newBench(snap, at)
	b.person = person
	var can, wait []*models.Step
	why := map[models.ID]phrase.Phrase{}
	for _, st := range planOrder(b) {
		if !b.offered(st) {
			continue
		}
		if reason := b.obstacle(st); !reason.Empty() {
			why[st.ID] = reason.Then(b.pinWords(st))
			wait = append(wait, st)
			continue
		}
		can = append(can, st)
	}
	sort.SliceStable(can, func(x, y int) bool { return b.sooner(can[x], can[y]) })
	reasons := newReasons(b, can)
	out := make([]Suggestion, 0, len(can)+len(wait))
	for _, st := range can {
		out = append(out, b.suggest(st, reasons.why(st), true))
	}
	for _, st := range wait {
		out = append(out, b.suggest(st, why[st.ID], false))
	}
	return out
}

func (b *bench) suggest(st *models.Step, why phrase.Phrase, ready bool) Suggestion {
	s := Suggestion{StepID: st.ID, Why: why, Ready: ready}
	if p := Expected(b.snap, st.ID); p != nil {
		s.Planned, s.Start, s.turn = true, p.Start, b.turn(p, p.Start)
	}
	return s
}

// Soonest returns so many suggestions at most, those whose turn comes first, in order
// of their times; what the plan does not have comes last. They are not those that can
// be taken now: what waits for the step before it comes as soon as that is done.
func Soonest(all []Suggestion, most int) []Suggestion {
	picked := slices.Clone(all)
	inOrderOf := func(at func(*Suggestion) time.Time) {
		slices.SortStableFunc(picked, func(a, b Suggestion) int {
			switch {
			case a.Planned && b.Planned:
				return at(&a).Compare(at(&b))
			case a.Planned:
				return -1
			case b.Planned:
				return 1
			}
			return 0
		})
	}
	inOrderOf(func(s *Suggestion) time.Time { return s.turn })
	picked = picked[:min(most, len(picked))]
	inOrderOf(func(s *Suggestion) time.Time { return s.Start })
	return picked
}

// bench is what somebody at a bench sees at a moment.
type bench struct {
	snap   *models.Snapshot
	cal    *calendar
	at     time.Time
	day    string // of at, by the shop's clock
	person models.ID
	waits  map[models.ID]phrase.Phrase  // see waits
	clamps map[models.ID]int            // held now, by class
	back   map[models.ID]time.Time      // when the next held clamps of a class come back by the clock
	taken  map[models.ID][]*models.Step // in hand, by station
	inHand map[models.ID]*models.Step   // by person
	wet    map[models.ID]*models.Step   // by zone
	dusty  map[models.ID]*models.Step
}

func newBench(snap *models.Snapshot, at time.Time) *bench {
	cal := localCalendar(snap)
	b := &bench{snap: snap, cal: cal, at: at, day: cal.Date(at), waits: waits(snap, at), clamps: map[models.ID]int{}, back: map[models.ID]time.Time{},
		taken: map[models.ID][]*models.Step{}, inHand: map[models.ID]*models.Step{}, wet: map[models.ID]*models.Step{}, dusty: map[models.ID]*models.Step{}}
	for i := range snap.Steps {
		st := &snap.Steps[i]
		switch standOf(st, at) {
		case held:
			b.taken[st.StationID] = append(b.taken[st.StationID], st)
			if st.PersonID != nil {
				b.inHand[*st.PersonID] = st
			}
			for _, h := range st.Helpers {
				b.inHand[h.PersonID] = st
			}
			b.hold(st)
		case atRest:
			b.hold(st)
		}
	}
	return b
}

// hold notes what a step in hand or at rest keeps from others.
func (b *bench) hold(st *models.Step) {
	for _, c := range b.snap.ClampsOf(st.ID) {
		b.clamps[c.ClampClassID] += c.Count
		if back := b.back[c.ClampClassID]; st.State == models.AtRest && (back.IsZero() || st.RestEndsAt.Before(back)) {
			b.back[c.ClampClassID] = *st.RestEndsAt
		}
	}
	if s := b.snap.Station(st.StationID); s != nil && s.ZoneID != nil {
		if st.Wet {
			b.wet[*s.ZoneID] = st
		} else if st.Dusty && st.State == models.InHand {
			b.dusty[*s.ZoneID] = st
		}
	}
}

// offered tells whether a step is one that somebody might take at all.
func (b *bench) offered(st *models.Step) bool {
	c := b.snap.Commission(st.CommissionID)
	return c != nil && c.State == models.Open && (st.State == models.Todo || st.State == models.PutDown)
}

func (b *bench) linksAllow(st *models.Step) bool {
	_, waits := b.waits[st.ID]
	return !waits
}

// obstacle says why a step cannot be taken in hand now, "" if it can.
func (b *bench) obstacle(st *models.Step) phrase.Phrase {
	if why, waits := b.waits[st.ID]; waits {
		return why
	}
	if why := b.stationTaken(st); !why.Empty() {
		return why
	}
	if why := b.peopleBusy(st); !why.Empty() {
		return why
	}
	if why := b.clampsHeld(st); !why.Empty() {
		return why
	}
	return b.airTaken(st)
}

// peopleBusy says who is missing for a step that takes several people. Whoever
// asks is counted as free.
func (b *bench) peopleBusy(st *models.Step) phrase.Phrase {
	here, free := 0, 0
	var busy *models.Step
	for i := range b.snap.People {
		p := &b.snap.People[i]
		if p.ID != b.person && !b.anyThere([]models.ID{p.ID}) {
			continue
		}
		here++
		if inHand := b.inHand[p.ID]; inHand != nil && p.ID != b.person {
			busy = inHand
		} else {
			free++
		}
	}
	switch {
	case st.Hands <= max(1, free):
		return phrase.Phrase{}
	case busy != nil:
		return phrase.Of("It takes %s, and %s has %s in hand.", peopleWords(st.Hands), b.name(busy.PersonID), quoted(busy))
	}
	return phrase.Of("It takes %s, and %s here today.", peopleWords(st.Hands), isAre(here))
}

func (b *bench) stationTaken(st *models.Step) phrase.Phrase {
	s := b.snap.Station(st.StationID)
	switch {
	case s == nil:
		return phrase.Phrase{}
	case s.Down:
		return phrase.Of("%s is out of order.", stationWords(s))
	case b.snap.ClosedOn(s.ID, b.day):
		return phrase.Of("%s is closed today.", stationWords(s))
	case len(b.taken[s.ID]) >= max(1, s.Places):
		other := b.taken[s.ID][0]
		if who := b.name(other.PersonID); who != "" {
			return phrase.Of("%s is taken: %s has %s there.", stationWords(s), who, quoted(other))
		}
		return phrase.Of("%s is taken: %s is in hand there.", stationWords(s), quoted(other))
	}
	return phrase.Phrase{}
}

func (b *bench) clampsHeld(st *models.Step) phrase.Phrase {
	for _, c := range b.snap.ClampsOf(st.ID) {
		class := b.snap.Clamp(c.ClampClassID)
		if class == nil {
			continue
		}
		there := class.Count + b.snap.Borrowed(class.ID, b.day)
		if b.clamps[class.ID] == 0 && there >= class.Count || b.clamps[class.ID]+c.Count <= there {
			continue
		}
		free := max(0, there-b.clamps[class.ID])
		if back := b.back[class.ID]; !back.IsZero() {
			return phrase.Of("It takes %d of %s and %d are free until %s.", c.Count, class.Name, free, clockWords(back, b.at, b.cal.Zone))
		}
		return phrase.Of("It takes %d of %s and %d are free.", c.Count, class.Name, free)
	}
	return phrase.Phrase{}
}

func (b *bench) airTaken(st *models.Step) phrase.Phrase {
	s := b.snap.Station(st.StationID)
	if s == nil || s.ZoneID == nil {
		return phrase.Phrase{}
	}
	wet, dusty := b.wet[*s.ZoneID], b.dusty[*s.ZoneID]
	switch {
	case st.Wet && dusty != nil:
		return phrase.Of("%s raises dust in the same air.", quoted(dusty))
	case st.Dusty && !st.Wet && wet != nil && wet.RestEndsAt != nil:
		return phrase.Of("It raises dust, and %s is wet in the same air until %s.", quoted(wet), clockWords(*wet.RestEndsAt, b.at, b.cal.Zone))
	case st.Dusty && !st.Wet && wet != nil:
		return phrase.Of("It raises dust, and %s is wet in the same air.", quoted(wet))
	}
	return phrase.Phrase{}
}

func (b *bench) name(person *models.ID) string {
	if person == nil {
		return ""
	}
	if p := b.snap.Person(*person); p != nil {
		return p.Name
	}
	return ""
}

// before tells whether one step comes before another in the plan; those that
// are not in it come last, by promise and place in their pattern.
func (b *bench) before(x, y *models.Step) bool {
	p, q := b.snap.Planned(x.ID), b.snap.Planned(y.ID)
	switch {
	case p != nil && q != nil:
		return p.SetupStart.Before(q.SetupStart)
	case p != nil || q != nil:
		return p != nil
	}
	return b.promisedBefore(x, y)
}

func (b *bench) promisedBefore(x, y *models.Step) bool {
	c, d := b.snap.Commission(x.CommissionID), b.snap.Commission(y.CommissionID)
	if c.PromisedOn != d.PromisedOn {
		return c.PromisedOn < d.PromisedOn
	}
	return x.Position < y.Position
}

// sooner is before as this person sees it: what the plan gives to somebody else
// who is there counts as an hour later.
func (b *bench) sooner(x, y *models.Step) bool {
	p, q := b.snap.Planned(x.ID), b.snap.Planned(y.ID)
	if p == nil || q == nil {
		return b.before(x, y)
	}
	s, t := b.dueAt(p), b.dueAt(q)
	if s.Equal(t) {
		return p.SetupStart.Before(q.SetupStart)
	}
	return s.Before(t)
}

// dueAt is when the plan wants a step begun, seen from this person; not before now.
func (b *bench) dueAt(p *models.PlanStep) time.Time { return b.turn(p, later(p.SetupStart, b.at)) }

// turn is a time as this person sees it: later where the plan gives the step to
// somebody else who is there.
func (b *bench) turn(p *models.PlanStep, t time.Time) time.Time {
	if len(p.PersonIDs) > 0 && !has(p.PersonIDs, b.person) && b.anyThere(p.PersonIDs) {
		return t.Add(othersLater)
	}
	return t
}

// anyThere tells whether any of these people works today.
func (b *bench) anyThere(people []models.ID) bool {
	away := b.cal.Away(b.day)
	for _, id := range people {
		if p := b.snap.Person(id); p != nil && p.Active && !away[id] {
			return true
		}
	}
	return false
}
