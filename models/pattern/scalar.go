package pattern

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"regexp"
	"strings"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/token"
)

// maxFile bounds a data file: 256 KiB, far more than any pattern needs.
const maxFile = 256 << 10

// scalar is one plain value of a file and where it stands, so that whatever is
// later found wrong with it can be shown there.
type scalar struct {
	text         string
	line, column int
	set          bool
}

// UnmarshalYAML takes any plain value: text, number, true or false.
func (s *scalar) UnmarshalYAML(node ast.Node) error {
	tk := node.GetToken()
	switch n := node.(type) {
	case *ast.StringNode:
		s.text = n.Value
	case *ast.LiteralNode:
		s.text = strings.TrimSpace(n.Value.Value)
	case *ast.IntegerNode, *ast.FloatNode, *ast.BoolNode:
		s.text = tk.Value
	case *ast.NullNode:
		return &nodeError{"a value is missing", tk}
	default:
		return &nodeError{"one plain value is wanted here", tk}
	}
	s.line, s.column, s.set = tk.Position.Line, tk.Position.Column, true
	return nil
}

// pair is one entry of a mapping whose keys the file's author chose.
type pair struct{ key, value scalar }

// pairs is such a mapping in the order of the file.
type pairs []pair

// UnmarshalYAML takes a mapping of plain values.
func (p *pairs) UnmarshalYAML(node ast.Node) error {
	var entries []*ast.MappingValueNode
	switch n := node.(type) {
	case *ast.MappingNode:
		entries = n.Values
	case *ast.MappingValueNode:
		entries = []*ast.MappingValueNode{n}
	default:
		return &nodeError{"a mapping of names to values is wanted here", node.GetToken()}
	}
	seen := map[string]bool{}
	for _, e := range entries {
		var one pair
		if err := one.key.UnmarshalYAML(e.Key); err != nil {
			return err
		}
		if err := one.value.UnmarshalYAML(e.Value); err != nil {
			return err
		}
		if seen[one.key.text] {
			return &nodeError{fmt.Sprintf("%q stands here twice", one.key.text), e.Key.GetToken()}
		}
		seen[one.key.text] = true
		*p = append(*p, one)
	}
	return nil
}

// list is a list of plain values; one plain value alone is a list of one.
type list []scalar

// UnmarshalYAML takes a sequence of plain values or one of them.
func (l *list) UnmarshalYAML(node ast.Node) error {
	seq, many := node.(*ast.SequenceNode)
	if !many {
		var one scalar
		if err := one.UnmarshalYAML(node); err != nil {
			return err
		}
		*l = list{one}
		return nil
	}
	for _, n := range seq.Values {
		var one scalar
		if err := one.UnmarshalYAML(n); err != nil {
			return err
		}
		*l = append(*l, one)
	}
	return nil
}

// uses is a list of keys, or a mapping of keys to quantities.
type uses struct{ entries pairs }

// UnmarshalYAML takes either form.
func (u *uses) UnmarshalYAML(node ast.Node) error {
	switch node.(type) {
	case *ast.MappingNode, *ast.MappingValueNode:
		return u.entries.UnmarshalYAML(node)
	}
	var keys list
	if err := keys.UnmarshalYAML(node); err != nil {
		return err
	}
	for _, k := range keys {
		u.entries = append(u.entries, pair{key: k})
	}
	return nil
}

// nodeError is what is wrong with a value and where.
type nodeError struct {
	message string
	token   *token.Token
}

func (e *nodeError) Error() string          { return e.message }
func (e *nodeError) GetMessage() string     { return e.message }
func (e *nodeError) GetToken() *token.Token { return e.token }

var unknownField = regexp.MustCompile(`unknown field "([^"]*)"`)

// decode reads one strict YAML document; what is wrong is a *FileError.
func decode(name string, data []byte, into any) error {
	if len(data) > maxFile {
		return &FileError{File: name, Reason: fmt.Sprintf("it has %d bytes; at most %d are read", len(data), maxFile)}
	}
	d := yaml.NewDecoder(bytes.NewReader(data), yaml.Strict())
	err := d.Decode(into)
	if errors.Is(err, io.EOF) {
		return &FileError{File: name, Reason: "the file is empty"}
	}
	if err == nil {
		var more any
		if err := d.Decode(&more); !errors.Is(err, io.EOF) {
			return &FileError{File: name, Reason: "it holds more than one document"}
		}
		return nil
	}
	out := &FileError{File: name, Reason: err.Error()}
	var at interface {
		GetMessage() string
		GetToken() *token.Token
	}
	if errors.As(err, &at) {
		out.Reason = at.GetMessage()
		if tk := at.GetToken(); tk != nil && tk.Position != nil {
			out.Line, out.Column = tk.Position.Line, tk.Position.Column
		}
	}
	if m := unknownField.FindStringSubmatch(out.Reason); m != nil {
		out.Field, out.Reason = m[1], "no such field is known here"
	}
	return out
}
