package views

// Commissions lists every commission.
type Commissions struct {
	Open   []CommissionRow
	Held   []CommissionRow
	Closed []CommissionRow // delivered or dropped

	Foreseen string // where the dates that can be promised come from
}

// PromiseDate is a date that can be promised, and how surely.
type PromiseDate struct{ Sure, Date string }

// CommissionRow is one commission in the list.
type CommissionRow struct {
	Name      string
	Href      string
	Client    string
	Promised  string // the date
	Forecast  string // e.g. "ends Wed 2 Dec 11:20"
	State     string // the word: "in time", "tight", "late", "held", "delivered" ...
	Mark      string
	Slack     string // e.g. "6 h 10 of work", in working time; "" if there is no forecast
	SlackHead string // "To spare" or "Too late by"
	Done      int
	Steps     int
	Left      string // attended time left, "" when all is done
	Trouble   string // what holds its steps up, "" if nothing does
	Dates     []PromiseDate
	Holds     string // how safe the promised date is, a sentence
}

// Commission is the screen of one commission.
type Commission struct {
	Notice   string
	Row      CommissionRow
	Href     string
	Pieces   []PieceRow
	Note     string
	Counts   []FindingCount
	Findings []FindingRow // what the checks say, without remedies
	Across   []string     // which steps wait for those of another piece
	AddPiece string       // where another piece is added, "" if none can be
	Gates    []GateRow    // the most pressing
	Later    []GateRow
	Phases   []PhaseSteps
	Foreseen string // where the dates that can be promised come from
	Edit     Form
	Steer    []SteerLink // what can be tried for it
	Moves    []CommissionMove
}

// PieceRow is one piece of a commission, with what it was made from.
type PieceRow struct {
	Name    string
	From    []Made // measures and choices
	Drawing Drawing
	Graph   Drawing // its order of work
	Parts   []PartSizes
}

// Made is one measure or choice that a piece was made with: "Length", "1200 mm".
type Made struct{ Name, Value string }

// PhaseSteps is the steps of one phase.
type PhaseSteps struct {
	Phase string
	Done  int
	Live  bool // something of it can be taken up, is in hand or rests
	Steps []StepRow
}

// PartSizes is one part, finished and rough.
type PartSizes struct {
	Count    int
	Name     string
	Species  string
	Finished string
	Rough    string
	Grain    string
	Note     string
}

// CommissionMove is a button that changes the state of a commission.
type CommissionMove struct {
	State string
	Label string
	Help  string
}

// SteerLink leads to a change that can be tried.
type SteerLink struct{ Label, Href string }
