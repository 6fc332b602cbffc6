package sequence

// Version is the number of the file contract that this package reads and writes.
const Version = 1

// Window is a half-open interval [From, To) of whole minutes since the origin.
// In a problem file it is written [from, to].
type Window [2]int

// Problem is one sequencing problem. All times are whole minutes since the
// origin 0, all durations whole minutes and never negative.
type Problem struct {
	Version   int                 `json:"version"`
	Horizon   int                 `json:"horizon"` // no task may end after it
	Calendars map[string][]Window `json:"calendars,omitempty"`
	Resources []Resource          `json:"resources,omitempty"`
	Zones     []string            `json:"zones,omitempty"`
	Jobs      []Job               `json:"jobs,omitempty"`
	Tasks     []Task              `json:"tasks"`
	Links     []Link              `json:"links,omitempty"`
	Objective Weights             `json:"objective"`
	Previous  *Previous           `json:"previous,omitempty"`
}

// Resource is anything of which only so much can be used at once: hands, a
// station, clamps of one class, drying space.
type Resource struct {
	ID       string  `json:"id"`
	Capacity int     `json:"capacity"`
	Calendar string  `json:"calendar,omitempty"` // empty: always there
	Setups   *Setups `json:"setups,omitempty"`   // not nil: capacity is 1
}

// Setups says what it costs to bring a resource from one state to another.
type Setups struct {
	Initial *string `json:"initial"` // nil: the first setup is free
	Default int     `json:"default"` // minutes where no pair says otherwise
	Hands   *Amount `json:"hands,omitempty"`
	Pairs   []Pair  `json:"pairs,omitempty"`
}

// Amount is so much of one resource.
type Amount struct {
	Resource string `json:"resource"`
	Amount   int    `json:"amount"`
}

// Pair is the minutes a setup takes from one state to another.
type Pair struct {
	From    string `json:"from"`
	To      string `json:"to"`
	Minutes int    `json:"minutes"`
}

// Job is a set of tasks with a due time; it is complete when its last task ends.
type Job struct {
	ID       string `json:"id"`
	Due      *int   `json:"due"` // nil: never late
	Weight   int    `json:"weight"`
	Calendar string `json:"calendar,omitempty"` // in which lateness counts; empty: around the clock
}

// During says for which part of a task a use holds its resource.
type During string

// The parts of a task: S to A, A to E, S to E.
const (
	Attended   During = "attended"
	Unattended During = "unattended"
	All        During = "all"
)

// Use is a demand of one task on one resource.
type Use struct {
	Resource string `json:"resource"`
	Amount   int    `json:"amount"`
	During   During `json:"during"`
}

// ZoneKind is what a task does to its zone.
type ZoneKind string

// A wet task occupies its zone from S to E, a dusty one from S to A; the two
// kinds never overlap.
const (
	Wet   ZoneKind = "wet"
	Dusty ZoneKind = "dusty"
)

// ZoneUse places a task in a zone.
type ZoneUse struct {
	Name string   `json:"name"`
	Kind ZoneKind `json:"kind"`
}

// SetupNeed is the state a task needs its resource to be in.
type SetupNeed struct {
	Resource string `json:"resource"`
	State    string `json:"state"`
}

// Task is one step: attended minutes under calendars, then unattended minutes
// around the clock.
type Task struct {
	ID            string     `json:"id"`
	Job           string     `json:"job,omitempty"`
	Attended      int        `json:"attended"`
	Interruptible bool       `json:"interruptible"`
	Unattended    int        `json:"unattended"`
	Uses          []Use      `json:"uses,omitempty"`
	Setup         *SetupNeed `json:"setup,omitempty"`
	Zone          *ZoneUse   `json:"zone,omitempty"`
	Release       int        `json:"release"`
	Deadline      *int       `json:"deadline"` // latest E; nil: none
	Start         *int       `json:"start"`    // fixed S; nil: free
}

// LinkFrom names the point of the earlier task that a link measures from.
type LinkFrom string

// A link measures from E (the default, also when empty), from S, or from A.
const (
	FromEnd      LinkFrom = "end"
	FromStart    LinkFrom = "start"
	FromAttended LinkFrom = "attended"
)

// Link keeps S of After at least Min, and where Max is given at most Max,
// minutes from a point of Before. Min may be negative.
type Link struct {
	Before string   `json:"before"`
	After  string   `json:"after"`
	From   LinkFrom `json:"from,omitempty"`
	Min    int      `json:"min"`
	Max    *int     `json:"max"` // nil: no greatest lag
}

// Weights are the integer factors of the objective; a missing one is 0.
type Weights struct {
	Tardiness int64 `json:"tardiness"`
	Setup     int64 `json:"setup"`
	Flow      int64 `json:"flow"`
	Makespan  int64 `json:"makespan"`
	Moved     int64 `json:"moved"`
}

// Previous is the plan that people have already seen.
type Previous struct {
	Tolerance int     `json:"tolerance"` // minutes a start may shift without counting as moved
	Starts    []Start `json:"starts"`
}

// Start is the start of one task in a previous plan.
type Start struct {
	ID    string `json:"id"`
	Start int    `json:"start"`
}
