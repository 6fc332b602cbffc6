package pattern

import (
	"errors"
	"fmt"
	"regexp"
)

// reader turns the scalars of one file into checked things. It keeps the first
// error, after which it does nothing more, so that callers need not look after
// every value.
type reader struct {
	file string
	err  error
}

var (
	nameShape = regexp.MustCompile(`^[a-z][a-z0-9_]{0,39}$`) // names used in expressions
	keyShape  = regexp.MustCompile(`^[a-z][a-z0-9-]{0,39}$`) // keys of parts, steps and the like
)

// fail keeps the first error, at a place of the file.
func (r *reader) fail(at scalar, field, format string, args ...any) {
	if r.err == nil {
		r.err = &FileError{File: r.file, Line: at.line, Column: at.column, Field: field, Reason: fmt.Sprintf(format, args...)}
	}
}

// need is a text that must be there.
func (r *reader) need(s, near scalar, field string) string {
	if !s.set || s.text == "" {
		r.fail(near, field, "it is missing")
	}
	return s.text
}

// name is a name for use in expressions, new to reach.
func (r *reader) name(s, near scalar, field string, reach names) string {
	text := r.need(s, near, field)
	switch {
	case r.err != nil:
	case !nameShape.MatchString(text):
		r.fail(s, field, "%q is not a name: small letters, digits and _ from a letter on, at most 40", text)
	case reserved(text):
		r.fail(s, field, "%q is a word of the expression language", text)
	case reach[text] != 0:
		r.fail(s, field, "the name %q is taken", text)
	}
	return text
}

// key is a key of its own within taken, to which it is added.
func (r *reader) key(s, near scalar, field string, taken map[string]bool) string {
	text := r.need(s, near, field)
	switch {
	case r.err != nil:
	case !keyShape.MatchString(text):
		r.fail(s, field, "%q is not a key: small letters, digits and hyphens from a letter on, at most 40", text)
	case taken[text]:
		r.fail(s, field, "the key %q is taken", text)
	}
	taken[text] = true
	return text
}

// oneOf is a text out of a closed set.
func (r *reader) oneOf(s, near scalar, field string, options ...string) string {
	text := r.need(s, near, field)
	for _, o := range options {
		if text == o {
			return text
		}
	}
	r.fail(s, field, "%q is none of %v", text, options)
	return text
}

// truth is true or false; fallback where nothing stands.
func (r *reader) truth(s scalar, field string, fallback bool) bool {
	if !s.set {
		return fallback
	}
	return r.oneOf(s, s, field, "true", "false") == "true"
}

// formula compiles an expression; nil where nothing stands.
func (r *reader) formula(s scalar, field string, want sort, reach names) *formula {
	if r.err != nil || !s.set {
		return nil
	}
	f, err := compile(s.text, want, reach)
	r.wrong(s, field, err)
	return f
}

// needFormula compiles an expression that must be there.
func (r *reader) needFormula(s, near scalar, field string, want sort, reach names) *formula {
	r.need(s, near, field)
	return r.formula(s, field, want, reach)
}

// template compiles a text with expressions in braces; nil where nothing stands.
func (r *reader) template(s scalar, field string, reach names) *template {
	if r.err != nil || !s.set {
		return nil
	}
	t, err := compileTemplate(s.text, reach)
	r.wrong(s, field, err)
	return t
}

// wrong keeps an expression's error at its place in the file.
func (r *reader) wrong(s scalar, field string, err error) {
	var at *expressionError
	if !errors.As(err, &at) {
		if err != nil {
			r.fail(s, field, "%s", err)
		}
		return
	}
	if at.line == 0 {
		s.column += at.column
	} else {
		s.line, s.column = s.line+at.line, at.column+1
	}
	r.fail(s, field, "%s", at.reason)
}
