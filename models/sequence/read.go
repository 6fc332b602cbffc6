package sequence

import (
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"
)

// InputError says which field of a problem is wrong, what stands there and why
// that cannot be. Its text is one line.
type InputError struct {
	Field  string // a path such as tasks[3].uses[0].resource; empty: the whole file
	Value  string // what stands there, shortened; empty: nothing worth showing
	Reason string
}

func (e *InputError) Error() string {
	where := e.Field
	if where == "" {
		where = "the problem"
	}
	if e.Value == "" {
		return fmt.Sprintf("%s: %s", where, e.Reason)
	}
	return fmt.Sprintf("%s is %s: %s", where, e.Value, e.Reason)
}

// Read reads one problem and validates it. It is strict: an unknown field, a
// field given twice, a number that is no integer and anything after the problem
// are errors. Numbers left out are 0, except a capacity, which must be given.
// What is wrong with the problem comes as an *InputError; any other error is a
// failure to read.
func Read(r io.Reader) (*Problem, error) {
	text, err := io.ReadAll(r)
	if err != nil {
		return nil, fmt.Errorf("reading the problem: %w", err)
	}
	if len(strings.TrimSpace(string(text))) == 0 {
		return nil, &InputError{Reason: "the file is empty"}
	}
	var p Problem
	if err := json.Unmarshal(text, &p, json.RejectUnknownMembers(true)); err != nil {
		return nil, inputError(text, err)
	}
	if err := capacitiesGiven(text); err != nil {
		return nil, err
	}
	if err := p.Validate(); err != nil {
		return nil, err
	}
	return &p, nil
}

// capacitiesGiven rejects a resource without a capacity, which would otherwise
// pass for a resource of which there is none.
func capacitiesGiven(text []byte) error {
	var given struct {
		Resources []struct {
			Capacity *int `json:"capacity"`
		} `json:"resources"`
	}
	if err := json.Unmarshal(text, &given); err != nil {
		return inputError(text, err)
	}
	for i, r := range given.Resources {
		if r.Capacity == nil {
			return &InputError{Field: fmt.Sprintf("resources[%d].capacity", i), Reason: "it is not given"}
		}
	}
	return nil
}

// inputError turns an error of the JSON library into an InputError.
func inputError(text []byte, err error) error {
	var semantic *json.SemanticError
	if errors.As(err, &semantic) {
		e := &InputError{Field: fieldPath(semantic.JSONPointer), Value: valueAt(text, semantic.JSONPointer), Reason: "it cannot be read"}
		if errors.Is(err, json.ErrUnknownName) {
			e.Reason = "there is no such field"
		} else if semantic.GoType != nil {
			e.Reason = "it must be " + wanted(semantic.GoType.Kind().String())
		}
		return e
	}
	var syntactic *jsontext.SyntacticError
	if errors.As(err, &syntactic) {
		line, column := position(text, syntactic.ByteOffset)
		e := &InputError{Field: fieldPath(syntactic.JSONPointer)}
		if errors.Is(err, jsontext.ErrDuplicateName) {
			e.Reason = fmt.Sprintf("the field is given twice, the second time in line %d, column %d", line, column)
			return e
		}
		e.Reason = fmt.Sprintf("no JSON in line %d, column %d: %s", line, column, oneLine(syntactic.Err))
		return e
	}
	return &InputError{Reason: oneLine(err)}
}

// wanted says in plain words what a field of the given kind of Go value takes.
func wanted(kind string) string {
	switch kind {
	case "int", "int64":
		return "a whole number of at most 19 digits"
	case "string":
		return "a text"
	case "bool":
		return "true or false"
	case "slice":
		return "a list"
	case "array":
		return "a list of two numbers"
	}
	return "an object with fields"
}

// valueAt returns what stands at the pointer, shortened; nothing where the text
// cannot be followed so far.
func valueAt(text []byte, pointer jsontext.Pointer) string {
	value := jsontext.Value(text)
	for token := range pointer.Tokens() {
		var fields map[string]jsontext.Value
		var list []jsontext.Value
		index, _ := strconv.Atoi(token)
		switch {
		case json.Unmarshal(value, &fields) == nil:
			value = fields[token]
		case json.Unmarshal(value, &list) == nil && index < len(list):
			value = list[index]
		default:
			return ""
		}
	}
	return shorten(string(value))
}

// fieldPath writes a JSON pointer as people write paths: tasks[3].uses[0].amount.
func fieldPath(pointer jsontext.Pointer) string {
	var path strings.Builder
	for token := range pointer.Tokens() {
		if _, err := strconv.ParseUint(token, 10, 32); err == nil && path.Len() > 0 {
			path.WriteString("[" + token + "]")
			continue
		}
		if path.Len() > 0 {
			path.WriteByte('.')
		}
		path.WriteString(strings.Trim(shorten(strconv.Quote(token)), `"`))
	}
	return path.String()
}

// position is the line and column, both from 1, of a byte of the text.
func position(text []byte, offset int64) (line, column int) {
	before := string(text[:min(max(offset, 0), int64(len(text)))])
	return 1 + strings.Count(before, "\n"), len(before) - strings.LastIndex(before, "\n")
}

// shorten keeps a value readable inside a sentence.
func shorten(value string) string {
	const most = 60
	letters := []rune(strings.Join(strings.Fields(value), " "))
	if len(letters) <= most {
		return string(letters)
	}
	return string(letters[:most]) + "…"
}

func oneLine(err error) string {
	if err == nil {
		return "it cannot be read"
	}
	return strings.Join(strings.Fields(err.Error()), " ")
}
