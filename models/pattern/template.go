package pattern

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"faceside/models/wood"
)

// template is a text with expressions in braces: "Plane to {thickness}". {here}
// is the name of the piece or sub-assembly; in the name of a step {what} is what
// is worked on and {makes} what is made. {Here} begins with a capital.
type template struct {
	words    []string   // one more than formulas: the words around them
	formulas []*formula // nil where the name in specials is meant
	specials []string
}

// shown says how lengths are written in a template.
type shown struct {
	units    string
	fraction int
}

// compileTemplate checks a text with expressions in braces.
func compileTemplate(text string, reach names) (*template, error) {
	t := &template{}
	at := 0
	for {
		open := strings.IndexByte(text[at:], '{')
		if open < 0 {
			t.words = append(t.words, text[at:])
			return t, nil
		}
		end := strings.IndexByte(text[at+open:], '}')
		if end < 0 {
			return nil, &expressionError{column: at + open, reason: "a brace is opened and not closed"}
		}
		t.words = append(t.words, text[at:at+open])
		inner := text[at+open+1 : at+open+end]
		t.specials = append(t.specials, inner)
		var f *formula
		if !isSpecial(inner) {
			var err error
			if f, err = compile(inner, 0, reach); err != nil {
				return nil, &expressionError{column: at + open + 1, reason: fmt.Sprintf("{%s}: %s", inner, err)}
			}
		}
		t.formulas = append(t.formulas, f)
		at += open + end + 1
	}
}

// words are the texts of the names in braces that are no expressions.
type words struct{ here, what, makes string }

func isSpecial(name string) bool {
	return slices.Contains([]string{"here", "what", "makes"}, small(name))
}

// fill writes the template out. A nil template is the empty text.
func (t *template) fill(v values, w words, s shown) (string, error) {
	if t == nil {
		return "", nil
	}
	var b strings.Builder
	for i, f := range t.formulas {
		b.WriteString(t.words[i])
		if f == nil {
			b.WriteString(w.special(t.specials[i]))
			continue
		}
		out, err := f.eval(v)
		if err != nil {
			return "", err
		}
		b.WriteString(s.value(out))
	}
	b.WriteString(t.words[len(t.words)-1])
	return b.String(), nil
}

func (w words) special(name string) string {
	word := w.here
	switch small(name) {
	case "what":
		word = w.what
	case "makes":
		word = w.makes
	}
	if small(name) != name {
		return capital(word)
	}
	return word
}

// value writes one value of an expression for people.
func (s shown) value(v any) string {
	switch x := v.(type) {
	case length:
		return s.length(x.wood())
	case float64:
		return strconv.FormatFloat(x, 'f', -1, 64)
	default:
		return fmt.Sprint(x)
	}
}

// limits writes the two ends of what a value may be, rounded inwards.
func (s shown) limits(least, greatest any) (from, to string) {
	low, ok := least.(length)
	high, both := greatest.(length)
	if !ok || !both {
		return s.value(least), s.value(greatest)
	}
	a, b := wood.Within(low.wood(), high.wood(), s.units, s.fraction)
	return s.length(a), s.length(b)
}

func (s shown) length(l wood.Length) string { return l.Format(s.units, s.fraction) }

// capital and small change the case of the first letter.
func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

func small(s string) string {
	if s == "" {
		return s
	}
	return strings.ToLower(s[:1]) + s[1:]
}
