package tongues

import (
	"flag"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"sort"
	"strconv"
	"strings"
	"testing"
	"unicode"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models/phrase"
)

var showMissing = flag.Bool("missing", false, "print the messages that the catalogue lacks, by file, ready to be translated")

// sayings are the functions that take the English of messages, and where in
// their arguments these may stand.
var sayings = map[string][]int{
	"Say": {0}, "say": {0}, "Of": {0}, "Key": {0}, "counted": {1, 2},
	"invalid": {2}, "conflict": {2}, "refused": {2}, "refuse": {1}, "write": {1}, "read": {1}, "failed": {0},
	"note": {0}, "noteOnce": {0}, "noteOn": {1}, "loosePin": {0},
}

var inTemplate = regexp.MustCompile(`\bt ("(?:[^"\\]|\\.)*")`)

// used finds every message of templates and source: message → files that use it.
func used(t *testing.T) map[string][]string {
	t.Helper()
	all := map[string][]string{}
	root := filepath.Join("..", "..")
	for _, top := range []string{"handlers", "models", "views"} {
		err := filepath.WalkDir(filepath.Join(root, top), func(name string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() {
				return err
			}
			switch {
			case strings.HasSuffix(name, ".html"):
				text, err := os.ReadFile(name)
				if err != nil {
					return err
				}
				for _, m := range inTemplate.FindAllStringSubmatch(string(text), -1) {
					key, err := strconv.Unquote(m[1])
					if err != nil {
						return fmt.Errorf("%s: %s: %w", name, m[1], err)
					}
					all[key] = append(all[key], name)
				}
			case strings.HasSuffix(name, ".go") && !strings.HasSuffix(name, "_test.go"):
				return inSource(name, all)
			}
			return nil
		})
		require.NoError(t, err)
	}
	return all
}

func inSource(name string, all map[string][]string) error {
	file, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
	if err != nil {
		return err
	}
	ast.Inspect(file, func(n ast.Node) bool {
		if of, ok := n.(*ast.CompositeLit); ok {
			keysOfTables(of, name, all)
		}
		call, ok := n.(*ast.CallExpr)
		if !ok {
			return true
		}
		for _, at := range sayings[called(call.Fun)] {
			if len(call.Args) <= at {
				continue
			}
			if key, ok := literal(call.Args[at]); ok {
				all[key] = append(all[key], name)
			}
		}
		return true
	})
	return nil
}

// tables are the types of lists whose texts are keys, and the field they stand in.
var tables = map[string]int{"NavItem": 1}

func keysOfTables(list *ast.CompositeLit, name string, all map[string][]string) {
	if values, ok := list.Type.(*ast.MapType); ok && called(values.Value) == "Key" {
		for _, e := range list.Elts {
			if key, ok := literal(e.(*ast.KeyValueExpr).Value); ok {
				all[key] = append(all[key], name)
			}
		}
	}
	of, ok := list.Type.(*ast.ArrayType)
	if !ok {
		return
	}
	for _, e := range list.Elts {
		if key, ok := literal(e); ok && called(of.Elt) == "Key" {
			all[key] = append(all[key], name)
		}
	}
	if called(of.Elt) == "Check" {
		for _, e := range list.Elts {
			keysOfCheck(e, name, all)
		}
	}
	at, ok := tables[called(of.Elt)]
	if !ok {
		return
	}
	for _, e := range list.Elts {
		if row, ok := e.(*ast.CompositeLit); ok && len(row.Elts) > at {
			if key, ok := literal(row.Elts[at]); ok {
				all[key] = append(all[key], name)
			}
		}
	}
}

// keysOfCheck notes the title of a check and what goes wrong without it.
func keysOfCheck(check ast.Expr, name string, all map[string][]string) {
	fields, ok := check.(*ast.CompositeLit)
	if !ok {
		return
	}
	for _, e := range fields.Elts {
		field, ok := e.(*ast.KeyValueExpr)
		if !ok || called(field.Key) != "Title" && called(field.Key) != "Why" {
			continue
		}
		if key, ok := literal(field.Value); ok {
			all[key] = append(all[key], name)
		}
	}
}

// hasWords tells whether a message says anything besides its blanks.
func hasWords(key string) bool {
	return strings.ContainsFunc(blank.ReplaceAllString(key, ""), unicode.IsLetter)
}

func called(fun ast.Expr) string {
	switch f := fun.(type) {
	case *ast.Ident:
		return f.Name
	case *ast.SelectorExpr:
		return f.Sel.Name
	}
	return ""
}

// literal reads a string that is written out, also in pieces joined by +.
func literal(e ast.Expr) (string, bool) {
	switch e := e.(type) {
	case *ast.BasicLit:
		text, err := strconv.Unquote(e.Value)
		return text, err == nil && e.Kind == token.STRING
	case *ast.BinaryExpr:
		x, okX := literal(e.X)
		y, okY := literal(e.Y)
		return x + y, okX && okY && e.Op == token.ADD
	}
	return "", false
}

var blank = regexp.MustCompile(`%(\[\d+\])?[-+# 0]*\d*(\.\d+)?[a-zA-Z]`)

// blanks lists what a message's words leave open, in no order: a language may
// turn a sentence round by numbering them.
func blanks(said string) []string {
	all := blank.FindAllString(strings.ReplaceAll(said, "%%", ""), -1)
	for i := range all {
		if !strings.HasPrefix(all[i], "%[") {
			all[i] = fmt.Sprintf("%%[%d]%s", i+1, all[i][1:])
		}
	}
	sort.Strings(all)
	return slices.Compact(all)
}

func TestEveryMessageIsSaidInEveryLanguageWithTheSameBlanks(t *testing.T) {
	c, err := Load()
	require.NoError(t, err)
	for key, m := range c.Messages() {
		for _, l := range Languages() {
			forms, ok := m[l.Code]
			if l.Code == English && !ok {
				continue // as the key says
			}
			if !assert.True(t, ok && forms.Other != "", "%q is not said in %s", key, l.Name) {
				continue
			}
			assert.Equal(t, blanks(phrase.Plain(key)), blanks(forms.Other), "%q in %s", key, l.Name)
			if forms.One != "" {
				assert.Subset(t, blanks(phrase.Plain(key)), blanks(forms.One), "%q, one, in %s", key, l.Name)
			}
		}
	}
}

func TestEveryMessageThatIsUsedIsInTheCatalogueAndNoOther(t *testing.T) {
	c, err := Load()
	require.NoError(t, err)
	in := used(t)
	lacking := map[string][]string{}
	for key, files := range in {
		if _, ok := c.Messages()[key]; !ok && hasWords(key) {
			lacking[files[0]] = append(lacking[files[0]], key)
		}
	}
	if *showMissing {
		for _, file := range slices.Sorted(keys(lacking)) {
			fmt.Println("#", file)
			sort.Strings(lacking[file])
			for _, key := range lacking[file] {
				fmt.Printf("%q: \n", key)
			}
		}
		return
	}
	assert.Empty(t, lacking, "go test ./views/tongues -run InTheCatalogue -missing prints them ready to be translated")
	for key := range c.Messages() {
		_, ok := in[key]
		assert.True(t, ok, "nothing says %q any more", key)
	}
}

func keys(m map[string][]string) func(func(string) bool) {
	return func(yield func(string) bool) {
		for k := range m {
			if !yield(k) {
				return
			}
		}
	}
}
