package pattern

import (
	"bytes"
	"errors"
	"fmt"
	"regexp"
	"strings"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
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
	err := decodeDocument(data, into)
	if err == nil {
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

// decodeDocument parses and decodes one document. Anchors, aliases, tags and
// merge keys are refused: no pattern needs them, and they let a small file grow
// without bound. A crash of the YAML library becomes an error, so that an
// imported file cannot take the server down.
func decodeDocument(data []byte, into any) (err error) {
	defer func() {
		if crash := recover(); crash != nil {
			err = fmt.Errorf("the YAML reader cannot read it: %v", crash)
		}
	}()
	file, err := parser.ParseBytes(data, 0)
	if err != nil {
		return err
	}
	switch {
	case len(file.Docs) == 0 || file.Docs[0].Body == nil:
		return errors.New("the file is empty")
	case len(file.Docs) > 1:
		return errors.New("it holds more than one document")
	}
	plain := &plainNodes{}
	ast.Walk(plain, file.Docs[0].Body)
	if plain.refused != nil {
		return plain.refused
	}
	return yaml.NewDecoder(bytes.NewReader(nil), yaml.Strict()).DecodeFromNode(file.Docs[0].Body, into)
}

// plainNodes finds the first node that is more than mappings, lists and values.
type plainNodes struct{ refused *nodeError }

// Visit is called for every node of a document.
func (p *plainNodes) Visit(node ast.Node) ast.Visitor {
	switch node.(type) {
	case *ast.AnchorNode, *ast.AliasNode, *ast.TagNode, *ast.MergeKeyNode, *ast.DirectiveNode:
		if p.refused == nil {
			p.refused = &nodeError{"anchors, aliases, tags and merge keys are not read", node.GetToken()}
		}
		return nil
	}
	return p
}
