package views

// StockNav are the screens of the wood, with the one that is shown.
type StockNav struct{ At string }

// Screens lists them in the order people use them.
func (StockNav) Screens() []NavItem {
	return []NavItem{
		{"boards", "Boards on hand", "/stock"},
		{"cuts", "Cutting plan", "/stock/cuts"},
		{"buy", "Boards to buy", "/stock/buy"},
		{"runs", "Milling runs", "/stock/runs"},
	}
}

// Stock is the screen of the boards on hand.
type Stock struct {
	Nav    StockNav
	Groups []BoardGroup
	Add    Form
	Notice string
	Boards int

	Cuttings []CuttingRow // the newest
}

// CuttingRow is one cutting in a list.
type CuttingRow struct {
	Name, Href, At string
	Facts          []string
	Undone         bool
}

// Cutting is the screen of one cutting.
type Cutting struct {
	Name, At, UndoneAt string
	Used               []BoardRow // off the rack
	Back               []BoardRow // offcuts, and boards set apart, with their new numbers
	Parts              []string
	Undo               string // where its undo is sent
	Notice             string
}

// BoardGroup is boards of one species and thickness.
type BoardGroup struct {
	Name    string // e.g. "8/4 Walnut"
	Measure string // of all of them
	Boards  []BoardRow
}

// BoardRow is one record of boards in a list.
type BoardRow struct {
	Number  int64
	Href    string
	Size    string
	Facts   []string // count, log, defects, note
	Measure string
}

// Board is the screen of one board.
type Board struct {
	Number  int64
	Title   string
	Facts   []string
	Drawing Drawing
	Edit    Form
	Defects []DefectRow
	Mark    Form   // marks a defect
	NoMark  string // why none can be marked
	Remove  string // where its removal is sent
	Notice  string
}

// DefectRow is a marked defect.
type DefectRow struct {
	Name, Where string
	Remove      string // where its removal is sent
}

// CutList is the cut list of one commission.
type CutList struct {
	Commission, Href string
	Client, Promised string
	Open             bool // it still takes wood: it can be planned
	Groups           []CutGroup
	Totals           []string
	Wrong            []string
	Cuts             string // where the cutting plan of this commission is
	Together         Together
}

// Together is what of a commission's parts is to match in colour.
type Together struct {
	Action string
	Groups []TogetherGroup
	Offers []TogetherGroup // assemblies that may be groups, one tap each
	Parts  []TogetherPart  // to make a group of
	Typed  string          // the name of a group that was refused
	Notice string
}

// TogetherGroup is parts that belong together.
type TogetherGroup struct {
	Name   string
	IDs    []string
	Names  []string // with their number, as IDs
	Stocks []string // that they are cut from: more than one is kept together one by one
}

// TogetherPart is a part that can be chosen.
type TogetherPart struct {
	ID, Name, Detail string
	Chosen           bool
}

// CutGroup is parts of one stock that are planed to one thickness.
type CutGroup struct {
	Name    string // e.g. "Walnut, 45 mm thick"
	Buy     string // e.g. "from 8/4 stock", or why none
	Measure string
	Rows    []CutRow
}

// CutRow is one line of a cut list.
type CutRow struct {
	Count           int
	Name            string
	Finished, Rough string
	Details         []string // grain, note
	Done            bool     // it is cut already
}

// ToBuy is the screen of what to buy for all open commissions.
type ToBuy struct {
	Nav    StockNav
	Form   Form // a question, not a record: it is sent as a query
	Rows   []PurchaseRow
	Totals []string
	Wrong  []string
	Thick  []string // parts that no stock is thick enough for
	Refuse string   // why there is no list
}

// PurchaseRow is one stock.
type PurchaseRow struct {
	Name   string // e.g. "8/4 Walnut"
	Needed string // parts and their measure
	OnHand string // how much of it the rack gives
	Buy    string // "" where nothing is to be bought
	Least  string // how long and wide a board must at least be
	Boards string // about how many of the size asked
	Bought *Bought
}

// Bought is a form that puts boards onto the rack, filled in as they are to be bought.
type Bought struct {
	FormID                      string // the same form twice is one purchase
	Species, Quarter, Thickness string
	Count, Length, Width        string
}

// Cuts is the screen of the cutting plan.
type Cuts struct {
	Nav     StockNav
	Form    Form // a question, not a record: it is sent as a query
	For     string
	Stocks  []CutStock
	Totals  []string
	Caution string
	Wrong   []string
	Refuse  string // why there is no plan
	Notice  string // why it could not be booked as cut
	FormID  string // of this plan, so that sending it twice books it once
	Booked  int    // stocks that can be booked as cut
	Keep    string // the least size of an offcut that is kept
}

// CutStock is the plan for one stock.
type CutStock struct {
	Name   string
	Facts  []string // waste, bound and gap
	Parts  []CutPart
	Boards []CutBoard
	Short  []string // what must be bought
	Wrong  string   // why there is no plan

	Together []string // how the parts that are to match lie
	Apart    []string // which of them do not match
	Plan     string   // what is sent to book it as cut; "" where nothing is cut
	Only     string   // its number among those that can be booked
}

// CutPart is what a letter in the drawings stands for.
type CutPart struct {
	Letter     string
	Count      int
	Name, Size string
	Commission string
}

// CutBoard is one board with its cuts.
type CutBoard struct {
	Title   string
	Facts   []string
	Drawing Drawing
	Cuts    []CutStep
}

// CutStep is one cut.
type CutStep struct {
	Kind, Measure string // e.g. "Crosscut", "at 812 mm"
	From          string // the piece in hand
	Gives         string
}

// Runs is the screen of the milling runs.
type Runs struct {
	Nav   StockNav
	Runs  []MillingRun
	Wrong []string
}

// MillingRun is everything of one thickness.
type MillingRun struct {
	Thickness string
	Facts     []string
	Caution   string
	Rows      []CutRow
}
