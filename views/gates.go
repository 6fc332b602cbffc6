package views

import "html/template"

// Gates is the screen of what keeps other steps waiting, of what is in clamps or
// drying, and of the rack.
type Gates struct {
	Notice  string // why the last tap was refused, "" if it was not
	Plan    string // what the planner is doing, "" if nothing worth saying
	PlanBad bool
	Rests   []RestRow
	Groups  []GateGroup
	NoGate  string // one sentence in place of Groups
	Rack    []RackClass

	AddClamps string // where clamps are added, "" for who may not
}

// GateGroup is the gates that are to be closed at about one time, worst first.
type GateGroup struct {
	Key   string // "today", "later" or "unplanned"
	Title string
	Gates []GateCard
}

// GateCard is one gate.
type GateCard struct {
	Name           string
	Href           string
	Commission     string
	CommissionHref string
	Standing       string
	Mark           string
	By             string // when it should be closed, "" where the plan does not have it
	Why            string // a sentence
	Holds          string // e.g. "holds up 7 steps, 4 h 20 of work"
	Opens          string // what can start when its time is over
	Waits          string // why it cannot be begun yet, "" if it can
	Latest         string // a sentence: until when no promise moves, and whose does then
	Clamps         []ClampsLine
	Hands          string
	Start          *TapForm // nil where it cannot be begun
}

// ClampsLine says of a class what a gate takes and what hangs free.
type ClampsLine struct {
	Takes string // e.g. "6 × 1200 mm bar clamps"
	Free  string // e.g. "6 hang free", or what is missing and when it comes back
	Short bool   // too few hang free
}

// RackClass is one class of clamps on the rack.
type RackClass struct {
	Name    string
	Free    string // e.g. "5 of 16 hang free"
	Drawing template.HTML
	Each    string // what a mark stands for, "" if one clamp
	Out     []RackRow
}

// RackRow is a step that has clamps of a class.
type RackRow struct {
	Number     int
	Count      int
	Name       string
	Href       string
	Commission string
	State      string // e.g. "until 14:30", "in hand", "time is over: take them off"
	Over       bool
}

// Resting is what every page knows of what is in clamps or drying, so that its end
// can be announced wherever the tablet is.
type Resting struct {
	Step  int64
	Ends  int64
	Now   int64
	Said  string // what is announced
	Where string // the commission
}
