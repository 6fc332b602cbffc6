package views

// TapQuestion is a tap that came late and was not possible any more: both
// versions, and what a person can say to it.
type TapQuestion struct {
	ID      string
	Href    string // where the answer goes
	Back    string // where plain HTML goes on
	TapID   string // of a tap in its place
	Said    string // who tapped what, when, and when it came
	Note    string
	OfHref  string // of the step, "" for none
	Why     string // what the records say
	Tablet  string // the name of the tablet it came from, "" if it has none
	Actions []AnswerAction
}

// LateTap is a tap that came too late, and what became of it.
type LateTap struct {
	Said   string // who tapped what, when, and when it came
	Why    string // what the records said
	Answer string
}

// AnswerAction is a tap that is possible now in its place.
type AnswerAction struct {
	Answer string
	Label  string
}

// Tablets is the part of the Shop screen about them.
type Tablets struct {
	This      Form   // this tablet's name and whose it is
	Clock     string // the machine's clock as the page was drawn
	Known     []TabletRow
	Questions []TapQuestion // of all tablets
}

// TabletRow is one tablet that has a name or has tapped.
type TabletRow struct {
	Name      string
	This      bool
	Belongs   string // to whom or to what, "" to nobody
	Connected bool
	Tapped    string // when it tapped last, "" if it did not yet
	ClockOff  string // e.g. "1 day ahead", "" where its clock is right
}

// PageTablet is what a page's scripts are told.
type PageTablet struct {
	Person int64  // who is at this tablet, 0 if nobody said
	Now    string // the shop's clock as the page was drawn
	Zone   string // the shop's, by its IANA name
	BeatMs int64  // from one beat of the live stream to the next
	Moved  []Moved
}

// Moved is how a step's card looks after a tap that was not sent yet.
type Moved struct {
	Mark     string
	Standing string
	Actions  []TapForm
}

// Ahead is what a tablet can show of the next steps while it is not connected.
type Ahead struct {
	Cards    []StepCard
	Runs     []RunCard // those that can be taken now, as they look in hand
	Troubles []Trouble // the question of each step that it knows
}
