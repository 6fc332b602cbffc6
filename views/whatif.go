package views

// WhatIf is the plan as it would be if changes were kept, beside today's; without
// changes it only asks for one.
type WhatIf struct {
	Notice  string
	Changes []TriedChange
	Forms   []TryGroup // changes that can be tried, alone or beside those there are

	Result   bool
	Href     string // of this what-if
	Better   string // of what comes after the first answer by itself, "" after it
	Longer   string // of a longer search for it, "" after one
	First    bool   // it is the first answer
	Act      string // of keeping it, so that sending it twice keeps it once
	Revision int64
	Lines    []WhatIfLine
	Verdict  string // what becomes of the promises, in one sentence
	Promises []PromiseIf
	Same     string // promises that do not move, told together; "" for none
	Notes    []string
	Cautions []string
	Proved   bool
}

// TriedChange is one of the changes that are tried together.
type TriedChange struct {
	Says    string
	Value   string // as the form of the whole carries it
	TakeOut string // the same without it
}

// TryGroup is the forms of one topic.
type TryGroup struct {
	Title string
	Forms []TryForm
}

// TryForm asks for one change.
type TryForm struct {
	Form
	Kind string
	With []string // the changes that are tried already
}

// WhatIfLine is one figure, now and then.
type WhatIfLine struct {
	What, Now, Then string
	Change          string // "2 h more", "" where it is the same
}

// PromiseIf is what becomes of one commission.
type PromiseIf struct {
	Name, Href       string
	Promised         string
	Now, Then        string // when it is complete
	NowWord, NowMark string
	ThenWord, Mark   string
	Change           string // "1 day earlier"
	Worse, Better    bool
	ChangeOfPromise  string // "was promised for Fri 4 Dec"
}

// Steered lists what was steered.
type Steered struct {
	Notice string
	Kept   string // what was kept just now
	Rows   []SteeredRow
}

// SteeredRow is one kept change.
type SteeredRow struct {
	Says   string
	Kept   string // by whom and when
	State  string // "in force", "over", "let go ..."
	LetGo  string // where it is let go, "" where nothing is to be put back any more
	Active bool
}

// Helps is what would help a commission whose promise is in danger.
type Helps struct {
	Name, Href, Commission string
	Promised               string
	Ends, Word, Mark       string // as planned today
	At                     string // of the records that were looked at
	Since                  bool   // something was changed since
	Running                bool
	Tried, Of              int
	Levers                 []Lever // the best first
	More                   []Lever // those behind them
	Wrong                  string
}

// Lever is a change that helps.
type Lever struct {
	Says   []string
	Href   string // of its what-if
	Own    PromiseIf
	Others []PromiseIf // the other promises that move
	Cost   string      // "4 h more of hands", "" for none
}
