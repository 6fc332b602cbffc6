package pattern

import (
	"fmt"
	"strings"

	"faceside/models/phrase"
)

// FieldError is one thing wrong with what was asked of a pattern.
type FieldError struct {
	Field    string        // key of the measure or choice, "" where it is the whole
	Value    string        // what was typed or worked out
	Sentence phrase.Phrase // names field, value and limit
}

func (e *FieldError) Error() string { return e.Sentence.String() }

// Errors lists everything wrong with an Input, so that a form can show each
// reason next to its field.
type Errors struct{ List []*FieldError }

func (e *Errors) Error() string {
	reasons := make([]string, len(e.List))
	for i, f := range e.List {
		reasons[i] = f.Error()
	}
	return strings.Join(reasons, "; ")
}

// Unwrap lets errors.As find the first FieldError.
func (e *Errors) Unwrap() []error {
	out := make([]error, len(e.List))
	for i, f := range e.List {
		out[i] = f
	}
	return out
}

// add notes one more reason, once.
func (e *Errors) add(field, value, format string, args ...any) {
	sentence := phrase.Of(format, args...)
	for _, f := range e.List {
		if f.Field == field && f.Sentence.Equal(sentence) {
			return
		}
	}
	e.List = append(e.List, &FieldError{Field: field, Value: value, Sentence: sentence})
}

// FileError is one thing wrong with a data file. Line and Column count from 1
// and are 0 where the whole file is meant.
type FileError struct {
	File         string
	Line, Column int
	Field        string // e.g. "parts.post.length"
	Reason       string
}

func (e *FileError) Error() string {
	var b strings.Builder
	b.WriteString(e.File)
	if e.Line > 0 {
		fmt.Fprintf(&b, ":%d:%d", e.Line, e.Column)
	}
	b.WriteString(": ")
	if e.Field != "" {
		b.WriteString(e.Field + ": ")
	}
	b.WriteString(e.Reason)
	return b.String()
}
