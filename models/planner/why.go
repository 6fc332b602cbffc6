package planner

import (
	"cmp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"faceside/models"
	"faceside/models/phrase"
	"faceside/models/sequence"
)

// Why says why a step is planned for when it is, and what hangs on it.
type Why struct {
	Planned phrase.Phrase   // when
	Held    []phrase.Phrase // what keeps it from beginning a minute sooner, or that nothing does; none of a step in hand or at rest
	Nor     phrase.Phrase   // where closed hours do, that it could not begin before them either,
	Kept    []phrase.Phrase // and for what
	Rooms   []Room          // those first that have least
	Stuck   bool            // if it waits an hour, a pin or a greatest lag has to give
}

// Room is how far a step may at least slip before a commission misses its promise, or is
// later still than planned, and what an hour does.
type Room struct {
	CommissionID models.ID
	Name         string
	PromisedBy   time.Time
	FloatMin     int   // working minutes
	Late         bool  // it is late already, as planned
	Hour         *Slip // nil: it ends when it did
}

// WhyThen reads off the plan, timed anew from now, what set the start of a step, and from
// schedules with the step put off what that does to each promise. Nil where the plan does
// not have the step.
func WhyThen(snap *models.Snapshot, step models.ID) *Why {
	c := newCourse(snap)
	l := c.legOf(step)
	if l == nil {
		return nil
	}
	start, end := c.line.time(l.PlanTask.Start), c.line.time(l.AttendedEnd)
	w := &Why{Planned: phrase.Of("Planned %[1]s to %[2]s.", c.q.clock(l.PlanTask.Start), clockWords(end, start, c.q.cal.Zone))}
	w.Rooms, w.Stuck = c.rooms(l)
	if c.fixed(l) {
		return w // it is where it is
	}
	holds, known := c.holds(l)
	switch {
	case !known:
		return w
	case len(holds) == 0:
		w.Held = []phrase.Phrase{phrase.Of("Nothing keeps it from beginning now.")}
	case len(holds[0].Reasons) == 0:
		w.Held = []phrase.Phrase{phrase.Of("Nothing keeps it from beginning sooner, from %s on; the plan only had it then.", c.q.clock(holds[0].Earlier))}
	default:
		w.Held = c.reasons(l, holds[0])
	}
	if len(holds) > 1 && !within(holds[0], holds[1]) {
		w.Nor = phrase.Of("Nor could it begin before the shop closed, %s at the latest:", c.q.clock(holds[1].Earlier))
		w.Kept = c.reasons(l, holds[1])
	}
	return w
}

// within tells whether all that a second hold has to say was said with the first.
func within(first, second sequence.Hold) bool {
	for _, r := range second.Reasons {
		if !slices.ContainsFunc(first.Reasons, func(f sequence.Reason) bool {
			return f.Kind == r.Kind && f.Link == r.Link && f.Resource == r.Resource && f.Zone == r.Zone && f.ForSetup == r.ForSetup
		}) {
			return false
		}
	}
	return true
}

// reasons are those of a hold in the shop's words. What a step holds that must come
// before this one anyway is not told too.
func (c *course) reasons(l *leg, h sequence.Hold) []phrase.Phrase {
	var said []phrase.Phrase
	before := map[string]bool{}
	for _, r := range h.Reasons {
		if r.Kind == sequence.ByLink {
			before[r.Tasks[0]] = true
		}
	}
	for _, r := range h.Reasons {
		if r.Kind == sequence.ByLink || !slices.ContainsFunc(r.Tasks, func(t string) bool { return before[t] }) {
			said = append(said, c.reason(l, h.Earlier, r))
		}
	}
	return said
}

// holds is what the engine finds to hold a leg. It is not known of a course that breaks
// a rule.
func (c *course) holds(l *leg) (holds []sequence.Hold, known bool) {
	whys, err := sequence.Explain(c.q.Problem, c.answer(), l.Task.ID)
	if err != nil || len(whys) == 0 {
		return nil, false
	}
	return whys[0].Holds, true
}

// answer is the course as a plan of its problem.
func (c *course) answer() *sequence.Plan {
	plan := *c.timed
	plan.Status, plan.Bound = sequence.Feasible, 0
	plan.Objective = c.q.Objective.Of(sequence.Measure(c.q.Problem, &plan))
	return &plan
}

// promisedRooms is how late the engine lets each task start, by job, once for all who ask.
func (c *course) promisedRooms() []sequence.Room {
	once, _ := c.kept.LoadOrStore(roomsKey{}, sync.OnceValue(func() []sequence.Room {
		rooms, err := sequence.Floats(c.q.Problem, c.answer())
		if err != nil { // a course that breaks a rule
			return nil
		}
		return rooms
	}))
	return once.(func() []sequence.Room)()
}

type roomsKey struct{}

// putOffs are the working minutes by which a step is put off to see which promises hold.
var putOffs = []int{15, 30, hour, 2 * hour, 4 * hour, 8 * hour, 16 * hour, 24 * hour}

// rooms is the room that a leg leaves to each promise: what moves no promise at all, or
// what its own order leaves it, or, where the others take their turn first, what schedules
// with the leg put off show. It also tells whether an hour has no place.
func (c *course) rooms(l *leg) (all []Room, stuck bool) {
	least, _ := c.float(l, c.latest())
	all = c.orderedRooms(l, least)
	missed := map[models.ID]bool{}
	for _, minutes := range putOffs {
		delayed := c.delay(stepFor(l), minutes, least)
		stuck = stuck || minutes == hour && delayed.Stuck
		for i := range all {
			room, slip := &all[i], delayed.of(all[i].CommissionID)
			if minutes == hour {
				room.Hour = slip
			}
			if delayed.Stuck || slip != nil && slip.To.After(later(slip.PromisedBy, slip.From)) {
				missed[room.CommissionID] = true
			}
			if !missed[room.CommissionID] {
				room.FloatMin = max(room.FloatMin, minutes)
			}
		}
	}
	slices.SortStableFunc(all, func(a, b Room) int { return cmp.Compare(a.FloatMin, b.FloatMin) })
	return all, stuck
}

// orderedRooms is the room that a leg leaves to each promise, at least so much, while
// everything keeps its order.
func (c *course) orderedRooms(l *leg, least int) (all []Room) {
	latest := map[string]int{}
	for _, r := range c.promisedRooms() {
		if r.Task == l.Task.ID {
			for _, f := range r.Floats {
				latest[f.Job] = f.Latest
			}
		}
	}
	for _, f := range Forecasts(c.q.snap) {
		job := commissionName(f.CommissionID)
		if by, has := latest[job]; has {
			ordered := c.line.worked(by) - c.line.worked(l.PlanTask.Start)
			all = append(all, Room{CommissionID: f.CommissionID, Name: f.Name, PromisedBy: f.PromisedBy, FloatMin: max(least, ordered), Late: c.late(job)})
		}
	}
	return all
}

// of is the slip of a commission, nil where it ends when it did.
func (d *Delayed) of(commission models.ID) *Slip {
	for i := range d.Slips {
		if d.Slips[i].CommissionID == commission {
			return &d.Slips[i]
		}
	}
	return nil
}

// stepFor is the step of a leg that stands for one.
func stepFor(l *leg) models.ID {
	id, _ := stepOf(l.Task.ID)
	return id
}

// reason is one of the engine's reasons against a start in the shop's words.
func (c *course) reason(l *leg, start int, r sequence.Reason) phrase.Phrase {
	when := c.q.clock(r.Earliest)
	switch r.Kind {
	case sequence.ByStart:
		return phrase.Of("It is pinned to %s.", when)
	case sequence.ByRelease:
		return c.release(l, when)
	case sequence.ByLink:
		return c.link(l, c.q.Links[r.Link], r.Tasks)
	case sequence.ByResource:
		return c.resource(l, r, when)
	case sequence.ByStation:
		return phrase.Of("%[1]s is not free before %[2]s: %[3]s.", c.q.resourceWords(r.Resource), when, c.holders(l, r.Tasks))
	case sequence.BySetup:
		if len(r.Tasks) == 0 {
			return phrase.Of("Setting %[1]s for it takes %[2]s.", c.q.resourceWords(r.Resource), minuteWords(l.setup))
		}
		return phrase.Of("Setting %[1]s for it takes %[2]s, after %[3]s.", c.q.resourceWords(r.Resource), minuteWords(l.setup), c.holders(l, r.Tasks))
	case sequence.ByZone:
		if l.Zone.Kind == sequence.Wet {
			return phrase.Of("There is dust in the air of %[1]s before %[2]s: %[3]s.", c.q.zoneNamed(r.Zone), when, c.holders(l, r.Tasks))
		}
		return phrase.Of("The air of %[1]s must be kept free of dust before %[2]s: %[3]s.", c.q.zoneNamed(r.Zone), when, c.holders(l, r.Tasks))
	}
	if opens := c.line.opens(start); opens > start {
		return phrase.Of("The shop opens %s.", c.q.clock(opens))
	}
	return phrase.Of("Begun sooner it would be cut by a break or by closing time.")
}

// release says why a step cannot begin before a time: a step before it that is over or at
// rest, or the day that it is pinned to, else what the plan's notes say of it.
func (c *course) release(l *leg, when phrase.Phrase) phrase.Phrase {
	it := c.q.byStep[stepFor(l)]
	for _, b := range c.q.snap.Before(it.ID) {
		before := c.q.snap.Step(b.BeforeID)
		if before == nil {
			continue
		}
		point, known := pointOf(b, before, c.q.at)
		if over := point.Add(time.Duration(b.MinLag) * time.Minute); known && c.line.minuteUp(over) == it.release {
			if before.State == models.AtRest && b.MinLag == 0 {
				return phrase.Of("%[1]s is %[2]s until %[3]s.", quoted(before), restKeys[before.Rest].Of(), when)
			}
			return phrase.Of("It may follow %[1]s from %[2]s on.", quoted(before), when)
		}
	}
	if it.day != "" {
		return phrase.Of("It is pinned to %s.", c.q.whenPinned(it))
	}
	return phrase.Of("It cannot begin before %s.", when)
}

// link says how a link holds a leg; other is the leg at its other end.
func (c *course) link(l *leg, link sequence.Link, other []string) phrase.Phrase {
	o := c.byTask[other[0]]
	name := c.holders(l, other)
	if link.Before == l.Task.ID {
		return phrase.Of("%[1]s must follow it in time and begins %[2]s.", name, c.q.clock(o.PlanTask.Start))
	}
	point := c.q.clock(o.point(link.From))
	switch {
	case link.Min != 0:
		return phrase.Of("%[2]s must pass after %[1]s, from %[3]s on.", name, minuteWords(link.Min), point)
	case link.From == sequence.FromStart:
		return phrase.Of("It is not to begin before %[1]s, which begins %[2]s.", name, point)
	case link.From != sequence.FromAttended && o.Unattended > 0:
		st := c.q.snap.Step(stepFor(o))
		return phrase.Of("%[1]s is %[2]s until %[3]s.", name, restKeys[st.Rest].Of(), point)
	}
	return phrase.Of("%[1]s comes before it and is done %[2]s.", name, point)
}

// resource says who has what a leg, or the setup for it, wants.
func (c *course) resource(l *leg, r sequence.Reason, when phrase.Phrase) phrase.Phrase {
	who := c.holders(l, r.Tasks)
	switch kind, _ := named(r.Resource); {
	case r.ForSetup:
		return phrase.Of("No hands are free before %[1]s to set %[2]s: %[3]s.", when, c.q.resourceWords(l.Setup.Resource), who)
	case kind == "clamps":
		return phrase.Of("Too few of %[1]s are free before %[2]s: %[3]s.", c.q.resourceWords(r.Resource), when, who)
	case kind == "station":
		return phrase.Of("%[1]s is not free before %[2]s: %[3]s.", c.q.resourceWords(r.Resource), when, who)
	case kind == "person":
		return phrase.Of("%[1]s, to whom it is given, is not free before %[2]s: %[3]s.", c.q.resourceWords(r.Resource), when, who)
	case c.q.byStep[stepFor(l)].hands > 1:
		return phrase.Of("Too few hands are free before %[1]s: %[2]s.", when, who)
	}
	return phrase.Of("No hands are free before %[1]s: %[2]s.", when, who)
}

// holdersNamed is how many of those that hold something are named.
const holdersNamed = 3

// holders names the tasks that hold something: steps, and what else keeps hands,
// stations and clamps from work.
func (c *course) holders(l *leg, tasks []string) phrase.Phrase {
	var names []phrase.Phrase
	for _, id := range tasks {
		names = append(names, c.q.taskWords(id, l.Job))
	}
	if len(names) > holdersNamed {
		return phrase.Of("%[1]s and %[2]d more", phrase.Commas(names[:holdersNamed]), len(names)-holdersNamed)
	}
	return phrase.List(names)
}

// taskWords names a task of the problem; its commission is named where it is not the
// job that is spoken of.
func (q *posed) taskWords(id, job string) phrase.Phrase {
	if step, ok := stepOf(id); ok {
		it := q.byStep[step]
		if commissionName(it.CommissionID) == job {
			return quoted(it.Step)
		}
		return q.named(it.Step)
	}
	switch kind, of := named(id); kind {
	case "away", "gone":
		if p := q.snap.Person(of); p != nil {
			return phrase.Of("%s (not here)", p.Name)
		}
	case "closed":
		return phrase.Of("it is closed ## station")
	case "loan":
		return phrase.Of("a loan of clamps")
	}
	return phrase.Of("what is so already")
}

// named takes a name of the problem apart: what kind of record it is of, and which.
func named(name string) (kind string, id models.ID) {
	kind, rest, _ := strings.Cut(name, ":")
	digits, _, _ := strings.Cut(rest, ":")
	id, _ = strconv.ParseInt(digits, 10, 64) // names are made in this package
	return kind, id
}

func (q *posed) zoneNamed(name string) string {
	_, id := named(name)
	for _, z := range q.snap.Zones {
		if z.ID == id {
			return z.Name
		}
	}
	return ""
}
