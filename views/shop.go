package views

// Shop is the screen where the shop itself is written down.
type Shop struct {
	Notice   string   // what was refused
	Missing  []string // files that are not there: the pages are plain HTML
	Near     string   // the temperature that the times of glue and finish are given near
	General  Form
	Tablets  Tablets
	Trust    *Trust // what vouches for the server; nil where it is not served by TLS
	Feeds    Feeds
	Hours    HoursForm
	DaysOff  []DayOffRow
	DayOff   Form
	People   []Form
	Person   Form // a new one
	Stations []StationForm
	Station  Form // a new one
	Clamps   []Form
	Clamp    Form // a new one
	Glues    []FoldedForm
	Glue     Form // a new one
	Finishes []FoldedForm
	Finish   Form // a new one
	Zones    []FoldedForm
	Zone     Form     // a new one
	Log      string   // why the log of the records becomes longer and longer
	Clock    string   // what is wrong with the server's clock
	Backups  *Backups // nil: none are made
}

// Backups says how the copies of the records stand.
type Backups struct {
	Good   string // when the newest was made; "" where there is none
	Kept   int
	Folder string
	Failed string // why the last try failed
	Tried  string // and when
}

// HoursForm is the week's openings.
type HoursForm struct {
	Notice string
	Save   string // the button
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
	Remove string // words of the button that takes it away, or tries that
}

// StationForm is a station's form under one line that tells it.
type StationForm struct {
	Form  Form
	State string
	Mark  string
	Line  string
	Set   string // what it is set to
}

// FoldedForm is a form under one line that tells what it is about.
type FoldedForm struct {
	Form Form
	Line string
}
