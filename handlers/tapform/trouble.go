package tapform

import (
	"maps"
	"net/url"
	"slices"
	"strconv"
	"strings"
)

// Trouble is what was said of trouble; Kind tells which of the fields count.
type Trouble struct {
	Kind       string
	Parts      map[int64]int // spoiled: part → how many
	Assemblies []int64       // spoiled: with all that is in them
	First      int64         // the step that has to come first
	ExpectedOn string        // when what is missing is expected
	Helper     int64         // whose hands, 0 for anybody's
	Left       int           // minutes still to do
}

// readTrouble reads the button that was tapped, and the fields that it counts on. A button
// is called by the kind and, where it says all there is to say, by that: "estimate:45",
// "spoiled:part:7". It is nil where the note says all.
func readTrouble(form url.Values) (*Trouble, *Refusal) {
	kind, rest, said := strings.Cut(form.Get("trouble"), ":")
	if kind == "" && form.Get("from") == "trouble" {
		return nil, refused("trouble", "", "Say what is wrong: tap one of the answers.")
	}
	if kind == "" || kind == "other" {
		return nil, nil
	}
	t := &Trouble{Kind: kind}
	var wrong *Refusal
	switch kind {
	case "spoiled":
		wrong = t.spoiled(form, rest)
	case "missing":
		t.ExpectedOn = strings.TrimSpace(form.Get("expected_day"))
	case "help", "hand":
		t.Helper, wrong = number("person", rest)
	case "estimate":
		t.Left, wrong = left(form, rest, said)
	case "order":
		if !said {
			rest = form.Get("first")
		}
		t.First, wrong = number("step", rest)
	}
	return t, wrong
}

// spoiled reads which parts: "part:7" is one of them, "all:3" an assembly; else the
// fields say how many of each.
func (t *Trouble) spoiled(form url.Values, rest string) *Refusal {
	what, text, one := strings.Cut(rest, ":")
	if one {
		id, wrong := number("part", text)
		if what == "all" {
			t.Assemblies = []int64{id}
		} else {
			t.Parts = map[int64]int{id: 1}
		}
		return wrong
	}
	t.Parts = map[int64]int{}
	for _, name := range slices.Sorted(maps.Keys(form)) { // so that the same form is read the same each time
		of, is := strings.CutPrefix(name, "count.")
		text := strings.TrimSpace(strings.Join(form[name], ""))
		if !is || text == "" || text == "0" {
			continue
		}
		id, wrong := number("part", of)
		if wrong != nil {
			return wrong
		}
		var err error
		if t.Parts[id], err = strconv.Atoi(text); err != nil {
			return refused("parts", text, "%q is no number of spoiled parts: write for example 2.", text)
		}
	}
	return nil
}

// left reads how many minutes are left: from the button, else as typed.
func left(form url.Values, rest string, said bool) (int, *Refusal) {
	text := strings.TrimSpace(form.Get("left"))
	if said {
		n, err := strconv.Atoi(rest)
		if err != nil {
			return 0, refused("left", rest, "%q is no number of minutes.", rest)
		}
		return n, nil
	}
	minutes, ok := Span(text)
	if !ok {
		return 0, refused("left", text, "%q is no span of time; write for example 45 min, 4 h or 7 days.", text)
	}
	return minutes, nil
}
