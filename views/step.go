package views

// Step is the screen of one step.
type Step struct {
	Notice  string
	Href    string
	Card    StepCard
	Before  []StepRow
	After   []StepRow
	History []TapRow
	Late    []LateTap
	Pin     *Pin // nil where the step cannot be pinned
}

// Pin asks for a day and time at which a step is to start.
type Pin struct {
	Form Form
	Free string // where the step is let move again, "" while it is not pinned
}

// TapRow is one row of the journal, told.
type TapRow struct {
	When, Who, What string
}
