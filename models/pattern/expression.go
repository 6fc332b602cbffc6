package pattern

import (
	"errors"
	"fmt"
	"math"
	"reflect"

	"github.com/expr-lang/expr"
	"github.com/expr-lang/expr/ast"
	"github.com/expr-lang/expr/file"
	"github.com/expr-lang/expr/types"
	"github.com/expr-lang/expr/vm"

	"faceside/models/wood"
)

// An expression knows four sorts of value: length, number, text and truth. A
// length and a number do not add up, so a forgotten unit is an error when the
// file is read. Its signs are + - * / == != < <= > >= and or not in ?: and
// parentheses; its functions are those of language.go. There is nothing else: no
// loops, no memory, no surprises.

// sort is what sort of value an expression gives.
type sort int

const (
	isLength sort = iota + 1
	isNumber
	isText
	isTruth
)

func (s sort) String() string {
	return map[sort]string{isLength: "a length", isNumber: "a number", isText: "a text", isTruth: "true or false"}[s]
}

// length is a wood.Length inside an expression. It is a struct so that the
// expression checker refuses to mix it with numbers; whole nanometres stay
// exact in it, as they are far below 2^53.
type length struct{ nm float64 }

var sampleOf = map[sort]types.Type{
	isLength: types.TypeOf(length{}), isNumber: types.Float64, isText: types.String, isTruth: types.Bool,
}

// goType is how a sort of value is kept while an expression runs.
var goType = map[sort]reflect.Type{
	isLength: reflect.TypeFor[length](), isNumber: reflect.TypeFor[float64](),
	isText: reflect.TypeFor[string](), isTruth: reflect.TypeFor[bool](),
}

// names says what sort of value each name in reach of an expression has.
type names map[string]sort

// values holds the values of those names.
type values map[string]any

// formula is a compiled expression.
type formula struct {
	source  string
	gives   sort
	named   []string // the names it asks for
	program *vm.Program
}

// maxNodes bounds the size of one expression.
const maxNodes = 300

// expressionError is what is wrong with an expression, and where in it.
type expressionError struct {
	line, column int // both from 0
	reason       string
}

func (e *expressionError) Error() string { return e.reason }

// compile checks an expression against the names in reach. Where want is not 0
// the expression must give that sort of value.
func compile(source string, want sort, reach names) (*formula, error) {
	env := make(types.Map, len(reach))
	for name, s := range reach {
		env[name] = sampleOf[s]
	}
	check := &checker{reach: reach, sorts: map[ast.Node]sort{}}
	options := append([]expr.Option{
		expr.Env(env), expr.DisableAllBuiltins(), expr.MaxNodes(maxNodes), expr.Patch(check),
	}, language...)
	program, err := expr.Compile(source, options...)
	if check.wrong != nil {
		return nil, check.wrong
	}
	if err != nil {
		return nil, asExpressionError(err)
	}
	if goType[check.last] == nil {
		return nil, &expressionError{reason: "it gives no value"}
	}
	if want != 0 && check.last != want {
		return nil, &expressionError{reason: fmt.Sprintf("it gives %s where %s is wanted", check.last, want)}
	}
	return &formula{source: source, gives: check.last, named: check.named, program: program}, nil
}

func asExpressionError(err error) error {
	var at *file.Error
	if !errors.As(err, &at) {
		return &expressionError{reason: err.Error()}
	}
	return &expressionError{line: max(at.Line-1, 0), column: at.Column, reason: at.Message}
}

// eval works the expression out.
func (f *formula) eval(v values) (any, error) {
	out, err := expr.Run(f.program, map[string]any(v))
	if err != nil {
		return nil, fmt.Errorf("%q cannot be worked out: %w", f.source, asExpressionError(err))
	}
	switch x := out.(type) {
	case float64:
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return nil, fmt.Errorf("%q is not a finite number", f.source)
		}
	case length:
		if math.IsNaN(x.nm) || math.Abs(x.nm) > 10*float64(wood.Greatest) {
			return nil, fmt.Errorf("%q is not a length within 1 km", f.source)
		}
	}
	return out, nil
}

func (f *formula) length(v values) (wood.Length, error) {
	out, err := f.eval(v)
	if err != nil {
		return 0, err
	}
	l, ok := out.(length)
	if !ok {
		return 0, fmt.Errorf("%q does not give a length", f.source)
	}
	return l.wood(), nil
}

func (f *formula) number(v values) (float64, error) {
	out, err := f.eval(v)
	if err != nil {
		return 0, err
	}
	n, ok := out.(float64)
	if !ok {
		return 0, fmt.Errorf("%q does not give a number", f.source)
	}
	return n, nil
}

// count is a number that must be whole and lie between least and greatest.
func (f *formula) count(v values, least, greatest int) (int, error) {
	n, err := f.number(v)
	if err != nil {
		return 0, err
	}
	if n != math.Trunc(n) || n < float64(least) || n > float64(greatest) {
		return 0, fmt.Errorf("%q gives %g, but a whole number from %d to %d is wanted", f.source, n, least, greatest)
	}
	return int(n), nil
}

func (f *formula) text(v values) (string, error) {
	out, err := f.eval(v)
	if err != nil {
		return "", err
	}
	s, ok := out.(string)
	if !ok {
		return "", fmt.Errorf("%q does not give a text", f.source)
	}
	return s, nil
}

// holds is the truth of a condition; no condition holds.
func (f *formula) holds(v values) (bool, error) {
	if f == nil {
		return true, nil
	}
	out, err := f.eval(v)
	if err != nil {
		return false, err
	}
	b, ok := out.(bool)
	if !ok {
		return false, fmt.Errorf("%q is neither true nor false", f.source)
	}
	return b, nil
}

func (l length) wood() wood.Length  { return wood.Length(math.Round(l.nm)) }
func fromWood(l wood.Length) length { return length{float64(l)} }
