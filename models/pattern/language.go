package pattern

import (
	"maps"
	"math"
	"slices"

	"github.com/expr-lang/expr"

	"faceside/models/wood"
)

// operation is one function of the expression language: what it may be called
// with, and its body, which runs only on such arguments. An error that the body
// gives is why the expression cannot be worked out.
type operation struct {
	signatures []signature
	body       func(args []any) any
}

type signature struct {
	takes []sort
	gives sort
}

// functions is the whole language. Those called length_ are the signs between
// lengths.
var functions = map[string]*operation{
	// mm and inch make a length of a number.
	"mm":   {[]signature{{[]sort{isNumber}, isLength}}, func(a []any) any { return length{num(a[0]) * float64(wood.Millimetre)} }},
	"inch": {[]signature{{[]sort{isNumber}, isLength}}, func(a []any) any { return length{num(a[0]) * float64(wood.Inch)} }},
	// metres and area make a number of lengths: metres, square metres.
	"metres": {[]signature{{[]sort{isLength}, isNumber}}, func(a []any) any { return size(a[0]) / metre }},
	"area":   {[]signature{{[]sort{isLength, isLength}, isNumber}}, func(a []any) any { return size(a[0]) / metre * (size(a[1]) / metre) }},
	"abs":    {same(1, 1), func(a []any) any { return pick(a, func(x, _ float64) float64 { return math.Abs(x) }) }},
	"min":    {same(2, 4), func(a []any) any { return pick(a, math.Min) }},
	"max":    {same(2, 4), func(a []any) any { return pick(a, math.Max) }},
	// ceil, floor and round take a number to the whole, or a length to a multiple
	// of another: ceil(width, mm(5)).
	"ceil":  {stepping, func(a []any) any { return toStep(a, math.Ceil) }},
	"floor": {stepping, func(a []any) any { return toStep(a, math.Floor) }},
	"round": {stepping, func(a []any) any { return toStep(a, math.Round) }},

	// What solid wood needs to move across the grain; movement.go.
	"movement":     {[]signature{{[]sort{isLength, isText}, isLength}}, movement},
	"panel_groove": {acrossGrain, panelGroove},
	"panel_gap":    {acrossGrain, panelGap},
	"drawer_play":  {acrossGrain, drawerPlay},
	"screw_slot":   {[]signature{{[]sort{isLength, isText, isLength, isNumber}, isLength}}, screwSlot},

	"length_plus":  {twoLengths(isLength), func(a []any) any { return length{size(a[0]) + size(a[1])} }},
	"length_minus": {twoLengths(isLength), func(a []any) any { return length{size(a[0]) - size(a[1])} }},
	"length_times": {
		[]signature{{[]sort{isLength, isNumber}, isLength}, {[]sort{isNumber, isLength}, isLength}},
		func(a []any) any { return length{(size(a[0]) + num(a[0])) * (size(a[1]) + num(a[1]))} },
	},
	"length_over": {
		[]signature{{[]sort{isLength, isNumber}, isLength}, {[]sort{isLength, isLength}, isNumber}},
		func(a []any) any {
			if by, ok := a[1].(length); ok {
				return size(a[0]) / by.nm
			}
			return length{size(a[0]) / num(a[1])}
		},
	},
	"length_less":    {twoLengths(isTruth), func(a []any) any { return size(a[0]) < size(a[1]) }},
	"length_atmost":  {twoLengths(isTruth), func(a []any) any { return size(a[0]) <= size(a[1]) }},
	"length_more":    {twoLengths(isTruth), func(a []any) any { return size(a[0]) > size(a[1]) }},
	"length_atleast": {twoLengths(isTruth), func(a []any) any { return size(a[0]) >= size(a[1]) }},
}

// lengthSigns names the function behind a sign between lengths.
var lengthSigns = map[string]string{
	"+": "length_plus", "-": "length_minus", "*": "length_times", "/": "length_over",
	"<": "length_less", "<=": "length_atmost", ">": "length_more", ">=": "length_atleast",
}

const metre = 1000 * float64(wood.Millimetre)

// language hands the functions to the expression library.
var language = func() []expr.Option {
	var out []expr.Option
	for _, name := range slices.Sorted(maps.Keys(functions)) {
		body := functions[name].body
		out = append(out, expr.Function(name, func(args ...any) (any, error) {
			given := body(args)
			if err, failed := given.(error); failed {
				return nil, err
			}
			return given, nil
		}))
	}
	return out
}()

// reserved says whether a file may not give this name to a value of its own.
func reserved(name string) bool {
	return functions[name] != nil || materialReach[name] != 0 || slices.Contains([]string{
		"and", "or", "not", "in", "true", "false", "nil", "let", "if", "else", "matches", "contains",
		"startsWith", "endsWith", "here", "what", "makes",
	}, name)
}

// same are the signatures that take least to most values of one sort and give it.
func same(least, most int) []signature {
	var out []signature
	for n := least; n <= most; n++ {
		for _, s := range []sort{isLength, isNumber} {
			out = append(out, signature{slices.Repeat([]sort{s}, n), s})
		}
	}
	return out
}

func twoLengths(gives sort) []signature { return []signature{{[]sort{isLength, isLength}, gives}} }

// acrossGrain are a width, a species, and the moisture the wood is worked at.
var acrossGrain = []signature{{[]sort{isLength, isText, isNumber}, isLength}}

var stepping = []signature{{[]sort{isNumber}, isNumber}, {[]sort{isLength, isLength}, isLength}}

// num and size read an argument whose sort has been checked; of the other sort
// they give 0.
func num(a any) float64 {
	n, _ := a.(float64)
	return n
}

func size(a any) float64 {
	l, _ := a.(length)
	return l.nm
}

// pick folds values of one sort; a single one is folded with itself.
func pick(args []any, better func(a, b float64) float64) any {
	_, lengths := args[0].(length)
	at := func(i int) float64 { return size(args[i]) + num(args[i]) }
	best := at(0)
	for i := range args {
		best = better(best, at(i))
	}
	if lengths {
		return length{best}
	}
	return best
}

func toStep(args []any, whole func(float64) float64) any {
	if len(args) == 1 {
		return whole(num(args[0]))
	}
	step := size(args[1])
	return length{whole(size(args[0])/step) * step}
}
