package views

// OwnPatterns is the screen of the shop's own patterns and the shipped ones.
type OwnPatterns struct {
	Notice  string
	Wrong   *FileWrong // of the file that was refused
	Own     []OwnPattern
	Shipped []OwnPattern
	Limit   string // the largest file that is taken
}

// OwnPattern is one pattern in the list. Hrefs are "" where there is nothing to do.
type OwnPattern struct {
	Key, Title, Kept   string
	Take, File, Remove string
	Wrong              *FileWrong // why it cannot be used
}

// FileWrong says what is wrong with a pattern file, and where.
type FileWrong struct {
	File, Place, Field, Reason string
}

// KeepPattern asks under what title a piece is kept as a pattern.
type KeepPattern struct {
	Name, Href string
	Wrong      *FileWrong // why it cannot be kept with what was changed
	Pieces     []KeptPiece
	Form       Form
}

// KeptPiece is what a pattern that is kept of a piece carries.
type KeptPiece struct {
	Name     string
	Wrong    string   // why the piece cannot be built anew
	Counts   []string // "3 steps changed"
	Changes  []string // each in a line
	Lost     []string // what a pattern cannot carry
	Apart    bool     // links lead to other pieces of the commission
	Findings []FindingCount
}
