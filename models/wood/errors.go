package wood

import (
	"fmt"
	"math"
	"strconv"
)

// Error refuses a value. Error() is one plain sentence that names the field, the
// value and the limit.
type Error struct {
	Field   string // which value is refused, e.g. "humidity"
	Value   string // what it was, with its unit, e.g. "-5 %"
	Limit   string // what would do, e.g. "0 to 100 %"
	Message string // the sentence
}

// Error returns the sentence.
func (e *Error) Error() string { return e.Message }

// span is the range a value may have; both ends belong to it.
type span struct {
	field       string
	least, most float64
	unit        string
}

// check refuses a value outside the span, or one that is no number.
func (s span) check(v float64) error {
	if v >= s.least && v <= s.most {
		return nil
	}
	value, limit := s.say(v), figure(s.least)+" to "+s.say(s.most)
	message := fmt.Sprintf("The %s, %s, must lie between %s and %s.", s.field, value, s.say(s.least), s.say(s.most))
	if math.IsNaN(v) {
		message = fmt.Sprintf("The %s is not a number; it must lie between %s and %s.", s.field, s.say(s.least), s.say(s.most))
	}
	return &Error{Field: s.field, Value: value, Limit: limit, Message: message}
}

func (s span) say(v float64) string { return figure(v) + " " + s.unit }

// figure writes a number as briefly as it can be told apart at the bench.
func figure(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// sound refuses a length that is not positive, or longer than any board.
func sound(field string, l Length) error {
	if l > 0 && l <= Greatest {
		return nil
	}
	return &Error{Field: field, Value: l.Exactly(Millimetres), Limit: "more than 0, at most 100 m",
		Message: fmt.Sprintf("The %s, %s, must be more than 0 and at most 100 m.", field, l.Exactly(Millimetres))}
}

// firstOf is the first error there is.
func firstOf(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}
