// Package phrase owns sentences whose blanks are still apart from their words,
// so that a screen can say them in another language; it holds no translation
// and never touches records.
package phrase

import "fmt"

// Phrase is a sentence in English, in the form of package fmt, with what fills
// its blanks. Blanks may hold phrases. The zero value says nothing.
type Phrase struct {
	format string
	args   []any
}

// Of makes a phrase.
func Of(format string, args ...any) Phrase { return Phrase{format: format, args: args} }

// Name makes a phrase of words that are the same in every language: what a
// person typed, a name.
func Name(text string) Phrase {
	if text == "" {
		return Phrase{}
	}
	return Phrase{format: "%s", args: []any{text}}
}

// Empty says whether there is nothing to say.
func (p Phrase) Empty() bool { return p.format == "" }

// Format returns the English words with their blanks; what fills them is in Args.
func (p Phrase) Format() string { return p.format }

// Args returns what fills the blanks.
func (p Phrase) Args() []any { return p.args }

// String says the phrase in English.
func (p Phrase) String() string {
	return fmt.Sprintf(p.format, p.args...)
}
