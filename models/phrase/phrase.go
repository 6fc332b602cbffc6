// Package phrase owns sentences whose blanks are still apart from their words,
// so that a screen can say them in another language; it holds no translation
// and never touches records.
package phrase

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
)

// Phrase is a sentence in English, in the form of package fmt, with what fills
// its blanks. Blanks may hold phrases. The zero value says nothing.
type Phrase struct {
	format string
	args   []any
}

// Key is the English of a message that stands in a table and not where it is
// said; the catalogue's test finds it by this type.
type Key string

// Of makes a phrase.
func Of(format string, args ...any) Phrase { return Phrase{format: format, args: args} }

// Of makes a phrase of a message from a table.
func (k Key) Of(args ...any) Phrase { return Phrase{format: string(k), args: args} }

// Name makes a phrase of words that are the same in every language: what a
// person typed, a name.
func Name(text string) Phrase {
	if text == "" {
		return Phrase{}
	}
	return Phrase{format: "%s", args: []any{text}}
}

// Then says one sentence after another; an empty one is left out.
func (p Phrase) Then(next Phrase) Phrase {
	switch {
	case p.Empty():
		return next
	case next.Empty():
		return p
	}
	return Of("%s %s", p, next)
}

// List says "a", "a and b", "a, b and c".
func List[T any](items []T) Phrase {
	switch len(items) {
	case 0:
		return Phrase{}
	case 1:
		return Of("%s", items[0])
	}
	last := len(items) - 1
	return Of("%s and %s", Commas(items[:last]), items[last])
}

// Commas says "a", "a, b", "a, b, c".
func Commas[T any](items []T) Phrase {
	if len(items) == 0 {
		return Phrase{}
	}
	said := Of("%s", items[0])
	for _, item := range items[1:] {
		said = Of("%s, %s", said, item)
	}
	return said
}

// Empty says whether there is nothing to say.
func (p Phrase) Empty() bool { return p.format == "" }

// Format returns the English words with their blanks; what fills them is in Args.
func (p Phrase) Format() string { return p.format }

// Args returns what fills the blanks.
func (p Phrase) Args() []any { return p.args }

// String says the phrase in English.
func (p Phrase) String() string {
	if len(p.args) == 0 && !strings.Contains(p.format, "%") {
		return Plain(p.format)
	}
	return fmt.Sprintf(Plain(p.format), p.args...)
}

// Equal tells whether two phrases say the same.
func (p Phrase) Equal(other Phrase) bool { return p.String() == other.String() }

var verb = regexp.MustCompile(`%(?:\[(\d+)\])?[-+# 0]*\d*(?:\.\d+)?([a-zA-Z%])`)

// Verbatim tells whether a blank is filled with what a person typed, which no language
// changes: its words say %q.
func Verbatim(format string, blank int) bool {
	if !strings.Contains(format, "%q") && !strings.Contains(format, "]q") {
		return false
	}
	next := 0
	for _, m := range verb.FindAllStringSubmatch(format, -1) {
		if m[2] == "%" {
			continue
		}
		if m[1] != "" {
			n, err := strconv.Atoi(m[1])
			if err != nil {
				return false
			}
			next = n - 1
		}
		if next == blank && m[2] == "q" {
			return true
		}
		next++
	}
	return false
}

// Plain is the English of a message without the note that tells it from the same
// English in another sense: "Open ## a commission" is said "Open".
func Plain(key string) string {
	text, _, _ := strings.Cut(key, " ## ")
	return text
}
