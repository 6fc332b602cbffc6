package pattern

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"faceside/models/wood"
)

// Source is the pattern's file as it was read, for export.
func (p *Pattern) Source() []byte { return bytes.Clone(p.source) }

// Keep writes a pattern of the maker's own out of a commission: the pattern it was
// built from, under a new key and title, with the measures and choices of the
// input as its defaults, and with the changes in the place of those that it holds;
// nil leaves it those. Everything else, comments too, stays as it was written. What
// is wrong with the input is *Errors; key and title are the fields "key" and
// "title". With takes what Keep writes, and says what is wrong with the changes.
func (l *Library) Keep(in Input, shop Shop, key, title string, c *Changes) ([]byte, error) {
	errs := &Errors{}
	if !keyShape.MatchString(key) {
		errs.add("key", key, "the key %q is not small letters, digits and hyphens from a letter on, at most 40", key)
	} else if l.patterns[key] != nil {
		errs.add("key", key, "the key %q is taken by %q", key, l.patterns[key].Title)
	}
	if strings.TrimSpace(title) == "" || strings.ContainsAny(title, "\r\n") || len(title) > 80 {
		errs.add("title", title, "the title %q must be one line of at most 80 signs", title)
	}
	if len(errs.List) > 0 {
		return nil, errs
	}
	making, err := l.builder(shop)
	if err != nil {
		return nil, err
	}
	b, err := making.build(in, c == nil)
	if err != nil {
		return nil, err
	}
	p := l.patterns[in.Pattern]
	quoted, err := json.Marshal(strings.TrimSpace(title))
	if err != nil {
		return nil, fmt.Errorf("quote the title: %w", err)
	}
	edits := []edit{{p.header[0], key}, {p.header[1], string(quoted)}}
	for i, m := range b.Measures {
		edits = append(edits, edit{p.measures[i].defaultAt, m.expression()})
	}
	for i, c := range b.Choices {
		edits = append(edits, edit{p.defaults[i].at, c.Option})
	}
	source, err := replace(p.source, edits)
	if err != nil || c == nil {
		return source, err
	}
	return withChanges(source, c), nil
}

// expression writes the value of a measure so that an expression gives exactly it.
func (m MeasureValue) expression() string {
	if !m.IsLength {
		return fmt.Sprintf("%g", m.Number)
	}
	if m.Length%(wood.Inch/64) == 0 {
		return fmt.Sprintf("inch(%g)", float64(m.Length)/float64(wood.Inch))
	}
	return fmt.Sprintf("mm(%g)", m.Length.Millimetres())
}

// edit puts a text in place of a scalar of a file.
type edit struct {
	at   scalar
	text string
}

// replace makes the edits in the text of a file, from the end so that the places
// before stay where they are.
func replace(source []byte, edits []edit) ([]byte, error) {
	lines := strings.Split(string(source), "\n")
	slices.SortFunc(edits, func(x, y edit) int {
		if x.at.line != y.at.line {
			return y.at.line - x.at.line
		}
		return y.at.column - x.at.column
	})
	for _, e := range edits {
		line := []rune(lines[e.at.line-1])
		start := e.at.column - 1
		end, err := scalarEnd(line, start, e.at.text)
		if err != nil {
			return nil, fmt.Errorf("line %d: %w", e.at.line, err)
		}
		lines[e.at.line-1] = string(line[:start]) + e.text + string(line[end:])
	}
	return []byte(strings.Join(lines, "\n")), nil
}

// scalarEnd finds where a scalar that starts at a place of a line ends.
func scalarEnd(line []rune, start int, text string) (int, error) {
	if start < 0 || start >= len(line) {
		return 0, fmt.Errorf("a value cannot be found again")
	}
	if quote := line[start]; quote == '"' || quote == '\'' {
		for i := start + 1; i < len(line); i++ {
			switch {
			case quote == '"' && line[i] == '\\', quote == '\'' && line[i] == quote && i+1 < len(line) && line[i+1] == quote:
				i++ // a sign that is written with two
			case line[i] == quote:
				return i + 1, nil
			}
		}
		return 0, fmt.Errorf("a quoted value runs over more than one line")
	}
	end := start + len([]rune(text))
	if end > len(line) || string(line[start:end]) != text {
		return 0, fmt.Errorf("the value %q cannot be found again", text)
	}
	return end, nil
}
