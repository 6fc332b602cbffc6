package views

// RunCard is a run in hand on the bench.
type RunCard struct {
	Station     string
	StationHref string
	Setup       string // as an instruction
	Times       string // since when, and how long so far
	Left        string // how many of how many are still in hand
	LeftSays    string // the same with places for both, {n} and {of}
	Steps       []RunStep
	Main        *TapForm // finishes the first that is not tapped off
	PutDown     TapForm
	Next        string // how the station is set after it, "" if not known
	Cautions    []string
	Along       []RunAlong // what else can be taken along
}

// RunAlong is a step that can be taken along with what is in hand.
type RunAlong struct {
	Row  StepRow
	Tap  TapForm
	Step RunStep // as it is in the run then
}

// RunStep is one step of a run. Those tapped off keep their place in the list,
// so that nothing moves under a finger.
type RunStep struct {
	ID          int64
	Row         StepRow
	Parts       []PartRow
	Assemblies  []string
	Note        string
	Setup       string    // what is set for it besides, "" as the run says
	Actions     []TapForm // none once it is tapped off
	TroubleHref string
	Next        bool // the first that is not tapped off: open, where the others are folded
	Hands       *StepHands
	More        StepMore
}

// Pieces is how many of its pieces can be tapped off.
func (s RunStep) Pieces() (n int) {
	for _, p := range s.Parts {
		n += len(p.Ticks)
	}
	return n
}

// Done is how many of its pieces are tapped off.
func (s RunStep) Done() (n int) {
	for _, p := range s.Parts {
		n += p.Done
	}
	return n
}

// RunOffer is steps that can be taken in hand together.
type RunOffer struct {
	TapID string
	Setup string
	Note  string // how many, and what they spare
	First int64  // a step shown elsewhere that belongs to it, 0 for none
	Rows  []RunChoice
	Free  bool // it can be taken: the hands and the station are free
	Label string
	Back  string // where plain HTML goes on; "" is the bench, where a swap does
}

// RunChoice is a step that may be left out.
type RunChoice struct {
	ID  int64
	Row StepRow
}
