package views

// Times is the time book: what was estimated and what it took, side by side.
type Times struct {
	Rule        string // how the time of a run is shared
	All         TimeRow
	Kinds       []TimeRow
	Commissions []TimeRow
}

// TimeRow is one line of the time book.
type TimeRow struct {
	Name, Href string
	Steps      int
	InRuns     int
	Estimated  string
	Later      string // as somebody estimated anew, "" if nobody did
	Actual     string
	Ratio      string // actual in per cent of estimated
}
