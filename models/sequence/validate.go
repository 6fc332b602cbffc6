package sequence

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
)

const (
	// mostMinutes is the greatest time, duration, amount or weight of a job, and
	// its negative the least: some two thousand years of minutes. It keeps every
	// sum of them far from overflowing.
	mostMinutes = 1 << 30
	// mostObjective bounds the worst objective that any plan could have.
	mostObjective = 1 << 60
)

// Validate says what of the file contract the problem breaks, as an
// *InputError, or nil. A problem that cannot be solved (a cycle of links, a
// demand above a capacity, a task longer than every window, a deadline too
// early) is valid; proving that there is no plan is the search's work.
// It takes time linear in the size of the problem, but for sorting.
func (p *Problem) Validate() error {
	v := validator{p: p, jobs: map[string]bool{}, tasks: make(map[string]bool, len(p.Tasks)), zones: map[string]bool{},
		resources: map[string]*Resource{}}
	steps := []func() error{v.head, v.calendars, v.declarations, v.setups, v.taskList, v.links, v.objective, v.previous}
	for _, step := range steps {
		if err := step(); err != nil {
			return err
		}
	}
	return nil
}

// validator holds the names declared so far.
type validator struct {
	p         *Problem
	jobs      map[string]bool
	tasks     map[string]bool
	zones     map[string]bool
	resources map[string]*Resource
}

// bad makes the error for a field; the value is shown as JSON would show it.
func bad(field string, value any, reason string, args ...any) error {
	shown := fmt.Sprint(value)
	if s, isText := value.(string); isText {
		shown = shorten(strconv.Quote(s))
	}
	return &InputError{Field: field, Value: shown, Reason: fmt.Sprintf(reason, args...)}
}

// between rejects a number outside least..most.
func between(field string, value, least, most int) error {
	if value < least {
		return bad(field, value, "it must be at least %d", least)
	}
	if value > most {
		return bad(field, value, "it must be at most %d", most)
	}
	return nil
}

// declare notes a name and rejects it where it is empty or taken.
func declare(taken map[string]bool, field, name, what string) error {
	if name == "" {
		return &InputError{Field: field, Reason: fmt.Sprintf("every %s needs a name", what)}
	}
	if taken[name] {
		return bad(field, name, "two have this name; each %s needs its own", what)
	}
	taken[name] = true
	return nil
}

// first returns the first error there is.
func first(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

func (v *validator) head() error {
	if v.p.Version != Version {
		return bad("version", v.p.Version, "this program reads version %d", Version)
	}
	return between("horizon", v.p.Horizon, 1, mostMinutes)
}

func (v *validator) calendars() error {
	for _, name := range slices.Sorted(maps.Keys(v.p.Calendars)) {
		if name == "" {
			return bad("calendars", name, "every calendar needs a name")
		}
		if err := windows("calendars."+name, v.p.Calendars[name]); err != nil {
			return err
		}
	}
	return nil
}

// windows rejects windows that are empty, lie before the origin or overlap.
// They may stand in any order, and one may begin where another ends.
func windows(field string, list []Window) error {
	order := make([]int, len(list))
	for i, w := range list {
		order[i] = i
		at := fmt.Sprintf("%s[%d]", field, i)
		if err := first(between(at+"[0]", w[0], 0, mostMinutes), between(at+"[1]", w[1], 0, mostMinutes)); err != nil {
			return err
		}
		if w[1] <= w[0] {
			return &InputError{Field: at, Value: showWindow(w), Reason: "a window must end after it begins"}
		}
	}
	slices.SortFunc(order, func(a, b int) int { return list[a][0] - list[b][0] })
	for k := 1; k < len(order); k++ {
		if before, w := list[order[k-1]], list[order[k]]; w[0] < before[1] {
			return &InputError{Field: fmt.Sprintf("%s[%d]", field, order[k]), Value: showWindow(w),
				Reason: "it overlaps the window " + showWindow(before)}
		}
	}
	return nil
}

func showWindow(w Window) string { return fmt.Sprintf("[%d,%d]", w[0], w[1]) }

// declarations checks resources, zones and jobs, but not the setups.
func (v *validator) declarations() error {
	taken := map[string]bool{}
	for i := range v.p.Resources {
		r := &v.p.Resources[i]
		at := fmt.Sprintf("resources[%d]", i)
		if err := first(declare(taken, at+".id", r.ID, "resource"), between(at+".capacity", r.Capacity, 0, mostMinutes),
			v.calendar(at+".calendar", r.Calendar)); err != nil {
			return err
		}
		v.resources[r.ID] = r
	}
	for i, zone := range v.p.Zones {
		if err := declare(v.zones, fmt.Sprintf("zones[%d]", i), zone, "zone"); err != nil {
			return err
		}
	}
	for i, j := range v.p.Jobs {
		at := fmt.Sprintf("jobs[%d]", i)
		if err := first(declare(v.jobs, at+".id", j.ID, "job"), between(at+".weight", j.Weight, 0, mostMinutes),
			optional(at+".due", j.Due), v.calendar(at+".calendar", j.Calendar)); err != nil {
			return err
		}
	}
	return nil
}

// optional checks a time that may be left out and may be negative.
func optional(field string, value *int) error {
	if value == nil {
		return nil
	}
	return between(field, *value, -mostMinutes, mostMinutes)
}

func (v *validator) calendar(field, name string) error {
	if _, known := v.p.Calendars[name]; name != "" && !known {
		return bad(field, name, "no calendar has this name")
	}
	return nil
}

func (v *validator) resource(field, id string) error {
	if v.resources[id] == nil {
		return bad(field, id, "no resource has this id")
	}
	return nil
}

func (v *validator) setups() error {
	for i, r := range v.p.Resources {
		if r.Setups == nil {
			continue
		}
		at := fmt.Sprintf("resources[%d]", i)
		if r.Capacity != 1 {
			return bad(at+".capacity", r.Capacity, "a resource with setups has capacity 1")
		}
		at += ".setups"
		if r.Setups.Initial != nil && *r.Setups.Initial == "" {
			return bad(at+".initial", "", "a state needs a name; null says that the first setup is free")
		}
		if err := first(between(at+".default", r.Setups.Default, 0, mostMinutes),
			v.setupHands(at+".hands", r.ID, r.Setups.Hands), setupPairs(at+".pairs", r.Setups.Pairs)); err != nil {
			return err
		}
	}
	return nil
}

func (v *validator) setupHands(field, station string, hands *Amount) error {
	if hands == nil {
		return nil
	}
	if hands.Resource == station {
		return bad(field+".resource", station, "a resource cannot be the hands of its own setup")
	}
	return first(v.resource(field+".resource", hands.Resource), between(field+".amount", hands.Amount, 1, mostMinutes))
}

func setupPairs(field string, pairs []Pair) error {
	seen := map[[2]string]bool{}
	for i, pair := range pairs {
		at := fmt.Sprintf("%s[%d]", field, i)
		if pair.From == "" || pair.To == "" {
			return &InputError{Field: at, Reason: "it needs the states from and to"}
		}
		key := [2]string{pair.From, pair.To}
		if seen[key] {
			return &InputError{Field: at, Value: shorten(fmt.Sprintf("%q to %q", pair.From, pair.To)), Reason: "this pair is given twice"}
		}
		seen[key] = true
		if err := between(at+".minutes", pair.Minutes, 0, mostMinutes); err != nil {
			return err
		}
	}
	return nil
}

func (v *validator) taskList() error {
	for i := range v.p.Tasks {
		t := &v.p.Tasks[i]
		at := fmt.Sprintf("tasks[%d]", i)
		if t.Job != "" && !v.jobs[t.Job] {
			return bad(at+".job", t.Job, "no job has this id")
		}
		if err := first(declare(v.tasks, at+".id", t.ID, "task"),
			between(at+".attended", t.Attended, 0, mostMinutes), between(at+".unattended", t.Unattended, 0, mostMinutes),
			between(at+".release", t.Release, -mostMinutes, mostMinutes), optional(at+".deadline", t.Deadline), optional(at+".start", t.Start),
			v.uses(at+".uses", t.Uses), v.setupNeed(at+".setup", t.Setup), v.zoneUse(at+".zone", t.Zone)); err != nil {
			return err
		}
	}
	return nil
}

func (v *validator) uses(field string, uses []Use) error {
	for i, u := range uses {
		at := fmt.Sprintf("%s[%d]", field, i)
		if err := first(v.resource(at+".resource", u.Resource), between(at+".amount", u.Amount, 1, mostMinutes)); err != nil {
			return err
		}
		if u.During != Attended && u.During != Unattended && u.During != All {
			return bad(at+".during", string(u.During), "it must be attended, unattended or all")
		}
	}
	return nil
}

func (v *validator) setupNeed(field string, need *SetupNeed) error {
	if need == nil {
		return nil
	}
	if err := v.resource(field+".resource", need.Resource); err != nil {
		return err
	}
	if v.resources[need.Resource].Setups == nil {
		return bad(field+".resource", need.Resource, "this resource has no setups")
	}
	if need.State == "" {
		return bad(field+".state", "", "a state needs a name")
	}
	return nil
}

func (v *validator) zoneUse(field string, z *ZoneUse) error {
	if z == nil {
		return nil
	}
	if !v.zones[z.Name] {
		return bad(field+".name", z.Name, "no zone has this name")
	}
	if z.Kind != Wet && z.Kind != Dusty {
		return bad(field+".kind", string(z.Kind), "it must be wet or dusty")
	}
	return nil
}

func (v *validator) links() error {
	for i, l := range v.p.Links {
		at := fmt.Sprintf("links[%d]", i)
		if err := first(v.task(at+".before", l.Before), v.task(at+".after", l.After),
			between(at+".min", l.Min, -mostMinutes, mostMinutes), optional(at+".max", l.Max)); err != nil {
			return err
		}
		if l.From != "" && l.From != FromEnd && l.From != FromStart && l.From != FromAttended {
			return bad(at+".from", string(l.From), "it must be end, start or attended")
		}
	}
	return nil
}

func (v *validator) task(field, id string) error {
	if !v.tasks[id] {
		return bad(field, id, "no task has this id")
	}
	return nil
}

// objective rejects negative weights, and weights so large that the objective
// of some plan could overflow.
func (v *validator) objective() error {
	w := v.p.Objective
	terms := []struct {
		name   string
		weight int64
		worst  float64 // of the unweighted term
	}{
		{"tardiness", w.Tardiness, v.worstTardiness()}, {"setup", w.Setup, v.worstSetup()},
		{"flow", w.Flow, float64(len(v.p.Jobs)) * float64(v.p.Horizon)}, {"makespan", w.Makespan, float64(v.p.Horizon)},
		{"moved", w.Moved, float64(len(v.p.Tasks))},
	}
	sum := 0.0
	for _, term := range terms {
		if term.weight < 0 {
			return bad("objective."+term.name, term.weight, "a weight must be at least 0")
		}
		if sum += float64(term.weight) * max(1, term.worst); sum > mostObjective {
			return bad("objective."+term.name, term.weight, "with it the objective could grow beyond what can be counted; use smaller weights or a shorter horizon")
		}
	}
	return nil
}

func (v *validator) worstTardiness() float64 {
	sum := 0.0
	for _, j := range v.p.Jobs {
		if j.Due != nil {
			sum += float64(j.Weight) * max(0, float64(v.p.Horizon)-float64(*j.Due))
		}
	}
	return sum
}

func (v *validator) worstSetup() float64 {
	longest := map[string]int{}
	for _, r := range v.p.Resources {
		if r.Setups == nil {
			continue
		}
		longest[r.ID] = r.Setups.Default
		for _, pair := range r.Setups.Pairs {
			longest[r.ID] = max(longest[r.ID], pair.Minutes)
		}
	}
	sum := 0.0
	for i := range v.p.Tasks {
		if need := v.p.Tasks[i].Setup; need != nil {
			sum += float64(longest[need.Resource])
		}
	}
	return sum
}

func (v *validator) previous() error {
	if v.p.Previous == nil {
		return nil
	}
	if err := between("previous.tolerance", v.p.Previous.Tolerance, 0, mostMinutes); err != nil {
		return err
	}
	seen := make(map[string]bool, len(v.p.Previous.Starts))
	for i, s := range v.p.Previous.Starts {
		at := fmt.Sprintf("previous.starts[%d]", i)
		if err := first(v.task(at+".id", s.ID), between(at+".start", s.Start, -mostMinutes, mostMinutes)); err != nil {
			return err
		}
		if seen[s.ID] {
			return bad(at+".id", s.ID, "this task is given twice")
		}
		seen[s.ID] = true
	}
	return nil
}
