package views

// Trouble asks what is wrong with a step: every answer is one tap.
type Trouble struct {
	Notice     string
	Step       int64
	Name       string
	Href       string
	Commission string
	TapID      string
	Told       string // where what came of it is told
	Note       string // as typed
	Kinds      []TroubleKind
}

// TroubleKind is one kind of trouble with its answers.
type TroubleKind struct {
	Key     string
	Title   string
	Says    string // what it does
	Fields  []Field
	Answers []TroubleAnswer
	More    *TroubleMore
	Link    *Link
}

// TroubleAnswer is one button that reports the trouble.
type TroubleAnswer struct {
	Value  string
	Label  string
	Detail string
	Of     string // said after the label for those who do not see the title
	To     string // where it leads, "" to what came of it
}

// TroubleMore is an answer that has to be typed or chosen.
type TroubleMore struct {
	Title  string
	Open   bool
	Fields []Field
	Answer TroubleAnswer
}

// TroubleTold says what came of trouble.
type TroubleTold struct {
	Href       string
	Step       StepRow
	Said       string // what was reported, by whom and when; "" where none stands any more
	Note       string
	Does       string // what it means for the step
	Came       []StepRow
	Wood       []string
	Cut        string // where the wood is seen to, "" if it needs none or for who may not
	Order      *Link  // where the order of work is looked at, nil for who may not
	Stops      []string
	Planning   bool // no plan was made since
	Promises   []Promised
	Undo       *TapForm
	Settle     *TapForm
	Commission string
}

// Promised is one promise, and what became of it.
type Promised struct {
	Says string
	Mark string // "late", "in-time" or "waiting"
	Word string
}
