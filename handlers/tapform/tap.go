package tapform

import (
	"net/url"
	"strconv"
	"strings"
	"time"

	"github.com/google/uuid"

	"faceside/models/phrase"
)

// Tap is the form of a tap, as it was said.
type Tap struct {
	ID   string // a UUID
	Kind string
	Run  string
	Note string

	Step, Station, Setup, Helper, Person, Undoes int64 // numbers of records; 0: none was said

	Steps    []int64 // in the order in which they are to be done
	UndoesID string
	SaidAt   *time.Time // by the tablet's own clock; nil: it does not say
	Trouble  *Trouble   // nil: none, or as the note says
	Queue    *Queue     // nil: sent by a plain form
}

// Queue is where a tap stands in its tablet's queue.
type Queue struct {
	ID     string
	Number int64
	First  bool
	Late   bool
	Waited time.Duration
	Heard  *time.Time
	SentAt *time.Time // by the tablet's own clock
}

// Refusal is what cannot be read.
type Refusal struct {
	Field, Value string
	Sentence     phrase.Phrase
}

func refused(field, value, format string, args ...any) *Refusal {
	return &Refusal{Field: field, Value: value, Sentence: phrase.Of(format, args...)}
}

// longestWaited is the longest that a tap can have waited on a tablet.
const longestWaited = 100 * 365 * 24 * time.Hour

// troubled is the kind of tap that says what is wrong.
const troubled = "trouble"

// Read reads the form of a tap, as far as it can be read.
func Read(form url.Values) (Tap, *Refusal) {
	t := Tap{
		ID: form.Get("tap_id"), Kind: form.Get("kind"), Run: form.Get("run"), Note: note(form),
		UndoesID: form.Get("undoes_id"), SaidAt: clock(form.Get("said_at")),
	}
	if wrong := t.numbers(form); wrong != nil {
		return t, wrong
	}
	if _, err := uuid.Parse(t.ID); err != nil {
		return t, refused("tap_id", t.ID, "The tap has no id of its own (%q): load the page again.", t.ID)
	}
	var wrong *Refusal
	if t.Kind == troubled {
		if t.Trouble, wrong = readTrouble(form); wrong != nil {
			return t, wrong
		}
	}
	if form.Get("queue") != "" {
		t.Queue, wrong = readQueue(form)
	}
	return t, wrong
}

// numbers reads the numbers of records that a tap names.
func (t *Tap) numbers(form url.Values) *Refusal {
	for _, n := range []struct {
		name string
		to   *int64
	}{{"step", &t.Step}, {"station", &t.Station}, {"setup", &t.Setup}, {"undoes", &t.Undoes}, {"helper", &t.Helper}, {"person", &t.Person}} {
		var wrong *Refusal
		if *n.to, wrong = number(n.name, form.Get(n.name)); wrong != nil {
			return wrong
		}
	}
	for _, text := range form["steps"] {
		id, wrong := number("step", text)
		if wrong != nil {
			return wrong
		}
		t.Steps = append(t.Steps, id)
	}
	return nil
}

// readQueue reads where a tap stands in its tablet's queue: the form of any tap with a
// few fields more.
func readQueue(form url.Values) (*Queue, *Refusal) {
	q := Queue{ID: form.Get("queue"), First: form.Get("first") != "", Late: form.Get("late") != "", Heard: clock(form.Get("heard")), SentAt: clock(form.Get("sent_at"))}
	var err error
	if q.Number, err = strconv.ParseInt(form.Get("number"), 10, 64); err != nil {
		return nil, refused("number", form.Get("number"), "%q is no number of a tap in a tablet's queue.", form.Get("number"))
	}
	if text := form.Get("waited"); text != "" {
		ms, err := strconv.ParseInt(text, 10, 64)
		if err != nil || ms < 0 || ms > int64(longestWaited/time.Millisecond) {
			return nil, refused("waited", text, "A tap cannot have waited %q milliseconds.", text)
		}
		q.Waited = time.Duration(ms) * time.Millisecond
	}
	return &q, nil
}

// number reads the number of a record; "" is none.
func number(what, text string) (int64, *Refusal) {
	if text == "" {
		return 0, nil
	}
	id, err := strconv.ParseInt(text, 10, 64)
	if err != nil {
		return 0, refused(what, text, "The %s has no number %q.", phrase.Of(what), text)
	}
	return id, nil
}

// note is the reason that was tapped and the note that was typed.
func note(form url.Values) string {
	reason, note := strings.TrimSpace(form.Get("reason")), strings.TrimSpace(form.Get("note"))
	if reason == "" || note == "" {
		return reason + note
	}
	return reason + ": " + note
}

// clock is what a tablet's clock said; nil where it told nothing that can be read.
func clock(text string) *time.Time {
	t, err := time.Parse(time.RFC3339, text)
	if err != nil {
		return nil
	}
	return &t
}
