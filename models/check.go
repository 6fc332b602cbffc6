package models

import (
	"fmt"
	"regexp"
	"strings"
	"time"
	"unicode/utf8"

	"faceside/models/wood"
)

// The checks here are of single fields. Each returns nil or an *Error naming
// the field and the value.

// nameLimit is the longest name, in characters.
const nameLimit = 120

// mostLength is the greatest length that can be asked for: 100 m.
const mostLength = 100_000 * wood.Millimetre

// keyForm is what a key looks like, e.g. "planer-1" or "end.post".
var keyForm = regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9._/:#-]*$`)

// first returns the first error that is one.
func first(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// textAtMost refuses a text that is too long or not text.
func textAtMost(field, value string, most int) error {
	if !utf8.ValidString(value) {
		return invalid(field, strings.ToValidUTF8(value, "?"), "The %s is not text.", Named(field))
	}
	if n := utf8.RuneCountInString(value); n > most {
		return invalid(field, value, "The %s has %d characters; at most %d can be kept.", Named(field), n, most)
	}
	return nil
}

// nameGiven refuses an empty name and one that is too long.
func nameGiven(field, value string) error {
	if strings.TrimSpace(value) == "" {
		return invalid(field, value, "The %s is empty.", Named(field))
	}
	return textAtMost(field, value, nameLimit)
}

// keyGiven refuses what is not a key.
func keyGiven(field, value string) error {
	if !keyForm.MatchString(value) {
		return invalid(field, value, "The %s %q is no key: use letters and digits without accents, and - . _ / : # after the first.", Named(field), value)
	}
	return textAtMost(field, value, nameLimit)
}

// between refuses a number outside its range.
func between[N int | float64](field string, value, least, most N, unit string) error {
	if value >= least && value <= most { // false for NaN too
		return nil
	}
	if unit != "" {
		unit = " " + unit
	}
	return invalid(field, value, "The %s %v%s is not between %v and %v%s.", Named(field), value, unit, least, most, unit)
}

// lengthBetween refuses a length outside its range.
func lengthBetween(field string, value, least wood.Length) error {
	if value >= least && value <= mostLength {
		return nil
	}
	mm := float64(value) / float64(wood.Millimetre)
	if least == 0 {
		return invalid(field, mm, "The %s %g mm is not between 0 and 100 m.", Named(field), mm)
	}
	return invalid(field, mm, "The %s %g mm is not above 0 and at most 100 m.", Named(field), mm)
}

// oneOf refuses a word that is not among those known.
func oneOf[S ~string](field string, value S, known ...S) error {
	words := make([]string, len(known))
	for i, k := range known {
		if value == k {
			return nil
		}
		words[i] = fmt.Sprintf("%q", string(k))
	}
	return invalid(field, value, "The %s %q is not one of %s.", Named(field), string(value), strings.Join(words, ", "))
}

// dateGiven refuses what is not a day of the calendar, YYYY-MM-DD.
func dateGiven(field, value string) error {
	if _, err := time.Parse(time.DateOnly, value); err != nil {
		return invalid(field, value, "The %s %q is not a day such as 2026-03-31.", Named(field), value)
	}
	return nil
}
