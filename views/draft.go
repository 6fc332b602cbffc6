package views

// Patterns asks which pattern a new commission, or one more piece, is made from.
type Patterns struct {
	Title    string
	Back     string
	Patterns []PatternCard
}

// PatternCard is one pattern to choose.
type PatternCard struct {
	Title, Blurb, Href string
	Facts              []string
}

// Draft is a commission before it is taken, or a piece before it is added to
// one: the form, and what it would mean.
type Draft struct {
	Notice   string
	Title    string
	Blurb    string
	FormID   string // of this filling-in, so that sending it twice takes one commission
	Action   string
	Another  string // where another pattern is chosen
	Into     string // the commission that the piece is added to, "" for a new one
	IntoHref string
	Edition  int64   // of that commission when the form was drawn
	About    []Field // name, client, promise ...
	Measures []Field
	Choices  []Field
	Preview  Preview
	Early    string // the promised date that was refused as too early, "" for none
}

// Preview is what a commission would mean for the shop, before it is saved.
type Preview struct {
	Wrong    string // why there is nothing to show
	Ready    bool
	Steps    int
	Hands    string // attended time
	Rest     string // in clamps and drying
	GlueUps  int
	Clamps   []ClampLine
	Forecast CommissionRow
	Earliest string // the date that can be promised as surely as was asked for, a sentence
	Bound    string // before when no plan has it complete, and what sets that
	Early    bool   // the promise is earlier
	Plays    string // of how many weeks played
	Better   string // names the element that fetches a better answer, "" where this is it
	Href     string // where it does
	Without  string // when the commission is done without the piece, "" for a new one
	Others   []PromiseChange
	Parts    []PartSizes
	Phases   []PhaseHours
	Drawing  Drawing // of the piece

	// Of a pattern that holds changes made by hand.
	LeftOut  []string // those that cannot be made
	Findings []FindingRow
}

// ClampLine is how many clamps of a class the largest glue-up wants.
type ClampLine struct {
	Name  string
	Most  int
	Has   int
	Short bool
}

// PhaseHours is the attended time of one phase.
type PhaseHours struct {
	Phase string
	Steps int
	Time  string
}

// PromiseChange is what taking it does to another promise.
type PromiseChange struct {
	Name     string
	Promised string
	Before   string
	After    string
	State    string
	Mark     string
	Worse    bool   // it would become late, or later
	Safe     string // how safe it is now and would be
}
