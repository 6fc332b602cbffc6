package views

import (
	"html/template"
	"time"
)

// Week is the Week screen: the plan over some days, as a chart and as a list.
type Week struct {
	Title     string // the days shown, e.g. "1 to 5 December"
	Notice    string // why the days asked for could not be shown
	Here      string // this screen's own address, for fetching it again
	Earlier   string // addresses of the days before and after, and of today
	Later     string
	Today     string
	Spans     []WeekSpan // how many days to show
	Plan      string     // how fresh the plan is, one sentence
	PlanBad   bool       // no plan could be made
	Relaxed   []string   // what had to give for a plan, a sentence each
	Empty     string     // said instead of the chart when nothing is planned
	Labels    template.HTML
	Chart     template.HTML
	Promises  []WeekPromise
	Days      []WeekDay
	Scrolling bool // the chart is wider than a tablet held upright
}

// WeekSpan is one choice of how many days to show.
type WeekSpan struct {
	Name, Href string
	Current    bool
}

// WeekPromise is one commission's line in the key to the chart.
type WeekPromise struct {
	Swatch   template.HTML
	Name     string
	Href     string
	Promised string
	Forecast string
	Verdict  string // "holds, 6 h to spare"
	State    Promise
}

// WeekDay is one day of the list.
type WeekDay struct {
	Name    string // "Tuesday 1 December"
	Today   bool
	Summary []string // "close two glue-ups before noon", "three setups"
	People  []WeekPerson
	Resting []WeekItem // what stays in clamps or drying past closing time
}

// WeekPerson is one person's day.
type WeekPerson struct {
	Name  string
	Hours string // "6 h 10 of 8 h"
	Away  string // why the person is not there, or ""
	Items []WeekItem
}

// WeekItem is one line of a day's list.
type WeekItem struct {
	When   string
	Letter string // of its commission
	Name   string
	Of     string // the commission
	Setup  string // what is set first, or ""
	State  string
	Href   string
}

// Promise says how safe a promised date is.
type Promise string

// The verdicts on a promised date. Tight is less than half a working day to spare.
const (
	PromiseSafe  Promise = "safe"
	PromiseTight Promise = "tight"
	PromiseLate  Promise = "late"
)

// Stretch is a piece of time.
type Stretch struct{ From, To time.Time }

func (s Stretch) overlap(t Stretch) Stretch {
	if t.From.After(s.From) {
		s.From = t.From
	}
	if t.To.Before(s.To) {
		s.To = t.To
	}
	return s
}

func (s Stretch) empty() bool { return !s.From.Before(s.To) }
