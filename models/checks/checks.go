package checks

import (
	"cmp"
	"slices"
	"strings"

	"faceside/models/pattern"
	"faceside/models/phrase"
)

// Severity says what a finding asks of the maker.
type Severity string

// The severities, gravest first.
const (
	Stops Severity = "stops" // it would spoil the piece or hurt someone: do not start like this
	Warns Severity = "warns" // it usually goes wrong or costs work
	Tells Severity = "tells" // good to know
)

// practice is the source of what the trade knows and nobody printed.
const practice = "common practice, no source"

// Check is one thing that is looked for in every order of work.
type Check struct {
	Key      string // stable
	Title    phrase.Key
	Why      phrase.Key // what goes wrong otherwise
	Severity Severity
	Source   string // what was published, or "common practice, no source"
	find     func(*order) []Finding
}

// Finding is one objection to an order of work.
type Finding struct {
	Check    string // key of the check
	Title    phrase.Key
	Severity Severity
	Steps    []string      // step keys, the one to be changed first
	Parts    []string      // part and assembly keys
	Reason   phrase.Phrase // one or two sentences with the values
	Source   string
	Remedy   *Remedy // nil where no single change mends it
}

// ID tells findings of one order of work apart, and stays while what they mean does.
func (f Finding) ID() string {
	return f.Check + " " + strings.Join(f.Steps, "+") + " " + strings.Join(f.Parts, "+")
}

// Remedy is a change that makes a finding go away.
type Remedy struct {
	Say   phrase.Phrase // what one tap does
	Edits []Edit        // made in this order by Apply
}

// Times are when a step happens, in minutes from one origin for the whole plan.
type Times struct {
	Starts       int
	AttendedEnds int
	Ends         int  // unattended time included
	Worked       bool // its attended part is behind it: when it happened is not to be changed any more
}

// Plan is when the steps of an order of work happen, or happened, by step key.
// Steps may be missing from it.
type Plan map[string]Times

// All lists the checks in the order of the work they look at.
func All() []Check {
	return slices.Concat(soundChecks, millingChecks, machineChecks, stockChecks, jointChecks, glueChecks,
		movementChecks, accessChecks, doorChecks, shapingChecks, sandingChecks, finishChecks, timeChecks, careChecks)
}

// Run looks for everything in an order of work: gravest first, then in the order of
// All. With a plan it also looks at when the steps really happen. Where the order
// of work does not hang together, that is all it finds. It takes time in proportion
// to steps × links, some milliseconds for the largest piece.
func Run(b *pattern.Built, shop pattern.Shop, plan ...Plan) []Finding {
	o, broken := index(b, shop)
	list := All()
	if broken {
		list = soundChecks
	} else if len(plan) > 0 {
		o.plan = plan[0]
	}
	var out []Finding
	for _, c := range list {
		for _, f := range c.find(o) {
			f.Check, f.Title, f.Severity, f.Source = c.Key, c.Title, c.Severity, c.Source
			out = append(out, f)
		}
	}
	grave := map[Severity]int{Stops: 0, Warns: 1, Tells: 2}
	slices.SortStableFunc(out, func(x, y Finding) int { return cmp.Compare(grave[x.Severity], grave[y.Severity]) })
	return out
}
