package handlers

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"os"
	"regexp"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/gin-gonic/gin"

	"faceside/handlers/tapform"
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
	say   words // as the fields were written
	wrong map[string]phrase.Phrase
}

// reader reads the form of a request.
func (s *server) reader(c *gin.Context) (*reader, error) {
	if err := parseForm(c); err != nil {
		return nil, err
	}
	return newReader(c.Request.PostForm, s.words(c)), nil
}

func newReader(form url.Values, say words) *reader {
	return &reader{form: form, say: say, wrong: map[string]phrase.Phrase{}}
}

// formReadKey is where it is kept what came of reading a request's form.
const formReadKey = "form-read"

// parseForm reads a request's form. What no browser would write is refused; a
// form that is too large stays that.
func parseForm(c *gin.Context) error {
	err, read := c.Value(formReadKey).(error)
	if !read {
		err = c.Request.ParseForm()
	}
	if err == nil {
		return readableForm(c.Request.PostForm)
	}
	var tooBig *http.MaxBytesError
	if errors.As(err, &tooBig) || errors.Is(err, os.ErrDeadlineExceeded) {
		return fmt.Errorf("read the form: %w", err)
	}
	return &models.Error{Code: models.Invalid, Field: "form", Sentence: phrase.Of("The form cannot be read: it is not written as a browser writes one.")}
}

// readableForm refuses what no keyboard writes: bytes that are no text, and control
// characters, which end texts elsewhere or turn around what a screen or a log shows.
func readableForm(form url.Values) error {
	for name, values := range form {
		for _, value := range values {
			if !readableText(name) || !readableText(value) {
				return &models.Error{Code: models.Invalid, Field: short(strings.ToValidUTF8(name, "?")), Value: short(strings.ToValidUTF8(value, "?")),
					Sentence: phrase.Of("%s: there are signs in it that are no text; nothing was saved.", phrase.Name(fmt.Sprintf("%+q", short(name))))}
			}
		}
	}
	return nil
}

// readableText says whether a text is UTF-8 without control characters other than the
// ends of lines and tabs.
func readableText(text string) bool {
	return utf8.ValidString(text) && !strings.ContainsFunc(text, func(r rune) bool { return unicode.IsControl(r) && !strings.ContainsRune("\t\r\n", r) })
}

func (r *reader) text(name string) string { return strings.TrimSpace(r.form.Get(name)) }

// kept reads a text that its field showed as the screens say it. Left as it was shown
// it stays what is kept, so that a shipped name goes on following the shop's language.
func (r *reader) kept(name, was string) string {
	text := strings.ReplaceAll(r.text(name), "\r\n", "\n")
	if text == strings.TrimSpace(r.say.shipped(was)) {
		return was
	}
	return text
}

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

var (
	decimalComma = regexp.MustCompile(`^(-?[0-9]+),([0-9]+)( *[a-z]*)$`)
	// pointedThousands is what twelve hundred and one and a fifth both look like.
	pointedThousands = regexp.MustCompile(`^-?[1-9][0-9]{0,2}(\.[0-9]{3})+( *[a-z]*)$`)
	commaThousands   = regexp.MustCompile(`,[0-9]{3}\b`)
)

// pointed writes a number that was typed, with or without a unit, with a decimal point.
// Where the language writes a comma, three digits behind a point may be thousands: ok
// is false then. Where it writes a point a comma before three digits is left as it is,
// and not read.
func (w words) pointed(text string) (number string, ok bool) {
	if w.figure(".") == "," {
		return decimalComma.ReplaceAllString(text, "$1.$2$3"), !pointedThousands.MatchString(text)
	}
	if commaThousands.MatchString(text) {
		return text, true
	}
	return decimalComma.ReplaceAllString(text, "$1.$2$3"), true
}

// decimal reads what was typed in a field as a number with a decimal point.
func (r *reader) decimal(name string) string {
	text := r.text(name)
	number, ok := r.say.pointed(text)
	if !ok {
		r.refuse(name, "%q may mean two things: write it without the point, or with a comma.", text)
	}
	return number
}

// number reads a number with a decimal point or comma; nothing typed is 0.
func (r *reader) number(name string) float64 {
	text := r.decimal(name)
	if text == "" || r.refused(name) {
		return 0
	}
	x, err := strconv.ParseFloat(text, 64)
	if err != nil || x != x {
		r.refuse(name, "%q is not a number; write for example 21 or 20.5.", r.text(name))
		return 0
	}
	return x
}

// length reads a length in the shop's units. What was shown and not changed stays
// exactly what it was, however finely the shop shows it; nothing typed is 0.
func (r *reader) length(name string, was wood.Length) wood.Length {
	if r.text(name) == r.say.length(was) {
		return was
	}
	text := r.decimal(name)
	if text == "" || r.refused(name) {
		return 0
	}
	l, err := wood.ParseLength(text, r.say.shop.Units)
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
	minutes, ok := tapform.Span(text)
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

// clock reads a time of day that must be given.
func (r *reader) clock(name string) int {
	minute, given := r.minute(name)
	if !given && !r.refused(name) {
		r.refuse(name, "Choose a time, or write for example 07:30.")
	}
	return minute
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
