package views

// Shop is the screen where the shop itself is written down.
type Shop struct {
	Notice   string   // what was refused
	Missing  []string // files that are not there: the pages are plain HTML
	General  Form
	Hours    HoursForm
	DaysOff  []DayOffRow
	DayOff   Form
	People   []Form
	Person   Form // a new one
	Stations []StationForm
	Station  Form // a new one
	Clamps   []Form
	Clamp    Form // a new one
	Materials
}

// HoursForm is the week's openings.
type HoursForm struct {
	Notice string
	Days   []HoursDay
}

// HoursDay is one weekday: two openings, the lunch between them.
type HoursDay struct {
	Name  string
	Times []Field
	Total string
}

// DayOffRow is one day on which the shop or a person does not work.
type DayOffRow struct {
	ID     int64
	Date   string
	Who    string
	Reason string
}

// StationForm is a station's form under one line that tells it.
type StationForm struct {
	Form  Form
	State string
	Mark  string
	Line  string
	Set   string // what it is set to
}

// Materials are the classes of glue and finish the shop works with.
type Materials struct {
	Glues    []MaterialRow
	Finishes []MaterialRow
}

// MaterialRow is one class of glue or finish.
type MaterialRow struct {
	Name    string
	Times   string
	Caution string
}
