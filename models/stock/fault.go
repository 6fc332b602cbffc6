package stock

import (
	"errors"
	"fmt"

	"faceside/models/phrase"
	"faceside/models/wood"
)

// Fault is a sentence on what cannot be. Its lengths and stocks are still apart from
// its words, so that a screen can say them in the units of its shop; Error says them in
// millimetres.
type Fault struct{ phrase.Phrase }

// Error says the fault in English, its lengths in millimetres.
func (f Fault) Error() string { return Told(f.Phrase, exactly, Stock.String).String() }

func fault(format string, args ...any) error { return Fault{phrase.Of(format, args...)} }

// Told is a phrase whose lengths and stocks are said in words.
func Told(p phrase.Phrase, length func(wood.Length) string, stock func(Stock) string) phrase.Phrase {
	args := make([]any, len(p.Args()))
	for i, arg := range p.Args() {
		switch arg := arg.(type) {
		case wood.Length:
			args[i] = length(arg)
		case Stock:
			args[i] = stock(arg)
		case phrase.Phrase:
			args[i] = Told(arg, length, stock)
		default:
			args[i] = arg
		}
	}
	return phrase.Of(p.Format(), args...)
}

// Faults lists what an error of this package says, without the places it was wrapped at.
func Faults(err error) []phrase.Phrase {
	if err == nil {
		return nil
	}
	switch e := err.(type) {
	case Fault:
		return []phrase.Phrase{e.Phrase}
	case interface{ Unwrap() []error }:
		var all []phrase.Phrase
		for _, one := range e.Unwrap() {
			all = append(all, Faults(one)...)
		}
		return all
	}
	if inner := errors.Unwrap(err); inner != nil {
		return Faults(inner)
	}
	return []phrase.Phrase{phrase.Name(err.Error())}
}

// on puts what a fault is about before it.
func on(err error, format string, args ...any) error {
	if err == nil {
		return nil
	}
	var all []error
	for _, p := range Faults(err) {
		all = append(all, fault("%s: %s", phrase.Of(format, args...), p))
	}
	return errors.Join(all...)
}

func exactly(l wood.Length) string {
	if l < 0 {
		return "-" + (-l).Exactly(wood.Millimetres)
	}
	return l.Exactly(wood.Millimetres)
}

// dimension is a length with the name of its field.
type dimension struct {
	field string
	of    wood.Length
}

func (d dimension) check() error {
	if d.of > 0 && d.of <= wood.Greatest {
		return nil
	}
	return fault("the %s, %s, must be more than 0 and at most %s", phrase.Of(d.field), d.of, metres(100))
}

// metres is a limit that is said the same in every shop.
func metres(n int) phrase.Phrase { return phrase.Name(fmt.Sprintf("%d m", n)) }
