package checks

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"faceside/models/pattern"
	"faceside/models/wood"
)

// span is a stretch along one side of a post, in its cross-section.
type span struct{ from, to wood.Length }

func (s span) overlaps(t span) bool { return s.from < t.to && t.from < s.to }

// crossing says whether two tenons, thick and going in from two neighbouring faces of a
// post by one and another length, want the same wood. Outer faces lie at 0.
func crossing(post, middle, thick, one, other wood.Length) bool {
	across := span{middle - thick/2, middle + thick/2}
	return span{post - one, post}.overlaps(across) && across.overlaps(span{post - other, post})
}

// plain is a bench whose tenons are left square, or whose dowels lie at one height.
func plain(b *pattern.Built) *pattern.Built {
	out := *b
	mitres := map[string]bool{}
	out.Steps = slices.DeleteFunc(slices.Clone(b.Steps), func(s pattern.Step) bool {
		mitres[s.Key] = s.Kind == "mitre-tenons"
		return mitres[s.Key]
	})
	out.Links = nil
	for _, l := range b.Links {
		switch {
		case mitres[l.After]:
		case !mitres[l.Before]:
			out.Links = append(out.Links, l)
		default: // what waited for the mitre waits for the tenon
			for _, in := range b.Links {
				if in.After == l.Before {
					out.Links = append(out.Links, pattern.Link{Before: in.Before, After: l.After, From: pattern.FromEnd})
				}
			}
		}
	}
	for i := range out.Steps {
		out.Steps[i].With = slices.DeleteFunc(slices.Clone(out.Steps[i].With), func(v pattern.MeasureValue) bool { return v.Key == "apart" })
	}
	return &out
}

// Whatever the measures, the shipped pieces have nothing that meets; and left plain,
// the check speaks exactly where the two tenons would overlap in the post's section.
func TestTenonsMeetWhereTheirSectionsOverlap(t *testing.T) {
	l, s := library(t), shop(t)
	met, clear := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		p := l.Pattern(rapid.SampledFrom([]string{"hall-bench", "stool", "table", "sitting-bench", "desk"}).Draw(t, "piece"))
		b, err := l.Build(drawInput(t, l, p, s), s)
		if err != nil {
			return
		}
		require.Empty(t, of(Run(b, s), "tenons-meet"))
		b = plain(b)
		o, broken := index(b, s)
		require.False(t, broken)
		overlap := false
		for _, c := range o.corners() {
			cut := &o.steps[c.cut]
			thick := value(cut, "width", value(cut, "diameter", 0))
			for _, x := range o.rails(c) {
				for _, y := range o.rails(c) {
					overlap = overlap || x.stage != y.stage && crossing(c.thick, value(cut, "middle", 0), thick, x.reach, y.reach)
				}
			}
		}
		found := of(Run(b, s), "tenons-meet")
		require.Equal(t, overlap, len(found) > 0, list(found))
		if overlap {
			met++
		} else {
			clear++
		}
	})
	require.Positive(t, met)
	require.Positive(t, clear)
}

// Where the rails from one side are short enough, those from the other may go in further.
func TestOneShortTenonIsEnough(t *testing.T) {
	b, s := plain(build(t, bench)), shop(t)
	require.NotEmpty(t, of(Run(b, s), "tenons-meet"))
	w := &work{t, b}
	w.with("rails.tenon", "length", 15*mm)
	require.Empty(t, of(Run(w.b, s), "tenons-meet"))
}
