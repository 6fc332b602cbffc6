package views

// Problem is a page that could not be shown, or a request that was refused.
type Problem struct {
	Sentence string
	SignIn   string // where the planner signs in, "" where that is of no use
}
