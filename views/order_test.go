package views

import (
	"encoding/xml"
	"errors"
	"flag"
	"fmt"
	"html/template"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"faceside/views/tongues"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

var update = flag.Bool("update", false, "write the golden drawings anew")

// requireGolden compares a drawing with the one kept, letter for letter.
func requireGolden(t *testing.T, name string, got template.HTML) {
	t.Helper()
	file := filepath.Join("testdata", name)
	if *update {
		require.NoError(t, os.WriteFile(file, []byte(got), 0o644))
	}
	want, err := os.ReadFile(file)
	require.NoError(t, err, "make it with go test ./views -update")
	require.Equal(t, string(want), string(got))
}

// words gives all text of a drawing, and fails where it is not well-formed XML.
func words(t interface{ Fatalf(string, ...any) }, drawn template.HTML) string {
	var text strings.Builder
	d := xml.NewDecoder(strings.NewReader(string(drawn)))
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return text.String()
		}
		if err != nil {
			t.Fatalf("not well-formed: %v", err)
		}
		if data, ok := token.(xml.CharData); ok {
			text.Write(data)
			text.WriteByte('\n')
		}
	}
}

// benchOrder is the order of work of an invented hall bench, half done.
func benchOrder(t *testing.T) OrderGraph {
	g := OrderGraph{Title: "Order of work of Hall bench", Say: english(t)}
	id := map[string]int64{}
	add := func(key, name, stream, phase string, state State, minutes int, before ...string) *OrderStep {
		id[key] = int64(len(g.Steps) + 1)
		for _, b := range before {
			g.Links = append(g.Links, OrderLink{Before: id[b], After: id[key]})
		}
		g.Steps = append(g.Steps, OrderStep{ID: id[key], Name: name, Stream: stream, Phase: phase, State: state,
			Minutes: minutes, Href: fmt.Sprintf("/commissions/3#step-%d", id[key])})
		return &g.Steps[len(g.Steps)-1]
	}
	add("cutposts", "Crosscut the posts", "Posts", "milling", StateDone, 20)
	add("faceposts", "Joint two faces of the posts", "Posts", "milling", StateDone, 30, "cutposts")
	add("planeposts", "Plane the posts square", "Posts", "milling", StateDone, 25, "faceposts")
	add("mortise", "Mortise the posts", "Posts", "joinery", StateReady, 60, "planeposts", "cutposts").When = "Tue 8:00"
	add("blocks", "Mill the arch blocks", "Arched rails", "milling", StateDone, 50)
	glue := add("gluearch", "Glue up the arched rails", "Arched rails", "glue-up", StateInClamps, 35, "blocks")
	glue.Rest, glue.RestMin, glue.Holds = "in clamps", 240, 9
	add("flush", "Flush the arched rails on the drum sander", "Arched rails", "milling", StateWaiting, 40, "gluearch").When = "Tue 10:20"
	add("tenon", "Tenon the arched rails", "Arched rails", "joinery", StateWaiting, 45, "flush")
	add("rough", "Rough-cut the arch", "Arched rails", "shaping", StateWaiting, 30, "tenon")
	end := add("glueends", "Glue up the two ends", "Ends", "glue-up", StateWaiting, 40, "mortise", "tenon")
	end.Rest, end.RestMin, end.Holds, end.When, end.Pinned = "in clamps", 240, 7, "Tue 15:40", true
	add("route", "Template-rout the arch", "Ends", "shaping", StateWaiting, 50, "glueends", "rough")
	add("millrails", "Mill the long rails", "Long rails", "milling", StatePutDown, 45)
	add("tenonrails", "Tenon the long rails", "Long rails", "joinery", StateInHand, 40, "millrails")
	join := add("join", "Join the ends with the long rails", "Base", "glue-up", StateWaiting, 40, "route", "tenonrails", "glueends")
	join.Rest, join.RestMin, join.Holds = "in clamps", 240, 5
	add("sandbase", "Sand the base", "Base", "sanding", StateWaiting, 60, "join")
	add("millseat", "Mill the seat boards", "Seat", "milling", StateInTrouble, 60)
	seat := add("glueseat", "Glue up the seat", "Seat", "glue-up", StateWaiting, 30, "millseat")
	seat.Rest, seat.RestMin, seat.Holds = "in clamps", 240, 6
	add("flat", "Flatten the seat", "Seat", "milling", StateWaiting, 40, "glueseat")
	add("trim", "Trim the seat to size", "Seat", "milling", StateWaiting, 15, "flat")
	add("chamfer", "Chamfer the seat's edges", "Seat", "shaping", StateWaiting, 20, "trim")
	add("sandseat", "Sand the seat", "Seat", "sanding", StateWaiting, 45, "chamfer", "glueseat")
	for n, after := range [][]string{{"sandbase", "sandseat"}, {"coat1"}, {"coat2"}} {
		coat := add(fmt.Sprintf("coat%d", n+1), []string{"First coat, thinned, wiped dry", "Second coat", "Third coat"}[n],
			"Hall bench", "finishing", StateWaiting, 35, after...)
		coat.Rest, coat.RestMin, coat.Holds = "drying", 600, 3-n
	}
	add("fit", "Fit the seat", "Hall bench", "fitting", StateWaiting, 30, "coat3")
	greatest := 3 * 24 * 60
	for i := range g.Links {
		if g.Links[i].Before == id["coat1"] && g.Links[i].After == id["coat2"] {
			g.Links[i].Greatest, g.Links[i].Why = &greatest, "The second coat keys into the first for three days."
		}
		if g.Links[i].Before == id["coat3"] {
			g.Links[i].Least, g.Links[i].Why = 24*60, "A full day before anything stands on it."
		}
	}
	return g
}

func TestOrderGraphGolden(t *testing.T) {
	drawn, err := benchOrder(t).SVG()
	require.NoError(t, err)
	requireGolden(t, "order-hall-bench.svg", drawn)
	text := words(t, drawn)
	for _, said := range []string{"Glue up the seat", "in clamps · glue-up", "gate, holds 9", "≤ 3 d", "≥ 1 d", "Arched rails", "pinned Tue 15:40", "Pinned there."} {
		assert.Contains(t, text, said)
	}
	assert.NotContains(t, text, "Crosscut the posts before Mortise the posts", "a longer way says it already")
	assert.NotContains(t, string(drawn), "style=")
}

// english says what is drawn as an English shop sees it.
func english(t *testing.T) *tongues.Speaker {
	t.Helper()
	catalogue, err := tongues.Load()
	require.NoError(t, err)
	return catalogue.In(tongues.English)
}

func TestOrderMapGolden(t *testing.T) {
	drawn, err := benchOrder(t).Map()
	require.NoError(t, err)
	requireGolden(t, "order-hall-bench-map.svg", drawn)
	words(t, drawn)
	for _, s := range benchOrder(t).Steps {
		assert.Contains(t, string(drawn), fmt.Sprintf(`href="#order-%d"`, s.ID))
	}
	small, err := OrderGraph{Title: "Stool", Steps: benchOrder(t).Steps[:3]}.Map()
	require.NoError(t, err)
	assert.Empty(t, small, "three steps are seen whole anyway")
}

func TestOrderGraphRefuses(t *testing.T) {
	two := []OrderStep{{ID: 1, Name: "Plane"}, {ID: 2, Name: "Glue"}}
	for _, c := range []struct {
		name  string
		graph OrderGraph
		says  string
	}{
		{"a circle", OrderGraph{Title: "Stool", Steps: two, Links: []OrderLink{{Before: 1, After: 2}, {Before: 2, After: 1}}}, `draw "Stool": step "Plane" stands in a circle`},
		{"itself", OrderGraph{Steps: two, Links: []OrderLink{{Before: 2, After: 2}}}, `step "Glue" stands in a circle`},
		{"no such before", OrderGraph{Steps: two, Links: []OrderLink{{Before: 7, After: 2}}}, "a link begins at step 7"},
		{"no such after", OrderGraph{Steps: two, Links: []OrderLink{{Before: 1, After: 8}}}, "a link ends at step 8"},
		{"twice", OrderGraph{Steps: []OrderStep{{ID: 4}, {ID: 4}}}, "two steps have the number 4"},
	} {
		t.Run(c.name, func(t *testing.T) {
			drawn, err := c.graph.SVG()
			require.ErrorContains(t, err, c.says)
			assert.Empty(t, drawn)
			_, err = c.graph.Map()
			require.Error(t, err)
		})
	}
}

func TestOrderGraphEmpty(t *testing.T) {
	drawn, err := OrderGraph{Title: "Nothing yet"}.SVG()
	require.NoError(t, err)
	words(t, drawn)
}

// anyOrder draws an acyclic graph of up to so many steps.
func anyOrder(t *rapid.T, most int) OrderGraph {
	n := rapid.IntRange(1, most).Draw(t, "steps")
	streams := rapid.IntRange(1, 9).Draw(t, "streams")
	g := OrderGraph{Title: "Any"}
	for i := range n {
		g.Steps = append(g.Steps, OrderStep{
			ID: int64(1000 + i*7), Name: fmt.Sprintf("Step number %d of a piece", i),
			Stream: fmt.Sprintf("Stream %d", rapid.IntRange(0, streams-1).Draw(t, "stream")),
			State:  rapid.SampledFrom(States()).Draw(t, "state"),
			Holds:  rapid.IntRange(0, 3).Draw(t, "holds"), Minutes: 10, Href: "/commissions/1",
		})
		for range rapid.IntRange(0, 3).Draw(t, "links") {
			if i == 0 {
				break
			}
			before := rapid.IntRange(max(0, i-12), i-1).Draw(t, "before")
			g.Links = append(g.Links, OrderLink{Before: g.Steps[before].ID, After: g.Steps[i].ID,
				Least: rapid.SampledFrom([]int{0, 0, 0, 60, 1440}).Draw(t, "lag")})
		}
	}
	return g
}

func TestOrderLayoutProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := anyOrder(t, 60)
		l, err := g.place()
		require.NoError(t, err)
		drawn := l.draw()
		text := words(t, drawn)

		for i, a := range l.spots {
			assert.True(t, a.x >= 0 && a.x+orderBoxWidth <= l.width && a.y >= 0 && a.y+a.height <= l.height, "spot %d lies outside", i)
			for j := range i {
				b := l.spots[j]
				apart := a.x+orderBoxWidth <= b.x || b.x+orderBoxWidth <= a.x || a.y+a.height <= b.y || b.y+b.height <= a.y
				assert.True(t, apart, "spots %d and %d overlap", i, j)
			}
			lane := l.lanes[a.lane]
			assert.True(t, a.y >= lane.y && a.y+a.height <= lane.y+lane.height, "spot %d leaves its stream", i)
		}
		for _, r := range l.routes {
			for k := 1; k < len(r.via); k++ {
				assert.Greater(t, l.spots[r.via[k]].x, l.spots[r.via[k-1]].x+orderBoxWidth, "an edge turns back")
			}
		}
		for _, s := range g.Steps {
			assert.Contains(t, string(drawn), fmt.Sprintf(`id="order-%d"`, s.ID))
			assert.Contains(t, text, s.Name+": "+string(s.State))
		}
		requireMapApart(t, l)
		for i, a := range l.labels {
			for _, b := range l.labels[:i] {
				assert.False(t, a.x == b.x && max(a.y-b.y, b.y-a.y) < orderLagHeight, "lag %d overlaps another", i)
			}
		}
	})
}

// requireMapApart: on the small drawing no step hides another, and edges still
// go from left to right.
func requireMapApart(t *rapid.T, l *orderLayout) {
	words(t, l.drawMap())
	m := l.newMap()
	for i := range l.graph.Steps {
		for j := range i {
			ax, ay := m.at(l.spots[i])
			bx, by := m.at(l.spots[j])
			assert.True(t, max(ax-bx, bx-ax) >= mapStep || max(ay-by, by-ay) >= mapStep-1, "steps %d and %d hide each other on the map", i, j)
		}
	}
	for _, r := range l.routes {
		from, _ := m.at(l.spots[r.edge.from])
		to, _ := m.at(l.spots[r.edge.to])
		assert.Less(t, from, to)
	}
}

// TestReduceKeepsReach: dropping edges that a longer way implies changes
// nothing about what comes before what, and no edge with a lag is lost.
func TestReduceKeepsReach(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := anyOrder(t, 25)
		w, err := newWeb(g)
		require.NoError(t, err)
		before := reachOf(w)
		lags := 0
		for _, e := range w.edges {
			lags += len(e.labels)
		}
		w.reduce()
		assert.Equal(t, before, reachOf(w))
		for k, e := range w.edges {
			lags -= len(e.labels)
			if len(e.labels) > 0 {
				continue
			}
			without := *w
			without.edges = append(append([]edge{}, w.edges[:k]...), w.edges[k+1:]...)
			without.index(len(g.Steps))
			assert.NotEqual(t, before, reachOf(&without), "edge %d says nothing new", k)
		}
		assert.Zero(t, lags)
	})
}

// reachOf is every pair of steps with a way from one to the other, found by
// walking, unlike in reduce.
func reachOf(w *web) map[[2]int]bool {
	reach := map[[2]int]bool{}
	for i := range w.after {
		stack := []int{i}
		for len(stack) > 0 {
			at := stack[len(stack)-1]
			stack = stack[:len(stack)-1]
			for _, e := range w.after[at] {
				if to := w.edges[e].to; !reach[[2]int{i, to}] {
					reach[[2]int{i, to}] = true
					stack = append(stack, to)
				}
			}
		}
	}
	return reach
}

// TestSpread: in order, apart, inside the limits; and with room enough nobody
// moves who does not have to.
func TestSpread(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 12).Draw(t, "n")
		want, size, used := make([]int, n), make([]int, n), 0
		for i := range want {
			want[i] = rapid.IntRange(-50, 500).Draw(t, "want")
			size[i] = rapid.IntRange(1, 40).Draw(t, "size")
			used += size[i] + 5
		}
		last := used + rapid.IntRange(0, 400).Draw(t, "slack")
		got := spread(want, size, 5, 0, last)
		require.Len(t, got, n)
		for i := range got {
			assert.True(t, got[i] >= 0 && got[i]+size[i] <= last)
			if i > 0 {
				assert.GreaterOrEqual(t, got[i], got[i-1]+size[i-1]+5)
			}
		}
	})
	assert.Equal(t, []int{10, 60, 200}, spread([]int{10, 60, 200}, []int{20, 20, 20}, 5, 0, 300))
	assert.Equal(t, []int{88, 113}, spread([]int{100, 101}, []int{20, 20}, 5, 0, 300), "both give way alike")
}

func TestOrderGraphHostileText(t *testing.T) {
	bad := `</title><script>alert("x")</script>` + "\x00\x1b&amp;'\""
	g := OrderGraph{Title: bad, Steps: []OrderStep{
		{ID: 1, Name: bad, Stream: bad, Phase: bad, State: State(bad), When: bad, Rest: bad, RestMin: 5, Href: "javascript:alert(1)"},
		{ID: 2, Name: "Next", Href: "//elsewhere.example/x"},
	}, Links: []OrderLink{{Before: 1, After: 2, Least: 60, Why: bad}}}
	placed, err := g.place()
	require.NoError(t, err)
	for _, drawn := range []template.HTML{placed.draw(), placed.drawMap()} {
		assert.Contains(t, words(t, drawn), `<script>alert("x")</script>`, "shown as text")
		for _, never := range []string{"<script", "javascript:", "elsewhere.example", "\x00", "\x1b"} {
			assert.NotContains(t, string(drawn), never)
		}
	}
}

func TestShortTime(t *testing.T) {
	for minutes, want := range map[int]string{0: "0 min", 45: "45 min", 60: "1 h", 95: "1 h 35", 1440: "1 d", 1500: "25 h", -90: "−1 h 30"} {
		assert.Equal(t, want, shortTime(minutes))
	}
}

func BenchmarkOrderGraph120(b *testing.B) {
	g := OrderGraph{Title: "Large"}
	for i := range 120 {
		g.Steps = append(g.Steps, OrderStep{ID: int64(i), Name: "Plane the posts square", Stream: fmt.Sprint(i % 12), State: StateWaiting})
		for _, back := range []int{12, 13, 29} {
			if i >= back {
				g.Links = append(g.Links, OrderLink{Before: int64(i - back), After: int64(i), Least: i % 2})
			}
		}
	}
	for b.Loop() {
		if _, err := g.SVG(); err != nil {
			b.Fatal(err)
		}
	}
}
