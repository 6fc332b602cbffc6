package views

// Stations is every station with its queue.
type Stations struct {
	Cards []StationCard // out of order, in somebody's hands, or with something that can be begun
	Later []StationCard // what waits at these cannot be begun yet
	Idle  []StationCard // nothing waits at these
	Basis string        // how the numbers of setups were made, "" without any
	Add   string        // where stations are added, "" for who may not
}

// StationCard is one station, told shortly.
type StationCard struct {
	Name    string
	Href    string
	State   string
	Mark    string
	Down    string // since when, who and why, "" while it is in order
	Set     string // how it stands, as far as was tapped
	SetBy   string // who tapped that, and when; "" where nobody did
	Hand    []string
	Left    string // steps and time waiting
	From    string // when the first of them is expected to begin, "" where the plan has it not
	Next    string // how it is set next
	Runs    []QueuedRun
	More    string // what of the queue is not shown
	Setups  string // how often the plan sets it, against the order of promised dates
	Settled bool   // it is never set: a bench, a room
}

// QueuedRun is steps that stand under one setup, with the mark before them.
type QueuedRun struct {
	Mark  string // "set: thickness 22 mm, 3 min", or that it stands so
	Set   bool   // the station is set here
	When  string
	Steps []StepRow
	More  string
}

// Station is the screen of one station.
type Station struct {
	Notice   string
	Href     string
	Card     StationCard
	Nobody   bool // nobody is at this tablet
	Moved    []PromiseMoved
	MovedAt  string // since when they moved
	Still    string // one sentence where nothing moved, or the plan is being made
	Up       *TapForm
	Undo     *TapForm
	Sets     []SetButton
	Unknown  *TapForm
	Offers   []RunOffer
	Along    []RunAlong // what can be taken along in the run that is in hand here
	Limits   []Fact
	Caution  string
	Down     DownForm
	History  []TapRow
	EditHref string
}

// SetButton says that the station was set so.
type SetButton struct {
	TapForm
	Note    string // how many steps want it
	Current bool
}

// DownForm asks why a station is out of order.
type DownForm struct {
	TapID   string
	Station int64
	Back    string
	Note    string // as typed
	Reasons []string
	WhatIf  string // the plan as it would be, were it down today, "" for who may not ask
}

// PromiseMoved is what became of one promise.
type PromiseMoved struct {
	Name, Href string
	Was, Is    string
	Mark       string
	State      string
}

// Fact is a word and what it stands for.
type Fact struct{ Name, Value string }
