package views

import (
	"html/template"
	"time"
)

// Week is the Week screen: the plan over some days, as a chart and as a list.
type Week struct {
	Title    string // the days shown, e.g. "1 to 5 December"
	Notice   string // why the days asked for could not be shown
	Here     string // this screen's own address, for fetching it again
	Earlier  string // addresses of the days before and after, and of today
	Later    string
	Today    string
	Spans    []WeekSpan    // how many days to show
	AsList   bool          // without the chart
	Other    string        // the same as a list, or as a chart again
	Plan     string        // how fresh the plan is, one sentence
	PlanBad  bool          // no plan could be made
	Relaxed  []string      // what had to give for a plan, a sentence each
	Empty    string        // said instead of the chart when nothing is planned
	Labels   template.HTML // the chart's names of rows, and the chart
	Chart    template.HTML
	Paper    template.HTML // both as one drawing, for a sheet
	Left     string        // what the sheet has no room for, one sentence
	Since    *WeekSince    // nil: no plan was made on this day yet
	Promises []WeekPromise
	Heavy    []WeekHeavy // the steps that matter most, as far as weeks were played
	Steers   bool        // who asks may try and keep what steers the plan
	Days     []WeekDay
}

// WeekSpan is one choice of how many days to show.
type WeekSpan struct {
	Name, Href string
	Current    bool
}

// WeekPromise is one commission's line in the key to the chart.
type WeekPromise struct {
	Letter   string // the commission's on the chart
	Look     string // the class of its colour and pattern
	Name     string
	Href     string
	Promised string
	Forecast string
	Slack    string // "6 h to spare"
	Holds    string // how safe the promised date is, a sentence
	Word     string // "in time", "tight", "late", "held"
	State    Promise
}

// WeekDay is one day of the list.
type WeekDay struct {
	Key     string // names the day in the page: "day-2026-12-01"
	Name    string // "Tuesday 1 December"
	Open    bool   // unfolded from the start
	Shut    bool   // the shop is closed
	Href    string // the day alone; "" where it is alone
	Today   bool
	Summary string // "Close two glue-ups before noon, three setups, 6 h 10 of 8 h"
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
	Key    string // names it in the page; "" where it has been named
	When   string
	Was    string // when it was planned for in the morning, where that was another time
	Letter string // of its commission
	Look   string
	Name   string
	Of     string // the commission
	Setup  string // what is set first, or ""
	State  string // "" while it is just planned
	Pinned bool   // and the plan has it there
	Heavy  bool   // it is one of those that matter most
	Mark   string // the state's class
	Href   string
}

// WeekHeavy is a step on which a promise hangs in many of the weeks played.
type WeekHeavy struct {
	Letter string // of its commission
	Look   string
	Name   string
	Of     string
	When   string
	Part   string // "7 of 10 weeks"
	Moves  string // whose promise, where that is another commission's
	Href   string
}

// WeekSince is what moved since the morning.
type WeekSince struct {
	Says   string // of all of it, one sentence
	Causes []WeekCause
}

// WeekCause is what moved for one reason.
type WeekCause struct {
	Key    string // names it in the page
	Says   string // what happened
	Count  string // "12 steps moved"
	Steps  []WeekMoved
	Others []WeekMoved // further down, where there are many
}

// WeekMoved is one step that is planned for another time.
type WeekMoved struct {
	Letter string // of its commission
	Look   string
	Name   string
	Of     string
	From   string
	To     string
	By     string // "2 h later"
	Href   string
}

// Promise says how safe a promised date is.
type Promise string

// The verdicts on a promised date. Their names are those of the states' classes.
const (
	PromiseInTime Promise = "in-time"
	PromiseTight  Promise = "tight" // hardly anything to spare
	PromiseLate   Promise = "late"
	PromiseOpen   Promise = "waiting" // there is no forecast
)

// Stretch is a piece of time.
type Stretch struct{ From, To time.Time }

// Overlap is what two stretches share; empty if nothing.
func (s Stretch) Overlap(t Stretch) Stretch {
	if t.From.After(s.From) {
		s.From = t.From
	}
	if t.To.Before(s.To) {
		s.To = t.To
	}
	return s
}

// Empty says whether the stretch has no length.
func (s Stretch) Empty() bool { return !s.From.Before(s.To) }
