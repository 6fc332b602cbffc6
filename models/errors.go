package models

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"time"

	"faceside/models/phrase"
)

// Code says what kind of refusal an Error is.
type Code string

// The codes of an Error.
const (
	Invalid   Code = "invalid"    // a field's value cannot be
	NotFound  Code = "not found"  // no such record
	Gone      Code = "gone"       // there was one, and it will not come back
	Conflict  Code = "conflict"   // somebody else has it, or things have moved on
	Stale     Code = "stale"      // made from an older state of the records
	Internal  Code = "internal"   // the store itself failed
	Barred    Code = "barred"     // not for who asks
	SignedOut Code = "signed out" // only for who is signed in
	TooSoon   Code = "too soon"   // not yet: Wait says how long
	Busy      Code = "busy"       // too many want the same at once: Wait says how long
	NoRoom    Code = "no room"    // as much as may be kept is kept already

	DiskFull  Code = "disk full"  // the store failed: there is no room for its records
	DiskFails Code = "disk fails" // the store failed: its records cannot be read or written
)

// Refusal says whether the records do not allow something, and not that the store
// itself failed.
func (c Code) Refusal() bool { return c != "" && c != Internal && c != DiskFull && c != DiskFails }

// Error is a refusal. Error() is one plain sentence for a person at a bench;
// what the database said, if anything, is only behind Unwrap.
type Error struct {
	Code     Code
	Field    string // the field at fault, "" if none is
	Value    string // what was in it
	Sentence phrase.Phrase
	Wait     time.Duration // for TooSoon and Busy: after which it may be tried again
	cause    error
}

// Error returns the sentence in English.
func (e *Error) Error() string { return e.Sentence.String() }

// Unwrap returns what lies behind a failure of the store, for the log.
func (e *Error) Unwrap() error { return e.cause }

// CodeOf returns the code of the first Error in err's chain, Internal for any
// other error and "" for nil.
func CodeOf(err error) Code {
	if err == nil {
		return ""
	}
	var e *Error
	if errors.As(err, &e) {
		return e.Code
	}
	return Internal
}

// WaitOf returns after which time what was refused may be tried again, 0 where that
// does not hang on time.
func WaitOf(err error) time.Duration {
	var e *Error
	if errors.As(err, &e) {
		return e.Wait
	}
	return 0
}

// Details returns what err says and, where the store itself failed, what lies
// behind it: for a log or a console, not for a bench.
func Details(err error) string {
	var e *Error
	if errors.As(err, &e) && e.cause != nil {
		return fmt.Sprintf("%v (%v)", err, e.cause)
	}
	return err.Error()
}

// Logged is what a log may keep of an error: of a refusal its message with the blanks
// left open, as names of people and clients stand in them, and what lies behind it.
func Logged(err error) string {
	var e *Error
	if !errors.As(err, &e) {
		return err.Error()
	}
	said := fmt.Sprintf("%s, %s: %s", e.Code, cmp.Or(e.Field, "no field"), e.Sentence.Format())
	if e.cause != nil {
		said += " (" + e.cause.Error() + ")"
	}
	return said
}

// invalid says that a field has an impossible value.
func invalid(field string, value any, format string, args ...any) *Error {
	return &Error{Code: Invalid, Field: field, Value: fmt.Sprint(value), Sentence: phrase.Of(format, args...)}
}

// notFound says that there is no such record.
func notFound(field string, id ID) *Error {
	return &Error{Code: NotFound, Field: field, Value: fmt.Sprint(id),
		Sentence: phrase.Of("There is no %s with number %d.", Named(field), id)}
}

// conflict says that things have moved on.
func conflict(field string, value any, format string, args ...any) *Error {
	return &Error{Code: Conflict, Field: field, Value: fmt.Sprint(value), Sentence: phrase.Of(format, args...)}
}

// failed turns an error of the database into a sentence, and leaves refusals
// as they are. doing completes "Could not ...".
func failed(doing phrase.Key, err error) error {
	if err == nil {
		return nil
	}
	var e *Error
	if errors.As(err, &e) {
		return e
	}
	switch diskCode(err) {
	case DiskFull:
		return &Error{Code: DiskFull, Sentence: phrase.Of("Could not %s: the disk that the records are on is full. Nothing was changed. Make room on it.", doing.Of()), cause: err}
	case DiskFails:
		return &Error{Code: DiskFails, Sentence: phrase.Of("Could not %s: the disk that the records are on fails. Nothing was changed. Make a backup onto another disk and replace it.", doing.Of()), cause: err}
	}
	if errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) {
		return &Error{Code: Internal, Sentence: phrase.Of("Could not %s: it was broken off. Nothing was changed.", doing.Of()), cause: err}
	}
	return &Error{Code: Internal, Sentence: phrase.Of("Could not %s. Nothing was changed.", doing.Of()), cause: err}
}
