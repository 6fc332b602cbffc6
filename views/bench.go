package views

// Bench is what one person sees at a tablet.
type Bench struct {
	Notice    string // why the last tap was refused, "" if it was not
	Station   string // at which the tablet hangs, "" for none
	Person    string // "" until somebody said who they are
	People    []PersonChoice
	Tongues   *Tongues      // while nobody works in the shop yet
	Questions []TapQuestion // taps of this tablet that came too late
	Calls     []Call        // who needs this person's hands now
	Now       *StepCard     // in hand, or next; nil when there is nothing
	More      StepMore      // what else there is about Now
	Lead      string        // one sentence above Now where it cannot start yet
	Idle      string        // one sentence in place of Now
	Plan      string        // what the planner is doing, "" if nothing worth saying
	PlanBad   bool          // no plan could be made
	Relaxed   []string      // what had to give in the plan
	Undo      *TapForm
	InRun     *RunCard   // the run in hand; Now is nil then
	Run       *RunOffer  // what else can run under the same setup
	Along     []RunAlong // what can be taken along with the single step in hand
	Rests     []RestRow
	Gates     []GateRow
	Next      []StepRow
	Others    []OtherRow
	Trouble   []StepRow
}

// Tongues ask a new shop for its language and units.
type Tongues struct {
	Ask     []Spoken // the question in every language
	Choices []TongueChoice
}

// Spoken is a text in a language by its code.
type Spoken struct{ Code, Text string }

// TongueChoice is a language with a unit of length, said in that language.
type TongueChoice struct {
	Language, Units, Name string
	Current               bool
}

// PersonChoice is one answer to "who is at this tablet?".
type PersonChoice struct {
	ID      int64
	Name    string
	Current bool
}

// RestRow is a step in clamps, drying or resting.
type RestRow struct {
	Name       string
	Href       string
	Commission string
	Standing   string // "in clamps", "drying" or "resting"
	Mark       string
	Over       bool   // its time is over by the clock
	Until      string // e.g. "until 14:30"
	Left       string // e.g. "1 h 10 left", as of when the page was drawn
	Ends, Now  int64  // milliseconds since 1970 by the shop's clock, for a script that counts down
	Passed     int    // minutes of Whole that have passed
	Whole      int    // minutes
	Opens      string // what may start then, "" if nothing waits
	Out        TapForm
}

// GateRow is a step whose unattended time keeps others waiting.
type GateRow struct {
	Name       string
	Href       string
	Commission string
	CloseBy    string // "" where the plan does not have it
	Holds      string // e.g. "holds 7 steps, 4 h 20 of work"
	Why        string
	Standing   string
	Mark       string
}

// Call is a step for which this person's hands are called.
type Call struct {
	Says string // who calls, and since when
	Name string // of the step
	Href string
	Note string
	Help *TapForm // nil while their hands are full
}

// OtherRow is what another person has in hand.
type OtherRow struct {
	Person string
	Name   string // of the step, "" for nothing
	Href   string
	Detail string
	Help   *TapForm // gives it the hands of who is at this tablet, nil where it wants none
}
