package views

import "unicode/utf8"

// TapForm is one button that writes a row of the journal.
type TapForm struct {
	ID      string // the tap's own id, made with the page; a script may replace it
	Kind    string // what it says, e.g. "start"
	Step    int64  // the step it is about
	Run     string // the run it is about
	Station int64  // the station it is about
	Setup   int64  // what that was set to, 0 for not known
	Helper  int64  // whose hands it is about, for "help" and "manage"
	Undoes  int64  // the row it takes back, for "undo"
	Of      string // what it is about, where the tap is listed: the name of the step
	Label   string
	Detail  string // said after the label for those who do not see the rest, "" if clear
	Main    bool   // the one main action of the screen
	Back    string // where plain HTML goes on; "" is the bench, where a swap does
}

// StepCard is one step, told as an instruction.
type StepCard struct {
	ID             int64
	Name           string
	Phase          string
	Commission     string
	CommissionHref string
	Piece          string
	Standing       string // the word for where it stands
	Mark           string // the standing as a class, e.g. "in-hand"
	Who            string // who has it in hand, "" if nobody
	Since          string // e.g. "since 9:42", "" where nobody has it in hand
	Estimate       string // e.g. "about 25 min"
	Rest           string // e.g. "then 4 h in clamps", "" if none
	Station        string
	Setup          string // as an instruction, "" if none is needed
	SetupUnder     string // what else is said of it: where, if it does not say so, and how it stands
	SetupThere     bool   // the station stands so already, as far as was tapped
	Hands          string // e.g. "two people", "" for one
	OpenTime       string // e.g. "15 min from first glue to last clamp"
	Parts          []PartRow
	Assemblies     []string
	Makes          string
	Clamps         []string
	Cautions       []string
	Note           string
	Trouble        string   // what was reported
	Waits          []string // what it waits for
	Why            string   // why this step now
	Gates          string   // what it keeps waiting as a gate, "" if it is none
	Later          string   // what an hour's delay would do, "" where the plan does not tell
	Longer         bool     // it is in hand: the hour is one that it takes longer
	Pinned         string   // to when, "" if it is not
	Actions        []TapForm
	Helpers        *StepHands
	TroubleHref    string // where trouble is reported, "" when it cannot be
	Timer          *Timer // attended time against the estimate; nil before the first start
	Big            bool   // drawn as the one thing on the bench
}

// StepHands are the further hands of a step that takes several people, nil where it
// does not.
type StepHands struct {
	Helping []HelpRow
	Called  string    // that somebody was called, "" if nobody was
	Wanted  string    // what is still wanted, "" if nothing is
	Offers  []TapForm // hands that are free
}

// HelpRow is somebody who helps.
type HelpRow struct {
	Says   string
	Manage TapForm // frees those hands
}

// longName is from how many characters a name is drawn smaller, so that it
// leaves room for what is to be done.
const longName = 45

// Long says whether the name is a long one.
func (c StepCard) Long() bool { return utf8.RuneCountInString(c.Name) >= longName }

// PartRow is so many of one part.
type PartRow struct {
	Count   int
	Name    string
	Size    string // finished, e.g. "1170 × 60 × 45 mm"
	Rough   string // what it is milled from, "" outside milling
	Species string
	Note    string
	Part    int64  // its record
	Ticks   []Tick // one for each piece, where they are tapped off one by one
	Done    int    // how many are
}

// Tick is one piece of a part that is tapped off, or back.
type Tick struct {
	ID         string // made with the page: the same twice is one
	Step, Part int64
	Person     int64 // who taps
	Number     int
	Of         int
	Name       string // of the part
	Done       bool
	Back       string // where plain HTML goes on
}

// Timer is the attended time of a step as of when the page was drawn.
type Timer struct {
	Worked   string  // e.g. "12 min"
	Against  string  // Within or Beyond, whichever holds
	Within   string  // e.g. "of about 25 min"
	Beyond   string  // what is said when it takes longer
	Seconds  int     // so far
	Rate     float64 // how much of each second is its own; 0 while nobody works on it
	Estimate int     // seconds
}

// Shown is how much of the estimate is used up: no more than all of it.
func (t Timer) Shown() int { return min(t.Seconds, t.Estimate) }

// StepRow is one step in a list.
type StepRow struct {
	Name       string
	Href       string
	Commission string
	Mark       string
	Standing   string
	When       string // e.g. "today 14:10"
	Detail     string // e.g. "Planer 1 · about 25 min"
	Action     *TapForm
}
