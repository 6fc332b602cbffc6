package views

import (
	"encoding/xml"
	"fmt"
	"html/template"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// lisbon changes its clocks in the night to 25 October 2026.
func lisbon(t interface{ Fatalf(string, ...any) }) *time.Location {
	zone, err := time.LoadLocation("Europe/Lisbon")
	if err != nil {
		t.Fatalf("time zone: %v", err)
	}
	return zone
}

// shopDays are days from one on, Monday to Friday 8 to 12 and 13 to 17.
func shopDays(from time.Time, n int) []ChartDay {
	var days []ChartDay
	y, m, d := from.Date()
	for i := range n {
		day := time.Date(y, m, d+i, 0, 0, 0, 0, from.Location())
		clock := func(h int) time.Time { return time.Date(y, m, d+i, h, 0, 0, 0, from.Location()) }
		c := ChartDay{Day: day, Name: day.Format("Mon 2 Jan"), Short: day.Format("Mon")[:2]}
		if day.Weekday() != time.Sunday && day.Weekday() != time.Saturday {
			c.Open = []Stretch{{clock(8), clock(12)}, {clock(13), clock(17)}}
			c.Said = "Close two glue-ups before noon, three setups, 6 h 10 of 16 h."
		}
		days = append(days, c)
	}
	return days
}

// benchWeek is an invented week of two people and three commissions.
func benchWeek(t *testing.T) WeekChart {
	zone := lisbon(t)
	at := func(day, hour, minute int) time.Time { return time.Date(2026, 11, 30+day, hour, minute, 0, 0, zone) }
	block := func(commission int, state State, from time.Time, minutes int, label, group string) ChartBlock {
		return ChartBlock{Kind: Work, Commission: commission, State: state, At: Stretch{from, from.Add(time.Duration(minutes) * time.Minute)},
			Label: label, Group: group, Title: label + " (" + group + ")", Href: "/steps/7"}
	}
	setup := func(commission int, from time.Time, minutes int, state string) ChartBlock {
		return ChartBlock{Kind: SetupWork, Commission: commission, State: StateReady, At: Stretch{from, from.Add(time.Duration(minutes) * time.Minute)},
			Label: state, Title: "Set the planer: " + state, Href: "/steps/7"}
	}
	rest := func(commission int, state State, from, to time.Time, label string) ChartBlock {
		until := to.Format("Mon 15:04")
		return ChartBlock{Kind: RestTime, Commission: commission, State: state, At: Stretch{from, to}, Label: label, Until: until, Title: label + ", " + string(state), Href: "/steps/9"}
	}
	ana := []ChartBlock{
		block(0, StateDone, at(0, 8, 0), 50, "Glue up the arched rails", "Glue-up"),
		block(1, StateInHand, at(0, 8, 50), 70, "Plane the sides", "Milling"),
		setup(0, at(0, 10, 0), 10, "45 mm"),
		block(0, StateReady, at(0, 10, 10), 40, "Plane the posts", "Milling"),
		block(0, StateWaiting, at(0, 10, 50), 30, "Plane the rails", "Milling"),
		block(2, StateReady, at(0, 11, 20), 160, "Sand the shelves", "Sanding"),
		block(2, StateWaiting, at(0, 14, 0), 100, "Sand the sides", "Sanding"),
		block(2, StateWaiting, at(0, 15, 40), 80, "Sand the back", "Sanding"),
		block(0, StateWaiting, at(1, 10, 0), 90, "Glue up the two ends", "Glue-up"),
		block(1, StateWaiting, at(1, 14, 0), 180, "Cut the dados", "Joinery"),
		block(2, StateWaiting, at(2, 8, 0), 200, "First coat", "Finishing"),
		block(0, StateWaiting, at(3, 13, 0), 240, "Template-rout the arch", "Shaping"),
	}
	ben := []ChartBlock{
		block(1, StatePutDown, at(0, 8, 0), 60, "Rip the boards", "Milling"),
		block(2, StateInTrouble, at(0, 9, 0), 100, "Square the back", "Joinery"),
		block(0, StateWaiting, at(0, 13, 0), 200, "Mortise the posts", "Joinery"),
		setup(1, at(1, 8, 0), 25, "6 mm dado"),
		block(1, StateWaiting, at(1, 8, 25), 90, "Dado the sides", "Joinery"),
		block(0, StateWaiting, at(2, 9, 0), 150, "Tenon the long rails", "Joinery"),
		block(0, StateWaiting, at(2, 15, 0), 100, "Join the ends with the long rails", "Glue-up"),
		block(1, StateWaiting, at(4, 8, 0), 480, "Fit the drawer", "Fitting"),
	}
	ana[8].Pinned = true
	ana[9].Moved, ana[10].Moved = 90, -30
	ben[len(ben)-1].Pinned = true
	planer := []ChartBlock{ana[1], ana[2], ana[3], ana[4]}
	rests := []ChartBlock{
		rest(0, StateInClamps, at(0, 8, 50), at(0, 12, 50), "Arched rails"),
		rest(0, StateInClamps, at(1, 11, 30), at(1, 15, 30), "Two ends"),
		rest(0, StateInClamps, at(2, 16, 40), at(3, 8, 40), "Base"),
		rest(2, StateDrying, at(2, 11, 20), at(3, 11, 20), "First coat on the shelf: thinned, wiped dry"),
	}
	return WeekChart{
		Title: "Plan from Mon 30 Nov to Sun 6 Dec", Now: at(0, 9, 42), Fit: 1080, Days: shopDays(at(0, 0, 0), 7),
		Commissions: []ChartCommission{
			{"Hall bench", "/commissions/1", at(4, 17, 0), at(4, 9, 30), PromiseTight, "tight: 6 h to spare", "Fri 4 Dec"},
			{"Bedside cabinet for the loft", "/commissions/2", at(3, 17, 0), at(4, 17, 0), PromiseLate, "late by 8 h", "Thu 3 Dec"},
			{"Wall shelf", "/commissions/3", at(11, 17, 0), at(3, 11, 20), PromiseInTime, "in time: 5 days to spare", "Fri 11 Dec"},
		},
		Sections: []ChartSection{
			{"Hands", HandsSection, []ChartRow{{"Ana", "", ana}, {"Ben", "away Thu", ben}}},
			{"At rest", RestSection, []ChartRow{{"In clamps", "", rests[:3]}, {"Drying", "", rests[3:]}}},
			{"Stations", StationSection, []ChartRow{{"Planer", "", planer}, {"Table saw", "down", ben[:1]}}},
		},
		Loads: []ChartLoad{{"Bar clamps", 12, []LoadChange{{at(0, 8, 0), 6}, {at(0, 12, 50), 0}, {at(1, 10, 0), 9},
			{at(1, 15, 30), 0}, {at(2, 15, 0), 12}, {at(3, 8, 40), 0}}},
			{"Drying", 0, []LoadChange{{at(2, 11, 20), 1}, {at(3, 11, 20), 0}}}},
	}
}

func TestWeekChartGolden(t *testing.T) {
	labels, chart := benchWeek(t).Drawings()
	requireGolden(t, "week-names.svg", labels)
	requireGolden(t, "week-chart.svg", chart)
	for _, said := range []string{"Ana", "Table saw, down", "In clamps", "Promises", "most 12 of 12"} {
		assert.Contains(t, words(t, labels), said)
	}
	for _, said := range []string{"Mon 30 Nov", "now 9:42", "Sanding\n×3", "late by 8 h", "promised Fri 11 Dec", "Pinned: Fit the", "Base · Thu 08:40", "10:00 to 11:20: 2 steps (A ×2), one by one in the list."} {
		assert.Contains(t, words(t, chart), said)
	}
	for _, never := range []string{"style=", "<script", "onclick"} {
		assert.NotContains(t, string(chart)+string(labels), never)
	}
}

// Of many rests only those are named that run past closing time.
func TestWeekChartManyRests(t *testing.T) {
	monday := time.Date(2026, 11, 30, 0, 0, 0, 0, lisbon(t))
	rest := func(hour, long int, name string) ChartBlock {
		from := monday.Add(time.Duration(hour) * time.Hour)
		return ChartBlock{Kind: RestTime, State: StateInClamps, At: Stretch{from, from.Add(time.Duration(long) * time.Hour)}, Label: name, Until: "7:00", Title: name + " rests"}
	}
	blocks := []ChartBlock{rest(15, 16, "Overnight"), rest(15, 3, "Evening")}
	for i := range restsNamed - 1 {
		blocks = append(blocks, rest(9+24*(i%2), 2, "Morning"))
	}
	for _, c := range []struct {
		rests int
		names bool
	}{{restsNamed, true}, {restsNamed + 1, false}} {
		w := WeekChart{Days: shopDays(monday, 2), Fit: 1000, Sections: []ChartSection{{"At rest", RestSection, []ChartRow{{Name: "In clamps", Blocks: blocks[:c.rests]}}}}}
		_, chart := w.Drawings()
		text := words(t, chart)
		assert.Contains(t, text, "Overnight · 7:00")
		assert.Contains(t, text, "Evening · 7:00")
		assert.Contains(t, text, "Morning rests", "the title stays")
		assert.Equal(t, c.names, strings.Contains(text, "Morning · 7:00"))
	}
}

// Where too many rest at once, those within a day are only counted.
func TestWeekChartRestsWithinADay(t *testing.T) {
	w := benchWeek(t)
	row := &w.Sections[1].Rows[0]
	row.Blocks = slices.Clip(row.Blocks)
	for range onScreen.rests {
		morning := row.Blocks[1]
		morning.Title = "only counted"
		row.Blocks = append(row.Blocks, morning)
	}
	labels, chart := w.Drawings()
	assert.Contains(t, words(t, labels), "8 more within a day")
	assert.Contains(t, words(t, chart), "Base · Thu 08:40", "over night")
	assert.NotContains(t, words(t, chart), "only counted")
}

// A step that a break cuts in two is one step.
func TestRunLabel(t *testing.T) {
	glue := ChartBlock{Label: "Glue up", Group: "Glue-up", Href: "/steps/1"}
	after := glue
	after.At.From = time.Unix(9, 0)
	plane := ChartBlock{Label: "Plane", Group: "Milling", Href: "/steps/2"}
	pinned := glue
	pinned.Pinned = true
	set := ChartBlock{Kind: SetupWork, Label: "45 mm", Href: "/steps/2"}
	for want, blocks := range map[string][]ChartBlock{
		"Glue up":             {glue, after},
		"Plane":               {set, plane},
		"Glue-up, Milling ×2": {glue, after, set, plane},
		"Milling, Glue-up ×3": {plane, glue, plane},
		"Pinned: Glue up":     {pinned},
	} {
		r := run{}
		for _, b := range blocks {
			r.pieces = append(r.pieces, piece{block: b})
		}
		assert.Equal(t, want, r.label(nil))
	}
}

func TestLetter(t *testing.T) {
	for i, want := range map[int]string{-1: "", 0: "A", 25: "Z", 26: "AA", 27: "AB", 51: "AZ", 52: "BA", 701: "ZZ", 702: "AAA"} {
		assert.Equal(t, want, Letter(i))
	}
}

func TestTimeAxis(t *testing.T) {
	monday := time.Date(2026, 11, 30, 0, 0, 0, 0, lisbon(t))
	a := newTimeAxis(shopDays(monday, 2), 666, byHour)
	hour := func(h int) int { return a.x(monday.Add(time.Duration(h) * time.Hour)) }
	// Two nights at each day's ends and a break: 2 × (15+15+7) = 74 pixels are
	// folded, 592 left for 16 hours: 37 each.
	assert.Equal(t, []int{0, 15, 15 + 37, 15 + 4*37, 22 + 4*37, 22 + 8*37}, []int{hour(0), hour(8), hour(9), hour(12), hour(13), hour(17)})
	assert.Equal(t, 22+8*37+7, a.x(monday.Add(20*time.Hour+30*time.Minute)), "half the evening is half its width")
	assert.Equal(t, hour(24), a.days[1].x)
	assert.Equal(t, a.width(), hour(48))
	assert.Equal(t, 0, a.x(monday.AddDate(-1, 0, 0)))
	assert.Equal(t, a.width(), a.x(monday.AddDate(1, 0, 0)))
	assert.Zero(t, timeAxis{}.x(monday))
	assert.Zero(t, timeAxis{}.width())
}

// TestTimeAxisWhenClocksChange: each hour of a Sunday with 25 of them takes its width.
func TestTimeAxisWhenClocksChange(t *testing.T) {
	sunday := time.Date(2026, 10, 25, 0, 0, 0, 0, lisbon(t))
	days := []ChartDay{{Day: sunday, Open: []Stretch{{sunday, sunday.AddDate(0, 0, 1)}}}}
	require.Equal(t, 25*time.Hour, days[0].Open[0].To.Sub(days[0].Open[0].From), "the clocks go back that night")
	a := newTimeAxis(days, 2*byHour.night+250, byHour)
	for h := range 26 {
		want := byHour.night + 15*h // never under 15 pixels an hour
		if h == 0 {
			want = 0 // midnight is the day's very left
		}
		if h == 25 {
			continue // the next midnight is its very right
		}
		assert.Equal(t, want, a.x(sunday.Add(time.Duration(h)*time.Hour)), "hour %d", h)
	}
}

// anyWeek draws days with any openings and rows with any blocks.
func anyWeek(t *rapid.T) WeekChart {
	zone := lisbon(t)
	start := time.Date(2026, 10, 21, 0, 0, 0, 0, zone).AddDate(0, 0, rapid.IntRange(0, 9).Draw(t, "first day"))
	w := WeekChart{Title: "Any", Now: start.Add(30 * time.Hour), Fit: rapid.IntRange(200, 2000).Draw(t, "fit")}
	n := rapid.IntRange(1, 12).Draw(t, "days")
	for i := range n {
		day := start.AddDate(0, 0, i)
		c := ChartDay{Day: day, Name: day.Format("Mon 2 Jan"), Short: "x"}
		for range rapid.IntRange(0, 3).Draw(t, "openings") {
			from := day.Add(time.Duration(rapid.IntRange(0, 1500).Draw(t, "opens")) * time.Minute)
			c.Open = append(c.Open, Stretch{from, from.Add(time.Duration(rapid.IntRange(-30, 500).Draw(t, "long")) * time.Minute)})
		}
		w.Days = append(w.Days, c)
	}
	for _, kind := range []SectionKind{HandsSection, RestSection} {
		row := ChartRow{Name: "Ana"}
		for k := range rapid.IntRange(0, 25).Draw(t, "blocks") {
			from := start.Add(time.Duration(rapid.IntRange(-2000, n*1440+2000).Draw(t, "from")) * time.Minute)
			b := ChartBlock{Commission: rapid.IntRange(0, 30).Draw(t, "commission"), State: rapid.SampledFrom(States()).Draw(t, "state"),
				At:    Stretch{from, from.Add(time.Duration(rapid.IntRange(0, 2500).Draw(t, "minutes")) * time.Minute)},
				Label: fmt.Sprintf("Block %d", k), Group: "Milling", Title: fmt.Sprintf("block %d of kind %d", k, kind), Href: "/steps/1", Listed: "#at-1"}
			if kind == RestSection {
				b.Kind = RestTime
			}
			row.Blocks = append(row.Blocks, b)
		}
		w.Sections = append(w.Sections, ChartSection{"Rows", kind, []ChartRow{row}})
	}
	return w
}

func TestWeekLayoutProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := anyWeek(t)
		l := w.place(onScreen)
		shown := l.axis.stretch()
		last := 0
		for at := shown.From; !at.After(shown.To); at = at.Add(37 * time.Minute) {
			x := l.axis.x(at)
			require.GreaterOrEqual(t, x, last, "the axis runs back at %s", at)
			last = x
		}
		for _, section := range l.sections {
			for _, row := range section.rows {
				requireApart(t, l, section.kind, row)
			}
		}
		requireAllThere(t, l)
	})
}

func drawnChart(l *weekLayout) template.HTML {
	d := newSVG("", l.axis.width(), l.height, "")
	l.drawChart(d)
	return d.html()
}

// requireAllThere: every block is in a run, and every run says its step, or how many it
// has and where they are.
func requireAllThere(t *rapid.T, l *weekLayout) {
	shown, text := l.axis.stretch(), words(t, drawnChart(l))
	for i, section := range l.chart.Sections {
		row := l.sections[i].rows[0]
		drawn := map[string]bool{}
		for _, r := range row.runs {
			for _, p := range r.pieces {
				drawn[p.block.Title] = true
			}
			assert.Contains(t, text, l.title(r))
			if n := len(r.steps()); n > 1 {
				assert.Contains(t, l.title(r), fmt.Sprintf("%d steps", n))
				assert.Equal(t, r.block().Listed, r.href())
			} else {
				assert.Equal(t, r.block().Href, r.href())
			}
		}
		for _, b := range section.Rows[0].Blocks {
			if row.Note != "" && l.withinADay(b) {
				continue // counted beside the row's name
			}
			if b.At.From.Before(b.At.To) && b.At.From.Before(shown.To) && b.At.To.After(shown.From) {
				assert.True(t, drawn[b.Title], b.Title)
			}
		}
	}
}

// requireApart: nothing in one lane overlaps, and work lies in open time unless
// it was done or planned wholly outside of it.
func requireApart(t *rapid.T, l *weekLayout, kind SectionKind, row placedRow) {
	ends := map[int]int{}
	for _, r := range row.runs {
		require.GreaterOrEqual(t, r.x(), ends[r.lane], "two blocks overlap")
		require.LessOrEqual(t, (r.lane+1)*row.laneHeight, row.height, "a block leaves its row")
		for i, p := range r.pieces {
			require.LessOrEqual(t, p.x, p.end)
			if i > 0 {
				require.GreaterOrEqual(t, p.x, r.pieces[i-1].end, "two blocks of a run overlap")
			}
			if kind == RestSection || len(l.axis.openParts(p.block.At)) == 0 {
				continue
			}
			inOpen := false
			for _, day := range l.axis.days {
				for _, open := range day.Open {
					inOpen = inOpen || p.x >= l.axis.x(open.From) && p.end <= l.axis.x(open.To)
				}
			}
			require.True(t, inOpen, "work outside the opening hours")
		}
		ends[r.lane] = r.end()
	}
}

// TestWeekChartRects reads the drawing itself: every rectangle lies inside.
func TestWeekChartRects(t *testing.T) {
	_, chart := benchWeek(t).Drawings()
	d := xml.NewDecoder(strings.NewReader(string(chart)))
	size := map[string]int{}
	seen := 0
	for {
		token, err := d.Token()
		if err != nil {
			break // words, in the golden test, tells an error from the end
		}
		start, ok := token.(xml.StartElement)
		if !ok {
			continue
		}
		n := map[string]int{}
		for _, a := range start.Attr {
			if v, err := strconv.Atoi(a.Value); err == nil {
				n[a.Name.Local] = v
			}
		}
		if start.Name.Local == "svg" {
			size = n
		}
		if start.Name.Local == "rect" {
			seen++
			assert.True(t, n["x"] >= 0 && n["y"] >= 0 && n["x"]+n["width"] <= size["width"] && n["y"]+n["height"] <= size["height"], "%v lies outside %v", n, size)
		}
	}
	assert.Greater(t, seen, 60)
}

// By the day the minutes of a row are those of its blocks within the shop's hours.
func TestWeekByDayGolden(t *testing.T) {
	w := benchWeek(t)
	w.ByDay = true
	w.Sections = slices.Delete(w.Sections, 1, 2)
	for i := range w.Days {
		w.Days[i].Href, w.Days[i].Month = "/week?days=1", w.Days[i].Day.Format("Jan")
	}
	_, chart := w.Drawings()
	requireGolden(t, "week-month.svg", chart)
	for _, said := range []string{"Ana, Mon 30 Nov: setting a station 10 min, A 2 h, B 1 h 10, C 4 h 40", "Nov\n\nMo\n\n30", "Dec\n\nTu\n\n1"} {
		assert.Contains(t, strings.ReplaceAll(words(t, chart), "\n\n\n", "\n\n"), said)
	}
	l := w.place(onScreen)
	for _, section := range l.sections {
		for _, row := range section.rows {
			want := time.Duration(0)
			for _, b := range row.Blocks {
				for _, part := range l.axis.openParts(b.At) {
					want += part.To.Sub(part.From)
				}
			}
			got := time.Duration(0)
			for _, bar := range row.bars {
				got += bar.total()
			}
			assert.Equal(t, want, got, row.Name)
		}
	}
}

// A sheet holds the chart in letters that can be read, and says which rows it has no room
// for: those with the least work.
func TestWeekOnPaper(t *testing.T) {
	week := benchWeek(t)
	_, left := week.OnPaper()
	assert.Empty(t, left, "a small week is there whole")
	tall, month := benchWeek(t), benchWeek(t)
	for i := range 30 {
		row := week.Sections[2].Rows[0]
		row.Name, row.Blocks = fmt.Sprint("Machine ", i), row.Blocks[i%len(row.Blocks):]
		tall.Sections[2].Rows = append(tall.Sections[2].Rows, row)
	}
	month.ByDay, month.Sections = true, tall.Sections
	month.Heading = "28. Dez. 2026 bis 24. Jan. 2027"
	paper, _ := month.OnPaper()
	assert.Regexp(t, `^\s*28\.\x{a0}Dez\. 2026 bis\s+24\.\x{a0}Jan\. 2027\n`, words(t, paper), "the longest name of days is whole")
	many := tall
	many.Sections = slices.Clone(tall.Sections)
	many.Sections[0].Rows = nil
	for i := range 40 {
		row := week.Sections[0].Rows[0]
		row.Name = fmt.Sprint("Maker ", i)
		many.Sections[0].Rows = append(many.Sections[0].Rows, row)
	}
	busy := month
	for i := range 40 {
		c := week.Commissions[2]
		c.Name, c.State, c.Ends = fmt.Sprint("Commission ", i), PromiseInTime, c.Ends.Add(time.Duration(i)*time.Minute)
		busy.Commissions = append(busy.Commissions, c)
	}
	busy.Commissions[len(busy.Commissions)-1].State = PromiseLate
	lines := map[string]int{"many promises": onPaper.promises}
	for name, w := range map[string]WeekChart{"small": week, "many stations": tall, "a month": month, "many people": many, "many promises": busy} {
		t.Run(name, func(t *testing.T) {
			paper, left := w.OnPaper()
			var width, height int
			_, err := fmt.Sscanf(string(paper)[strings.Index(string(paper), "viewBox"):], `viewBox="0 0 %d %d"`, &width, &height)
			require.NoError(t, err)
			assert.LessOrEqual(t, width, paperWidth)
			assert.LessOrEqual(t, height, paperHeight)
			said := words(t, paper)
			rows := 0
			for _, s := range w.Sections {
				for _, row := range s.Rows {
					rows++
					assert.NotEqual(t, slices.Contains(left, row.Name), strings.Contains(said+"\n", row.Name+"\n"), row.Name)
				}
			}
			assert.Less(t, len(left), rows)
			l := w.place(onPaper)
			if most := lines[name]; most > 0 {
				assert.Len(t, l.promises, most)
				assert.Equal(t, len(w.Commissions)-1, l.promises[most-1].commission, "one that is late has a line, wherever it stands")
				assert.Contains(t, said, "without a line: 0 late, 0 tight, 31 in time")
				return
			}
			assert.Len(t, l.promises, len(w.Commissions), "the promises are the key to the letters")
			for _, c := range w.Commissions {
				assert.Contains(t, said, c.Verdict)
			}
		})
	}
	_, left = busy.OnPaper()
	assert.NotContains(t, left, "Ana", "promises do not take the room of people")
	_, left = tall.OnPaper()
	assert.Contains(t, left, "At once")
	assert.NotContains(t, left, "Ana")
	assert.NotContains(t, left, "Planer", "which has the most work")
	assert.Len(t, left, 17, "a full sheet is set closer,")
	loose := tall.place(onPaper)
	assert.Len(t, loose.leastMissed(loose.height-paperHeight), 21, "or it would lack more")
}

// Of many promises those have a line that have something to show in the days shown; the
// others are counted by how they stand.
func TestWeekManyPromises(t *testing.T) {
	w := benchWeek(t)
	for i := range 9 {
		c := w.Commissions[2]
		c.Promised, c.Ends = c.Promised.AddDate(0, 1, i), c.Ends.AddDate(0, 1, 0)
		w.Commissions = append(w.Commissions, c)
	}
	w.Commissions[5].State = PromiseLate
	l := w.place(onScreen)
	var lines []int
	for _, p := range l.promises {
		lines = append(lines, p.commission)
	}
	assert.Equal(t, []int{0, 1, 2}, lines)
	labels, chart := w.Drawings()
	assert.Contains(t, words(t, labels), "9 more")
	assert.Contains(t, words(t, chart), "outside the days shown: 1 late, 0 tight, 8 in time")
}

func TestWeekChartHostileText(t *testing.T) {
	bad := `</title><script>alert("x")</script>` + "\x00&amp;'"
	w := benchWeek(t)
	w.Title, w.Days[0].Name, w.Days[5].Closed, w.Commissions[0].Name, w.Commissions[0].Verdict = bad, bad, bad, bad, bad
	w.Sections[0].Name, w.Sections[0].Rows[0].Name, w.Sections[0].Rows[0].Note, w.Loads[0].Name = bad, bad, bad, bad
	b := &w.Sections[0].Rows[0].Blocks[5]
	b.Label, b.Group, b.Title, b.Href = bad, bad, bad, "javascript:alert(1)"
	labels, chart := w.Drawings()
	for _, drawn := range []template.HTML{labels, chart} {
		assert.Contains(t, words(t, drawn), `<script>alert("x")</script>`, "shown as text")
		for _, never := range []string{"<script", "javascript:", "\x00"} {
			assert.NotContains(t, string(drawn), never)
		}
	}
}

func TestFit(t *testing.T) {
	assert.Equal(t, "Plane", fit("Plane", 13, 100))
	assert.Equal(t, "Plane the…", fit("Plane the posts square", 13, 86))
	assert.Empty(t, fit("Plane", 13, 15))
	rapid.Check(t, func(t *rapid.T) {
		s, width := rapid.String().Draw(t, "s"), rapid.IntRange(0, 300).Draw(t, "width")
		cut := fit(s, 13, width)
		assert.LessOrEqual(t, textWidth(cut, 13), max(width, 0))
		assert.True(t, cut == s || cut == "" || strings.HasPrefix(s, strings.TrimSuffix(cut, "…")))
	})
}

func TestWrap(t *testing.T) {
	assert.Equal(t, []string{"Join the", "ends with…"}, wrap("Join the ends with the long rails", 13, 86, 86))
	assert.Equal(t, []string{"Sand"}, wrap("  Sand ", 13, 75, 75))
	assert.Equal(t, []string{"two setups,", "6\u00a0h\u00a010 of", "17\u00a0h."}, wrap("two setups, 6 h 10 of 17 h.", 13, 90, 90, 90), "a span of time stays whole")
	assert.Equal(t, []string{"Rip: level of the", "carcase\u00a0×\u00a05"}, wrap("Rip: level of the carcase × 5", 13, 160, 160), "a count stays with its name")
	assert.Equal(t, []string{"Rip:", "Seitenwände", "×\u00a05"}, wrap("Rip: Seitenwände × 5", 13, 100, 100, 100), "unless it would be cut off")
	assert.Empty(t, wrap("", 13, 75))
}

// Steps of a few minutes are gathered, so that each run can be read: in its frame, or
// beside it where there is room.
func TestShortStepsAreGathered(t *testing.T) {
	short := func(w WeekChart, minute, n, minutes int, of ...int) (blocks []ChartBlock) {
		for i := range n {
			from := w.Days[0].Day.Add(time.Duration(minute+i*minutes) * time.Minute)
			blocks = append(blocks, ChartBlock{Commission: of[i%len(of)], Label: fmt.Sprint("step ", i), Group: "Milling", Href: fmt.Sprint("/steps/", i), Listed: fmt.Sprint("#", i),
				At: Stretch{from, from.Add(time.Duration(minutes) * time.Minute)}})
		}
		return blocks
	}
	w := benchWeek(t)
	for name, c := range map[string]struct {
		blocks []ChartBlock
		want   []string // how many steps of whom, and where it says so
	}{
		"one commission":               {short(w, 8*60+30, 20, 5, 0), []string{"A ×20"}},
		"turn by turn":                 {short(w, 8*60+30, 20, 8, 0, 1), []string{"AB ×20"}},
		"one after the other":          {append(short(w, 8*60, 12, 8, 0), short(w, 9*60+36, 12, 8, 2)...), []string{"A ×12", "C ×12"}},
		"alone, with room":             {short(w, 9*60, 1, 5, 1), []string{"B ×1 beside"}},
		"a few alone, with room":       {short(w, 9*60, 2, 4, 1, 0), []string{"BA ×2 beside"}},
		"one beside long ones":         {append(append(short(w, 8*60, 1, 90, 0), short(w, 9*60+30, 1, 5, 1)...), short(w, 9*60+35, 1, 90, 2)...), nil},
		"right before closing":         {short(w, 16*60+54, 6, 1, 0), []string{"A ×6 beside"}},
		"a day apart is two":           {append(short(w, 15*60, 3, 40, 0), short(w, 24*60+8*60, 3, 40, 0)...), []string{"A ×3", "A ×3"}},
		"what is done is not to do":    {done(short(w, 8*60, 10, 20, 0), 5), []string{"A ×5", "A ×5"}},
		"what is in hand is by itself": {inHand(short(w, 8*60, 19, 24, 0, 1), 9), []string{"AB ×9", "B ×1", "AB ×9"}},
	} {
		t.Run(name, func(t *testing.T) {
			l := w.place(onScreen)
			var got []string
			for i, r := range l.runs(c.blocks, 0, HandsSection) {
				said := ""
				for _, of := range r.of() {
					said += Letter(of)
				}
				said += " " + times(len(r.steps()))
				if r.beside > 0 {
					said += " beside"
				} else if r.block().State != StateInHand {
					assert.GreaterOrEqual(t, r.end()-r.x(), gatherLeast, "run %d", i)
				}
				got = append(got, said)
			}
			if c.want != nil {
				assert.Equal(t, c.want, got)
			}
		})
	}
}

// done says that the first n of some blocks are.
func done(blocks []ChartBlock, n int) []ChartBlock {
	for i := range n {
		blocks[i].State = StateDone
	}
	return blocks
}

// inHand says that one of some blocks is.
func inHand(blocks []ChartBlock, i int) []ChartBlock {
	blocks[i].State = StateInHand
	return blocks
}
