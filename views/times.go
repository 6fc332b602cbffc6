package views

// Times is the time book: what was estimated and what it took, side by side.
type Times struct {
	Rule        string // how the time of a run is shared
	All         TimeRow
	Kinds       []TimeRow
	Commissions []TimeRow
	Week        HoursWeek
}

// HoursWeek is the time that was booked in one week.
type HoursWeek struct {
	Says    string // which
	People  []HoursRow
	Earlier string // where the week before is
	Later   string // and the one after, "" for what is still to come
}

// HoursRow is the time that is booked for one person.
type HoursRow struct {
	Name                  string
	Own, Helped, Together string
}

// TimeRow is one line of the time book.
type TimeRow struct {
	Name, Href string
	Steps      int
	InRuns     int
	Estimated  string
	Later      string // as somebody estimated anew, "" if nobody did
	Actual     string
	Helped     string // of further hands, "" if there were none
	Ratio      string // actual in per cent of estimated
}
