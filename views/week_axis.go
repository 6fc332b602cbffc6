package views

import (
	"slices"
	"sort"
	"time"
)

// scale is the widths of an axis in pixels.
type scale struct {
	night  int // from midnight to opening, or from closing to midnight
	closed int // a whole day
	rest   int // between two openings of a day
	hour   int // the least for an open one: narrower nothing is read
}

// Closed time is folded: by the hour it is wide enough for a cure that runs through the
// night to show, by the day just wide enough to be seen.
var (
	byHour = scale{night: 15, closed: 30, rest: 7, hour: 15}
	byDay  = scale{night: 2, closed: 11, rest: 1, hour: 2}
)

// hourMost is the most pixels for an open hour: wider nothing is gained.
const hourMost = 130

// ChartDay is one day across the chart.
type ChartDay struct {
	Day    time.Time // midnight, in the shop's time zone
	Name   string    // "Tue 1 Dec"
	Short  string    // "Tu": where the shop is closed
	Closed string    // why it is closed, "" if it is open or just no working day
	Open   []Stretch
	Said   string // the day in one line
	Month  string // "Dec"
	Href   string // of the day alone
}

// timeAxis says where a time stands across the chart: open time to scale,
// closed time folded. It never runs backwards.
type timeAxis struct {
	scale
	knots     []knot
	days      []axisDay
	open      time.Duration // all open time shown,
	openWidth int           // which takes so many pixels
}

type knot struct {
	at time.Time
	x  int
}

type axisDay struct {
	ChartDay
	x, end int
}

// newTimeAxis lays the days out so that all fit a width where they can. Days
// follow each other; openings may come in any order and may overlap.
func newTimeAxis(days []ChartDay, fitWidth int, s scale) timeAxis {
	open, folded := time.Duration(0), 0
	for i := range days {
		days[i].Open = tidy(days[i].Open, dayStretch(days[i].Day))
		for _, w := range days[i].Open {
			open += w.To.Sub(w.From)
		}
		folded += s.folded(len(days[i].Open))
	}
	hours := max(int(open/time.Hour), 1)
	a := timeAxis{scale: s, open: open, openWidth: min(max(fitWidth-folded, s.hour*hours), hourMost*hours)}
	x := 0
	for _, day := range days {
		x = a.addDay(day, x)
	}
	return a
}

// folded is the width of a day's closed time.
func (s scale) folded(openings int) int {
	if openings == 0 {
		return s.closed
	}
	return 2*s.night + (openings-1)*s.rest
}

func (a *timeAxis) addDay(day ChartDay, x int) int {
	start := x
	whole := dayStretch(day.Day)
	a.knots = append(a.knots, knot{whole.From, x})
	closed := a.night
	for _, w := range day.Open {
		x += closed
		a.knots = append(a.knots, knot{w.From, x})
		x += max(int(w.To.Sub(w.From).Minutes())*a.openWidth/max(int(a.open.Minutes()), 1), 1)
		a.knots = append(a.knots, knot{w.To, x})
		closed = a.rest
	}
	if len(day.Open) > 0 {
		x += a.night
	} else {
		x += a.closed
	}
	a.knots = append(a.knots, knot{whole.To, x})
	a.days = append(a.days, axisDay{day, start, x})
	return x
}

// dayStretch is a whole day of its zone, 23 or 25 hours when the clocks change.
func dayStretch(midnight time.Time) Stretch {
	y, m, d := midnight.Date()
	return Stretch{midnight, time.Date(y, m, d+1, 0, 0, 0, 0, midnight.Location())}
}

// tidy sorts openings, joins those that touch and cuts them to the day.
func tidy(open []Stretch, day Stretch) []Stretch {
	open = slices.Clone(open)
	slices.SortFunc(open, func(a, b Stretch) int { return a.From.Compare(b.From) })
	var out []Stretch
	for _, w := range open {
		w = w.Overlap(day)
		if w.Empty() {
			continue
		}
		if n := len(out); n > 0 && !w.From.After(out[n-1].To) {
			if w.To.After(out[n-1].To) {
				out[n-1].To = w.To
			}
			continue
		}
		out = append(out, w)
	}
	return out
}

func (a timeAxis) width() int {
	if len(a.knots) == 0 {
		return 0
	}
	return a.knots[len(a.knots)-1].x
}

func (a timeAxis) stretch() Stretch {
	if len(a.knots) == 0 {
		return Stretch{}
	}
	return Stretch{a.knots[0].at, a.knots[len(a.knots)-1].at}
}

// x is where a time stands; times outside stand at the ends. O(log days).
func (a timeAxis) x(t time.Time) int {
	i := sort.Search(len(a.knots), func(i int) bool { return !a.knots[i].at.Before(t) })
	if i == 0 || i == len(a.knots) {
		if i == 0 {
			return 0
		}
		return a.width()
	}
	from, to := a.knots[i-1], a.knots[i]
	if !from.at.Before(to.at) {
		return to.x
	}
	return from.x + int(time.Duration(to.x-from.x)*t.Sub(from.at)/to.at.Sub(from.at))
}

// openParts cuts a piece of time to the openings shown.
func (a timeAxis) openParts(s Stretch) []Stretch {
	var out []Stretch
	for _, day := range a.days {
		for _, w := range day.Open {
			if part := w.Overlap(s); !part.Empty() {
				out = append(out, part)
			}
		}
	}
	return out
}
