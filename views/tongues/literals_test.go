package tongues

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// sayers are the functions whose texts are no words of a screen: they say a message
// of the catalogue, write a log or an error for it, or read and write other formats.
var sayers = regexp.MustCompile(`^(say|Say|Of|Key|counted|refuse|refused|Errorf|New|Error|Warn|Info|Debug|Format|Parse|ParseInLocation|MustCompile|Header|Set|GET|POST|String|Fprintf|WriteString|Contains|HasPrefix|Cut|Fields|ReplaceAll|Replace|TrimSuffix|TrimPrefix|Split|FieldsFunc|EqualFold|Join|Load|Handle|Get|Query|PostForm|Open|SetTag)$`)

// words is a text that somebody would read: two words, or one that begins a label.
var wordsRead = regexp.MustCompile(`[A-Za-z]{2,}[,;:]? [a-z]{2,}|^[A-Z][a-z]{2,}($|[ ,.;:?!])`)

// No text of a screen is written out in a handler: each is said by the catalogue.
func TestHandlersWriteNoWordsOut(t *testing.T) {
	files, err := filepath.Glob("../../handlers/*.go")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		set := token.NewFileSet()
		file, err := parser.ParseFile(set, name, nil, 0)
		require.NoError(t, err)
		for _, text := range written(file) {
			assert.Fail(t, "words written out", "%s: %s", set.Position(text.Pos()), text.Value)
		}
	}
}

// written lists the texts of a file that are not said by the catalogue.
func written(file *ast.File) []*ast.BasicLit {
	var all []*ast.BasicLit
	ast.Inspect(file, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.ImportSpec:
			return false
		case *ast.FuncDecl:
			return n.Name.Name != "Error" // for a log
		case *ast.CallExpr:
			return !sayers.MatchString(called(n.Fun))
		case *ast.CompositeLit:
			return !keyed(n) && !ofMeasure(n)
		case *ast.BasicLit:
			text, err := strconv.Unquote(n.Value)
			if err == nil && n.Kind == token.STRING && !strings.ContainsAny(text, "/_#=\n") && text != "Faceside" && wordsRead.MatchString(blank.ReplaceAllString(text, "")) {
				all = append(all, n)
			}
		}
		return true
	})
	return all
}

// ofMeasure tells whether texts tell what a measure is, for the programs that gather them.
func ofMeasure(options *ast.CompositeLit) bool {
	of, ok := options.Type.(*ast.SelectorExpr)
	return ok && called(of.X) == "prometheus"
}

// keyed tells whether the texts of a list or map are keys of the catalogue.
func keyed(list *ast.CompositeLit) bool {
	switch of := list.Type.(type) {
	case *ast.ArrayType:
		return called(of.Elt) == "Key"
	case *ast.MapType:
		return called(of.Value) == "Key"
	}
	return false
}

var (
	action    = regexp.MustCompile(`(?s)\{\{.*?\}\}`)
	code      = regexp.MustCompile(`(?s)<(code|style|script)\b.*?</(code|style|script)>`)
	tag       = regexp.MustCompile(`(?s)<[^>]*>`)
	readAloud = regexp.MustCompile(`(?s)\b(?:aria-label|title|placeholder|alt|data-head|label)="([^"]*)"`)
	letters   = regexp.MustCompile(`\p{L}{2,}`)
	entity    = regexp.MustCompile(`&#?\w+;`)
)

// No word stands bare in a template: not as text, nor in an attribute that is shown or read out.
func TestTemplatesHoldNoBareWords(t *testing.T) {
	files, err := filepath.Glob("../templates/*.html")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	for _, name := range files {
		text, err := os.ReadFile(name)
		require.NoError(t, err)
		for _, words := range bare(string(text)) {
			assert.Fail(t, "bare words", "%s: %s", filepath.Base(name), words)
		}
	}
}

func TestBareWordsAreFound(t *testing.T) {
	assert.Equal(t, []string{"Now"}, bare(`<p class="lead">Now {{.X}}</p>`))
	assert.Equal(t, []string{"Days"}, bare(`<nav aria-label="Days">{{t "From today"}}</nav>`))
	assert.Equal(t, []string{"of"}, bare(`<p>{{.A}} of {{.B}}</p>`))
	assert.Empty(t, bare(`{{define "x"}}<p title="{{t "A day"}}">{{if .B}}{{t "Now"}} · &nbsp;{{end}} × 2</p><code>go build</code>{{end}}`))
}

// bare lists the words of a template that the catalogue does not say.
func bare(template string) []string {
	template = code.ReplaceAllString(action.ReplaceAllString(template, ""), "")
	var all []string
	for _, m := range readAloud.FindAllStringSubmatch(template, -1) {
		all = append(all, letters.FindAllString(m[1], -1)...)
	}
	return append(all, letters.FindAllString(entity.ReplaceAllString(tag.ReplaceAllString(template, "\n"), ""), -1)...)
}
