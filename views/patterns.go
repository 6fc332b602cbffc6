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
	Form       Form
}
