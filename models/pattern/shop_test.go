package pattern

import (
	"os"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"faceside/models/wood"
)

// shipped is the library the program ships with.
var shipped = sync.OnceValues(func() (*Library, error) { return Load(os.DirFS("../../seed")) })

func library(t require.TestingT) *Library {
	l, err := shipped()
	require.NoError(t, err)
	return l
}

// smallShop is an invented two-person shop with ordinary machines (limits:
// common practice, no source).
func smallShop(l *Library) Shop {
	mm := wood.Millimetre
	return Shop{
		Stations: []Station{
			{Key: "jointer", Name: "Jointer", Kind: "jointer", MaxWidth: 210 * mm, MinLength: 300 * mm},
			{Key: "planer", Name: "Planer", Kind: "planer", MaxWidth: 330 * mm, MaxThickness: 150 * mm, MinLength: 350 * mm},
			{Key: "saw", Name: "Table saw", Kind: "table-saw", MaxWidth: 1250 * mm, MaxThickness: 80 * mm},
			{Key: "band-saw", Name: "Band saw", Kind: "band-saw", MaxWidth: 500 * mm, MaxThickness: 300 * mm},
			{Key: "mitre", Name: "Mitre station", Kind: "mitre-station", MaxWidth: 330 * mm, MaxThickness: 100 * mm},
			{Key: "drum", Name: "Drum sander", Kind: "drum-sander", MaxWidth: 450 * mm, MaxThickness: 100 * mm, MinLength: 150 * mm, OpenEnded: true},
			{Key: "router", Name: "Router table", Kind: "router-table"},
			{Key: "drill", Name: "Drill press", Kind: "drill-press"},
			{Key: "mortiser", Name: "Mortiser", Kind: "mortiser", MaxThickness: 110 * mm},
			{Key: "bench", Name: "Bench", Kind: "bench"},
			{Key: "sanding", Name: "Sanding bench", Kind: "sanding-bench"},
			{Key: "finish", Name: "Finish room", Kind: "finish-room"},
		},
		Clamps: []ClampClass{
			{Key: "bar-1200", Name: "Bar clamp 1200", Reach: 1250 * mm, Count: 10},
			{Key: "bar-600", Name: "Bar clamp 600", Reach: 600 * mm, Count: 12},
			{Key: "f-300", Name: "F-clamp 300", Reach: 300 * mm, Count: 14},
		},
		Glues: l.Glues(), Finishes: l.Finishes(),
		Units: wood.Millimetres, Fraction: 16, TemperatureC: 21, HumidityPct: 50, Hands: 2,
	}
}

// built builds a piece in the small shop.
func built(t require.TestingT, in Input) *Built {
	l := library(t)
	b, err := l.Build(in, smallShop(l))
	require.NoError(t, err)
	return b
}

// order answers questions about a built piece.
type order struct {
	t     *testing.T
	b     *Built
	steps map[string]*Step
	after []bits
	index map[string]int
}

func orderOf(t *testing.T, b *Built) *order {
	o := &order{t: t, b: b, steps: map[string]*Step{}, index: map[string]int{}}
	for i := range b.Steps {
		o.steps[b.Steps[i].Key], o.index[b.Steps[i].Key] = &b.Steps[i], i
	}
	edges := make([][]int, len(b.Steps))
	for _, l := range b.Links {
		edges[o.index[l.Before]] = append(edges[o.index[l.Before]], o.index[l.After])
	}
	var cycle []int
	o.after, cycle = reachable(len(b.Steps), edges)
	require.Nil(t, cycle)
	return o
}

func (o *order) step(key string) *Step {
	require.Contains(o.t, o.steps, key)
	return o.steps[key]
}

// before requires every step of the row to come after the one before it,
// whatever the plan.
func (o *order) before(keys ...string) {
	o.t.Helper()
	for i, key := range keys[1:] {
		o.step(keys[i])
		o.step(key)
		require.True(o.t, o.after[o.index[keys[i]]].has(o.index[key]), "%s must come before %s", keys[i], key)
	}
}

// free requires that the plan may put two steps in either order.
func (o *order) free(one, other string) {
	o.t.Helper()
	o.step(one)
	o.step(other)
	i, j := o.index[one], o.index[other]
	require.False(o.t, o.after[i].has(j) || o.after[j].has(i), "%s and %s need no order", one, other)
}
