package views

// Edit is the screen on which the order of work of a commission is changed.
type Edit struct {
	Notice   string
	Name     string
	Href     string // of the commission
	AddHref  string
	Locked   string // why nothing can be changed, "" if it can
	Findings []FindingRow
	Counts   []FindingCount
	Pieces   []EditPiece
}

// EditPiece is one piece with its steps in order.
type EditPiece struct {
	Name  string
	Steps []EditRow // not begun
	Begun []EditRow // these are not changed any more
}

// EditRow is one step in the list.
type EditRow struct {
	ID       int64
	Name     string
	Href     string
	Mark     string
	Standing string
	Detail   string
	Waits    string // what it waits for that is not done
	Findings int
}

// FindingCount is how many findings there are of one severity.
type FindingCount struct {
	Mark, Word string
	Count      int
}

// FindingRow is one objection of the checks.
type FindingRow struct {
	Mark   string // of its severity: "stops", "warns" or "tells"
	Word   string
	Title  string
	Reason string
	Source string
	Steps  []Link
	Remedy *RemedyForm // nil where there is none
}

// RemedyForm is the one tap that mends a finding.
type RemedyForm struct {
	Action  string
	Edition int64
	Finding string // its id
	Piece   int64
	Say     string
}

// Link is a name that leads somewhere.
type Link struct {
	Name, Href string
}

// EditForm is a form of the edit screens. Where the checks objected, it shows
// what they say and asks whether it is to be done all the same.
type EditForm struct {
	Form
	Edition    int64 // of the steps it was drawn from
	Objections []FindingRow
	Hidden     []Field // sent along
	More       []Field // folded under MoreTitle
	MoreTitle  string
	Quiet      bool // the button is not the main one
}

// EditStep is the screen of one step that is to be changed.
type EditStep struct {
	Name       string
	Commission string
	Href       string // the list of steps
	StepHref   string
	Mark       string
	Standing   string
	Locked     string // why it is not changed any more, "" if it is
	Findings   []FindingRow
	Change     EditForm
	Uses       EditForm
	Makes      string // what it makes, "" if nothing
	Split      EditForm
	Move       EditForm
	Remove     EditForm
	Before     []EditLink
	After      []EditLink
	AddLink    EditForm
}

// EditLink is one link of the step, with the forms that change it.
type EditLink struct {
	Name   string // of the step at the other end
	Href   string
	Says   string
	Why    string
	Change EditForm
	Remove EditForm
	Locked bool // its later step is begun
}

// EditAdd is the screen on which a step is added.
type EditAdd struct {
	Commission string
	Href       string // the list of steps
	Action     string // of the choice of a kind
	Kind       Field
	Hidden     []Field // sent along with the choice
	Cautions   []string
	Add        EditForm
}
