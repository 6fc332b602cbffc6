package views

// Step is the screen of one step.
type Step struct {
	Notice  string
	Href    string
	Card    StepCard
	Before  []StepRow
	After   []StepRow
	History []TapRow
}

// TapRow is one row of the journal, told.
type TapRow struct {
	When, Who, What string
}

// Trouble asks what is wrong with a step.
type Trouble struct {
	Notice     string
	Step       int64
	Name       string
	Commission string
	TapID      string
	Note       string // as typed
	Reasons    []string
}
