package views

// Step is the screen of one step.
type Step struct {
	Notice  string
	Href    string
	Card    StepCard
	More    StepMore
	Before  []StepRow
	After   []StepRow
	History []TapRow
	Late    []LateTap
	Told    string // where what came of trouble with it is told, "" if there is none
	Change  string // where it is changed in the order of work, "" for who may not
	Pin     *Pin   // nil where the step cannot be pinned, or not by who asks
	Why     *WhyThen
}

// WhyThen tells why a step is planned for when it is, and what hangs on it.
type WhyThen struct {
	Planned string   // "" where it is in hand or at rest: nothing is told then but the rooms
	Held    []string // what keeps it from beginning sooner, or that nothing does
	Nor     string   // where closed hours do, that it could not begin before them either,
	Kept    []string // and for what
	Rooms   []PromiseRoom
	Weighs  string // in how many of the weeks played it moves a promise, "" where none were played
	More    string // how many promises are not told of, "" if all are
	Stuck   string // that an hour's delay has no place, "" where it has
}

// PromiseRoom is the room that a step leaves to a promise, and what an hour does to it.
type PromiseRoom struct {
	Name, Href, Promised, Spare string
	Hour                        string // "" where it does nothing
	Holds                       string // in how many of the weeks played it holds, "" where the plan tells as much
}

// StepMore is what is at hand about a step beside what must be read first.
type StepMore struct {
	Drawing  Drawing // with the parts of the step lit; empty where there is none
	Hatch    string  // id of the drawing's pattern of lines
	Lit      string  // the parts that are, in words
	Of       string  // the step's name, where a screen has several
	NoteHref string  // where a photo or note is added, "" where nobody is at the tablet
	Notes    []NoteRow
}

// NoteRow is a note or a photo of a step.
type NoteRow struct {
	ID            string
	Text          string
	Photo         string // where the picture is, "" without one
	Width, Height int
	Who, When     string
}

// Note asks for a photo or a note of a step, and shows those there are.
type Note struct {
	Notice     string // why it was not kept, "" if it was
	Step       int64
	Name       string
	Commission string
	Action     string
	NoteID     string
	Text       string // as typed
	Back       string
	MostBytes  int64
	TooLarge   string // what a script says of a file of {size} that is larger than that
	Notes      []NoteRow
}

// Pin asks for a day and time at which a step is to start.
type Pin struct {
	Form  Form
	Free  string // where the step is let move again, "" while it is not pinned
	Steer string // where other ways to steer it are tried
	Given string // to what day it is pinned and to whom it is given, "" for neither
}

// TapRow is one row of the journal, told.
type TapRow struct {
	When, Who, What string
}
