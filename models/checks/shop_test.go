package checks

import (
	"os"
	"sync"

	"github.com/stretchr/testify/require"

	"faceside/models/pattern"
	"faceside/models/wood"
)

const mm = wood.Millimetre

// shipped is the library the program ships with.
var shipped = sync.OnceValues(func() (*pattern.Library, error) { return pattern.Load(os.DirFS("../../seed")) })

func library(t require.TestingT) *pattern.Library {
	l, err := shipped()
	require.NoError(t, err)
	return l
}

// shop is an invented two-person shop with ordinary machines (limits: common
// practice, no source).
func shop(t require.TestingT) pattern.Shop {
	l := library(t)
	return pattern.Shop{
		Stations: []pattern.Station{
			{Key: "jointer", Name: "Jointer", Kind: "jointer", MaxWidth: 260 * mm, MinLength: 300 * mm},
			{Key: "planer", Name: "Planer", Kind: "planer", MaxWidth: 510 * mm, MaxThickness: 200 * mm, MinLength: 300 * mm},
			{Key: "saw", Name: "Table saw", Kind: "table-saw", MaxWidth: 1300 * mm, MaxThickness: 80 * mm},
			{Key: "band-saw", Name: "Band saw", Kind: "band-saw", MaxWidth: 500 * mm, MaxThickness: 300 * mm},
			{Key: "mitre", Name: "Mitre station", Kind: "mitre-station", MaxWidth: 330 * mm, MaxThickness: 110 * mm},
			{Key: "drum", Name: "Drum sander", Kind: "drum-sander", MaxWidth: 560 * mm, MaxThickness: 100 * mm, MinLength: 70 * mm, OpenEnded: true},
			{Key: "router", Name: "Router table", Kind: "router-table"},
			{Key: "drill", Name: "Drill press", Kind: "drill-press"},
			{Key: "mortiser", Name: "Mortiser", Kind: "mortiser", MaxThickness: 150 * mm},
			{Key: "bench", Name: "Bench", Kind: "bench"},
			{Key: "sanding", Name: "Sanding bench", Kind: "sanding-bench"},
			{Key: "finish", Name: "Finish room", Kind: "finish-room"},
		},
		Clamps: []pattern.ClampClass{
			{Key: "bar-2500", Name: "Bar clamp 2500", Reach: 2500 * mm, Count: 10},
			{Key: "bar-1200", Name: "Bar clamp 1200", Reach: 1250 * mm, Count: 18},
			{Key: "bar-600", Name: "Bar clamp 600", Reach: 600 * mm, Count: 12},
			{Key: "f-300", Name: "F-clamp 300", Reach: 300 * mm, Count: 14},
		},
		Glues: l.Glues(), Finishes: l.Finishes(),
		Units: wood.Millimetres, Fraction: 16, TemperatureC: 21, HumidityPct: 50, Hands: 2,
	}
}

// build builds a piece in the test's shop.
func build(t require.TestingT, in pattern.Input) *pattern.Built {
	b, err := library(t).Build(in, shop(t))
	require.NoError(t, err)
	return b
}

// of are the findings of one check.
func of(found []Finding, check string) []Finding {
	var out []Finding
	for _, f := range found {
		if f.Check == check {
			out = append(out, f)
		}
	}
	return out
}

// list shows findings in a failed test.
func list(found []Finding) string {
	out := ""
	for _, f := range found {
		out += string(f.Severity) + " " + f.Check + ": " + f.Reason.String() + "\n"
	}
	return out
}
