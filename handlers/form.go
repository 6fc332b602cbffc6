package handlers

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"regexp"
	"strconv"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/models/phrase"
	"faceside/models/wood"
	"faceside/views"
)

// formError says what is wrong with the fields of a form, by their names.
type formError struct {
	fields map[string]phrase.Phrase
}

func (e *formError) Error() string {
	return fmt.Sprintf("fields that cannot be read: %d", len(e.fields))
}

// reader reads the fields of a form and notes what cannot be read, so that
// everything wrong is told at once.
type reader struct {
	form  url.Values
	units string // of lengths typed without one
	wrong map[string]phrase.Phrase
}

func newReader(c *gin.Context, units string) (*reader, error) {
	if err := parseForm(c); err != nil {
		return nil, err
	}
	return &reader{form: c.Request.PostForm, units: units, wrong: map[string]phrase.Phrase{}}, nil
}

// parseForm reads a request's form. What no browser would write is refused; a
// form that is too large stays that.
func parseForm(c *gin.Context) error {
	err := c.Request.ParseForm()
	if err == nil {
		return nil
	}
	var tooBig *http.MaxBytesError
	if errors.As(err, &tooBig) {
		return fmt.Errorf("read the form: %w", err)
	}
	return &models.Error{Code: models.Invalid, Field: "form", Sentence: phrase.Of("The form cannot be read: it is not written as a browser writes one.")}
}

func (r *reader) text(name string) string { return strings.TrimSpace(r.form.Get(name)) }

func (r *reader) check(name string) bool { return r.form.Get(name) != "" }

func (r *reader) refuse(name, format string, args ...any) {
	r.wrong[name] = phrase.Of(format, args...)
}

// whole reads a whole number; nothing typed is 0.
func (r *reader) whole(name string) int {
	text := r.text(name)
	if text == "" {
		return 0
	}
	n, err := strconv.Atoi(text)
	if err != nil {
		r.refuse(name, "%q is not a whole number.", text)
	}
	return n
}

// decimalComma is a number as many languages write it. One with three digits after
// the comma might be meant as thousands, so it is not read.
var decimalComma = regexp.MustCompile(`^(-?[0-9]+),([0-9]{1,2})( *[a-z]*)$`)

// pointed writes a number, with or without a unit, with a decimal point.
func pointed(text string) string { return decimalComma.ReplaceAllString(text, "$1.$2$3") }

// number reads a number with a decimal point or comma; nothing typed is 0.
func (r *reader) number(name string) float64 {
	text := r.text(name)
	if text == "" {
		return 0
	}
	x, err := strconv.ParseFloat(pointed(text), 64)
	if err != nil || x != x {
		r.refuse(name, "%q is not a number; write for example 21 or 20.5.", text)
		return 0
	}
	return x
}

// length reads a length in the shop's units; nothing typed is 0.
func (r *reader) length(name string) wood.Length {
	text := r.text(name)
	if text == "" {
		return 0
	}
	l, err := wood.ParseLength(pointed(text), r.units)
	if err != nil {
		r.refuse(name, "%s.", capital(strings.TrimSuffix(err.Error(), ".")))
	}
	return l
}

// need refuses the fields among those named in which nothing was typed.
func (r *reader) need(names ...string) {
	for _, name := range names {
		if r.text(name) == "" {
			r.refuse(name, "Nothing was typed here.")
		}
	}
}

// span reads a span of time in minutes; nothing typed is 0.
func (r *reader) span(name string) int {
	text := r.text(name)
	if text == "" {
		return 0
	}
	minutes, ok := parseSpan(text)
	if !ok {
		r.refuse(name, "%q is no span of time; write for example 45 min, 4 h or 7 days.", text)
	}
	return minutes
}

// record reads the number of another record; nothing chosen is nil.
func (r *reader) record(name string) *models.ID {
	text := r.text(name)
	if text == "" {
		return nil
	}
	id, err := strconv.ParseInt(text, 10, 64)
	if err != nil {
		r.refuse(name, "%q is no number of a record.", text)
		return nil
	}
	return &id
}

// minute reads a time of day such as 07:30 in minutes from midnight; given is
// false where nothing was typed.
func (r *reader) minute(name string) (minute int, given bool) {
	text := r.text(name)
	if text == "" {
		return 0, false
	}
	if text == "24:00" {
		return 24 * 60, true
	}
	t, err := time.Parse("15:04", text)
	if err != nil {
		r.refuse(name, "%q is no time of day; write for example 07:30.", text)
		return 0, false
	}
	return t.Hour()*60 + t.Minute(), true
}

// refused tells whether a field could not be read.
func (r *reader) refused(name string) bool {
	_, refused := r.wrong[name]
	return refused
}

// err is nil when every field could be read.
func (r *reader) err() error {
	if len(r.wrong) == 0 {
		return nil
	}
	return &formError{fields: r.wrong}
}

// refuse puts what was typed back into a form, and what is wrong beside its field.
func (w words) refuse(form *views.Form, typed url.Values, err error) {
	form.Open = true
	for i := range form.Fields {
		form.Fields[i].Value = typed.Get(form.Fields[i].Name)
	}
	form.Notice = w.blame(form.Fields, err)
}

// blame writes an error beside the fields it is about, and returns what is
// about none of them.
func (w words) blame(fields []views.Field, err error) string {
	if err == nil {
		return ""
	}
	var many *formError
	if errors.As(err, &many) {
		return w.blameAll(fields, many)
	}
	var one *models.Error
	if errors.As(err, &one) && one.Field != "" {
		if f := fieldNamed(fields, fieldName(one.Field)); f != nil {
			f.Error = w.tell(one.Sentence)
			return ""
		}
	}
	return w.sentence(err)
}

func (w words) blameAll(fields []views.Field, err *formError) string {
	left := ""
	for name, why := range err.fields {
		if f := fieldNamed(fields, name); f != nil {
			f.Error = w.tell(why)
		} else {
			left = w.tell(why)
		}
	}
	return left
}

func fieldNamed(fields []views.Field, name string) *views.Field {
	for i := range fields {
		if fields[i].Name == name {
			return &fields[i]
		}
	}
	return nil
}

// fieldName is the name in a form of what the store calls a field.
func fieldName(field string) string { return strings.ReplaceAll(field, " ", "_") }
