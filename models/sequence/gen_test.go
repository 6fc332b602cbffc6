package sequence

import (
	"strconv"

	"pgregory.net/rapid"
)

// drawProblem draws a valid problem of one to five tasks with every feature of
// the file contract, small enough for the oracle. About half of them have a plan.
func drawProblem(t *rapid.T) *Problem {
	d := &drawer{t: t, p: &Problem{Version: Version}}
	n := []int{1, 2, 3, 3, 4, 4, 5, 5}[d.eighth("tasks")]
	d.p.Horizon = rapid.IntRange(10, []int{36, 36, 28, 22, 18}[n-1]).Draw(t, "horizon")
	d.calendars()
	d.resources()
	d.jobs()
	for i := range n {
		d.task(i)
	}
	d.links(n)
	d.objective()
	return d.p
}

type drawer struct {
	t        *rapid.T
	p        *Problem
	stations []string // that have setups
}

// eighth draws 0 to 7, all as likely: rapid's ranges favour small numbers.
func (d *drawer) eighth(label string) int {
	value := 0
	for range 3 {
		value *= 2
		if rapid.Bool().Draw(d.t, label) {
			value++
		}
	}
	return value
}

// often is true so many times of eight.
func (d *drawer) often(eight int, label string) bool { return d.eighth(label) >= 8-eight }

func (d *drawer) number(from, to int, label string) int {
	return rapid.IntRange(from, to).Draw(d.t, label)
}

// calendars draws up to two calendars of a few windows, some of which touch, in
// either order.
func (d *drawer) calendars() {
	for c := range d.number(0, 2, "calendars") {
		var windows []Window
		at := d.number(0, 3, "opens")
		for at < d.p.Horizon {
			to := at + d.number(2, 9, "open for")
			windows = append(windows, Window{at, to})
			at = to + d.number(0, 4, "closed for")
		}
		if d.often(2, "in disorder") && len(windows) > 1 {
			windows[0], windows[1] = windows[1], windows[0]
		}
		if d.p.Calendars == nil {
			d.p.Calendars = map[string][]Window{}
		}
		d.p.Calendars["c"+strconv.Itoa(c)] = windows
	}
}

func (d *drawer) calendar() string {
	if len(d.p.Calendars) == 0 || d.often(3, "around the clock") {
		return ""
	}
	return "c" + strconv.Itoa(d.number(0, len(d.p.Calendars)-1, "calendar"))
}

func (d *drawer) resources() {
	d.p.Resources = append(d.p.Resources, Resource{ID: "hands", Capacity: d.number(1, 2, "hands"), Calendar: d.calendar()})
	if d.often(4, "clamps") {
		d.p.Resources = append(d.p.Resources, Resource{ID: "clamps", Capacity: d.number(1, 3, "clamps"), Calendar: d.calendar()})
	}
	for s := range d.number(0, 2, "stations") {
		r := Resource{ID: "station" + strconv.Itoa(s), Capacity: 1}
		if d.often(2, "station hours") {
			r.Calendar = d.calendar()
		}
		if d.often(7, "setups") {
			r.Setups = d.setups()
			d.stations = append(d.stations, r.ID)
		}
		d.p.Resources = append(d.p.Resources, r)
	}
	if d.often(4, "zone") {
		d.p.Zones = []string{"room"}
	}
}

var states = []string{"x", "y", "z"}

func (d *drawer) setups() *Setups {
	s := &Setups{Default: d.number(0, 3, "default")}
	if d.often(5, "initial") {
		s.Initial = new(rapid.SampledFrom(states).Draw(d.t, "initial state"))
	}
	if d.often(4, "setup hands") {
		s.Hands = &Amount{Resource: "hands", Amount: 1}
	}
	for _, from := range states {
		for _, to := range states {
			if d.often(2, "pair") && (from != to || d.often(2, "to itself")) {
				s.Pairs = append(s.Pairs, Pair{from, to, d.number(0, 4, "minutes")})
			}
		}
	}
	return s
}

func (d *drawer) jobs() {
	for j := range d.number(0, 2, "jobs") {
		job := Job{ID: "job" + strconv.Itoa(j), Weight: d.number(0, 3, "weight"), Calendar: d.calendar()}
		if d.often(6, "due") {
			job.Due = new(d.number(-2, d.p.Horizon, "due at"))
		}
		d.p.Jobs = append(d.p.Jobs, job)
	}
}

func (d *drawer) task(i int) {
	task := Task{ID: "t" + strconv.Itoa(i), Attended: d.number(0, 4, "attended"), Interruptible: d.often(4, "interruptible")}
	if len(d.p.Jobs) > 0 && d.often(6, "in a job") {
		task.Job = rapid.SampledFrom(d.p.Jobs).Draw(d.t, "job").ID
	}
	if d.often(3, "cures") {
		task.Unattended = d.number(1, 4, "unattended")
	}
	for range d.number(0, 2, "uses") {
		r := rapid.SampledFrom(d.p.Resources).Draw(d.t, "resource")
		amount := 1
		if r.Capacity > 1 || d.often(1, "too much") {
			amount = d.number(1, r.Capacity+d.number(0, 1, "over"), "amount")
		}
		task.Uses = append(task.Uses, Use{r.ID, max(1, amount), rapid.SampledFrom([]During{Attended, Attended, Unattended, All}).Draw(d.t, "during")})
	}
	if len(d.stations) > 0 && d.often(5, "needs a setup") {
		task.Setup = &SetupNeed{rapid.SampledFrom(d.stations).Draw(d.t, "station"), rapid.SampledFrom(states).Draw(d.t, "state")}
	}
	if len(d.p.Zones) > 0 && d.often(6, "in the zone") {
		task.Zone = &ZoneUse{"room", rapid.SampledFrom([]ZoneKind{Wet, Dusty}).Draw(d.t, "kind")}
	}
	d.times(&task)
	d.p.Tasks = append(d.p.Tasks, task)
}

func (d *drawer) times(task *Task) {
	if d.often(1, "released") {
		task.Release = d.number(-1, d.p.Horizon/3, "release")
	}
	if d.often(1, "has a deadline") {
		task.Deadline = new(d.number(d.p.Horizon/3, d.p.Horizon, "deadline"))
	}
	if d.often(1, "is fixed") {
		task.Start = new(d.number(0, d.p.Horizon/2, "start"))
	}
}

// links draws links mostly from earlier to later tasks, now and then backwards
// or from a task to itself.
func (d *drawer) links(n int) {
	for range d.number(0, n, "links") {
		b, a := d.number(0, n-1, "before"), d.number(0, n-1, "after")
		if b > a && !d.often(2, "backwards") {
			b, a = a, b
		}
		if a == b && !d.often(1, "to itself") {
			continue
		}
		l := Link{Before: d.p.Tasks[b].ID, After: d.p.Tasks[a].ID, From: rapid.SampledFrom([]LinkFrom{"", FromEnd, FromStart, FromAttended}).Draw(d.t, "from")}
		if d.often(4, "lag") {
			l.Min = d.number(-4, 4, "min")
		}
		if d.often(2, "has a greatest lag") {
			l.Max = new(l.Min + d.number(-1, 5, "max"))
		}
		d.p.Links = append(d.p.Links, l)
	}
}

func (d *drawer) objective() {
	weight := func(label string) int64 {
		return rapid.SampledFrom([]int64{0, 0, 1, 1, 2, 7, 100}).Draw(d.t, label)
	}
	d.p.Objective = Weights{Tardiness: weight("tardiness"), Setup: weight("setup"), Flow: weight("flow"), Makespan: weight("makespan"), Moved: weight("moved")}
	if !d.often(3, "previous") {
		return
	}
	d.p.Previous = &Previous{Tolerance: d.number(0, 3, "tolerance")}
	for i := range d.p.Tasks {
		if d.often(6, "was planned") {
			d.p.Previous.Starts = append(d.p.Previous.Starts, Start{d.p.Tasks[i].ID, d.number(0, d.p.Horizon, "started")})
		}
	}
}
