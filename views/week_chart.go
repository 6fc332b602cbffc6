package views

import (
	"cmp"
	"html/template"
	"slices"
	"time"

	"faceside/views/tongues"
)

// WeekChart is the plan over some days, to be drawn: a row a person, a row a
// station, what is in clamps or drying, the promises, and how full the clamps are.
type WeekChart struct {
	Title       string // for those who cannot see the drawing
	Heading     string // on paper
	Say         *tongues.Speaker
	Now         time.Time
	Fit         int  // the width to fit into, in pixels, where the days allow it
	ByDay       bool // each day of a row in one bar: many days
	Days        []ChartDay
	Commissions []ChartCommission
	Sections    []ChartSection
	Loads       []ChartLoad
}

// ChartCommission is one commission of the chart. Its letter is its place:
// Letter(0) is A.
type ChartCommission struct {
	Name     string
	Href     string
	Promised time.Time // closing time of the promised day; zero: none
	Ends     time.Time // forecast; zero: none
	State    Promise
	Verdict  string // "tight: 6 h to spare"
	Date     string // the promised day, "Fri 4 Dec"
}

// ChartSection is rows under one heading.
type ChartSection struct {
	Name string
	Kind SectionKind
	Rows []ChartRow
}

// SectionKind says how a section's rows are drawn.
type SectionKind int

// The kinds of section, by which weekSizes are listed.
const (
	HandsSection SectionKind = iota
	StationSection
	RestSection
)

// ChartRow is one person, one station or one kind of rest.
type ChartRow struct {
	Name   string
	Note   string // beside the name, e.g. "down"
	Blocks []ChartBlock
}

// BlockKind says what a block is.
type BlockKind int

// The kinds of block.
const (
	Work BlockKind = iota
	SetupWork
	RestTime
)

// ChartBlock is one step's time in a row, or the setup before it.
type ChartBlock struct {
	Kind       BlockKind
	Commission int // place in WeekChart.Commissions
	State      State
	At         Stretch // drawn in open time only, unless it is a rest
	Label      string  // what it is, in few words
	Group      string  // what it is together with its neighbours: its phase; on a station, the setup
	Until      string  // of a rest: when it is over
	Title      string  // all of it, one sentence or two
	Href       string
	Listed     string // where the list has it; "" where it does not
	Pinned     bool   // it starts where a maker pinned it
	Moved      int    // since the morning: above 0 later, below 0 earlier
	Heavy      bool   // it is one of the steps that matter most
}

// same says whether two blocks are of one step.
func (b ChartBlock) same(c ChartBlock) bool {
	return b.Kind == c.Kind && b.Commission == c.Commission && b.Label == c.Label && b.Href == c.Href
}

// ChartLoad is how many of something are in use over time.
type ChartLoad struct {
	Name string
	Of   int // how many there are; 0: no limit
	Used []LoadChange
}

// LoadChange is how many are in use from a time on.
type LoadChange struct {
	From time.Time
	Used int
}

// Letter names the i-th commission: A to Z, then AA, AB and so on.
func Letter(i int) string {
	if i < 0 {
		return ""
	}
	if i < 26 {
		return string(rune('A' + i))
	}
	return Letter(i/26-1) + Letter(i%26)
}

// Drawings draws the chart in two parts of one height: the rows' names, which
// stay where they are, and the chart, which may scroll beside them.
func (w WeekChart) Drawings() (labels, chart template.HTML) {
	l := w.place(onScreen)
	labelled := newSVG("week-drawn week-names", weekNames, l.height, w.Say.Say("Rows of the chart"))
	l.drawLabels(labelled)
	drawn := newSVG("week-drawn week-chart", l.axis.width(), l.height, w.Title)
	l.drawChart(drawn)
	return labelled.html(), drawn.html()
}

// weekLayout is a WeekChart with everything in its place.
type weekLayout struct {
	chart    WeekChart
	sizes    weekSizes
	axis     timeAxis
	sections []placedSection
	promises []placedPromise
	loads    []placedLoad
	said     [][]string        // each day in one line, broken into several
	top      int               // where the rows begin
	promiseY int               // of the promises' heading
	others   []ChartCommission // without a line of their own
	loadY    int
	height   int
}

type placedSection struct {
	name string
	kind SectionKind
	y    int
	rows []placedRow
}

type placedRow struct {
	ChartRow
	y, height, laneHeight int
	runs                  []run
	bars                  []dayBar // instead of runs, day by day
}

// The chart's measures in pixels.
const (
	weekHead     = 46 // day names and hours
	weekTextSize = 13
	weekTextLine = 16
	weekNamed    = 72 // from this width on a block has a name of its own,
	weekFramed   = 12 // and a stretch a frame
	restsNamed   = 8  // in a row; of more, only some are named
	saidLines    = 8  // of a day's sentence, where it takes so many
)

// weekSizes are what differs between the screen and paper, in pixels.
type weekSizes struct {
	oneLane   [3]int
	manyLanes [3]int // of several, by kind of section
	bar       [3]int // by the day
	rests     int    // so many lanes at most for one kind of rest; of more, those within a day are left to the curve
	promises  int    // so many have a line at most; 0: all that have something to show
	title     int    // a section's heading
	gap       int    // after a row
	promise   int    // the height of a commission's line
	saidLine  int    // from line to line of what is said of a day
	rested    int    // of what rests so much is written at most
	hours     scale  // by the hour
}

var (
	onScreen = weekSizes{oneLane: [3]int{62, 26, 23}, manyLanes: [3]int{34, 24, 23}, bar: [3]int{48, 24, 24}, rests: 6,
		title: 22, gap: 4, promise: 24, saidLine: weekTextLine, rested: 160, hours: byHour}
	onPaper = weekSizes{oneLane: [3]int{48, 24, 21}, manyLanes: [3]int{30, 22, 21}, bar: [3]int{40, 20, 20}, rests: 3, promises: 12,
		title: 22, gap: 4, promise: 24, saidLine: weekTextLine, rested: 160, hours: scale{night: 15, closed: 30, rest: 7, hour: 1}}
	// where a sheet is full
	onFullPaper = weekSizes{oneLane: [3]int{46, 22, 20}, manyLanes: [3]int{28, 22, 20}, bar: [3]int{40, 20, 20}, rests: 3, promises: 12,
		title: 19, gap: 2, promise: 20, saidLine: 15, rested: 90, hours: scale{night: 8, closed: 22, rest: 5, hour: 1}}
)

func (w WeekChart) place(sizes weekSizes) *weekLayout {
	s := sizes.hours
	if w.ByDay {
		s = byDay
	}
	l := &weekLayout{chart: w, sizes: sizes, axis: newTimeAxis(w.Days, w.Fit, s)}
	y := l.placeDays()
	for _, s := range w.Sections {
		placed := placedSection{name: s.Name, kind: s.Kind, y: y}
		y += sizes.title
		for _, row := range s.Rows {
			p := l.placeRow(row, s.Kind, y)
			placed.rows = append(placed.rows, p)
			y += p.height + sizes.gap
		}
		l.sections = append(l.sections, placed)
		if s.Kind == HandsSection {
			y = l.placePromises(y)
		}
	}
	l.height = l.placeLoads(y) + sizes.gap
	return l
}

// placeDays breaks what is said of each day into lines that fit its column.
func (l *weekLayout) placeDays() int {
	lines := 0
	for _, day := range l.axis.days {
		var said []string
		if len(day.Open) > 0 && !l.chart.ByDay {
			width := day.end - day.x - 14
			said = wrap(day.Said, weekTextSize, slices.Repeat([]int{width}, saidLines)...)
		}
		lines = max(lines, len(said))
		l.said = append(l.said, said)
	}
	l.top = weekHead
	if lines > 0 {
		l.top += lines*l.sizes.saidLine + 10
	}
	return l.top
}

// placeRow puts a row's blocks into as few lanes as keep them from overlapping.
func (l *weekLayout) placeRow(row ChartRow, kind SectionKind, y int) placedRow {
	p := placedRow{ChartRow: row, y: y}
	if l.chart.ByDay {
		p.height, p.bars = l.sizes.bar[kind], l.dayBars(row.Blocks)
		return p
	}
	lanes := 1
	if kind == RestSection && len(row.Blocks) > restsNamed {
		row.Blocks = l.unnamed(row.Blocks)
	}
	placed := l.lanes(row.Blocks)
	if kind == RestSection && len(placed) > l.sizes.rests {
		overnight := slices.DeleteFunc(slices.Clone(row.Blocks), l.withinADay)
		p.Note = l.chart.Say.Say("%d more within a day", len(row.Blocks)-len(overnight))
		placed = l.lanes(overnight)
	}
	for lane, blocks := range placed {
		lanes = max(lanes, lane+1)
		p.runs = append(p.runs, l.runs(blocks, lane, kind)...)
	}
	p.laneHeight = l.sizes.oneLane[kind]
	if lanes > 1 {
		p.laneHeight = l.sizes.manyLanes[kind]
	}
	p.height = lanes * p.laneHeight
	if kind == RestSection && p.Note != "" {
		p.height = max(p.height, 2*weekTextLine+4) // the note stands under the name
	}
	return p
}

// unnamed takes the labels from rests that are over before the shop closes: of
// so many, those that run on matter most. Their titles stay.
func (l *weekLayout) unnamed(blocks []ChartBlock) []ChartBlock {
	blocks = slices.Clone(blocks)
	for i, b := range blocks {
		if l.withinADay(b) {
			blocks[i].Label, blocks[i].Until = "", ""
		}
	}
	return blocks
}

// withinADay says whether a rest is over before the shop closes.
func (l *weekLayout) withinADay(b ChartBlock) bool {
	return slices.ContainsFunc(l.axis.days, func(day axisDay) bool {
		n := len(day.Open)
		return n > 0 && !b.At.From.Before(day.Day) && !b.At.To.After(day.Open[n-1].To)
	})
}

// lanes sorts blocks by time and gives each the first lane that is free.
func (l *weekLayout) lanes(blocks []ChartBlock) [][]ChartBlock {
	blocks = slices.Clone(blocks)
	slices.SortStableFunc(blocks, func(a, b ChartBlock) int {
		return cmp.Or(a.At.From.Compare(b.At.From), a.At.To.Compare(b.At.To))
	})
	type taken struct {
		until time.Time
		x     int
	}
	var lanes [][]ChartBlock
	var last []taken
	for _, b := range blocks {
		if len(l.pieces(b)) == 0 {
			continue
		}
		left, right := l.reach(b)
		lane := 0
		for lane < len(lanes) && (b.At.From.Before(last[lane].until) || left < last[lane].x) {
			lane++
		}
		if lane == len(lanes) {
			lanes, last = append(lanes, nil), append(last, taken{})
		}
		lanes[lane] = append(lanes[lane], b)
		last[lane] = taken{b.At.To, right}
	}
	return lanes
}

// reach is from where to where a block and its label go. The label of a rest
// may stand beside its bar; those of other blocks stay inside.
func (l *weekLayout) reach(b ChartBlock) (left, right int) {
	left, right = l.axis.x(b.At.From), l.axis.x(b.At.To)
	if b.Kind != RestTime {
		return left, right
	}
	p := l.restPlace(b)
	return min(left, p.badge, p.text) - 4, max(right, p.badge+badgeWidth(b.Commission)+badgeGap, p.text+textWidth(l.restLabel(b), weekTextSize)) + 4
}

// labelPlace is where a rest's badge and text begin.
type labelPlace struct{ badge, text int }

// restLabel says what rests, cut to a bearable length, and until when.
func (l *weekLayout) restLabel(b ChartBlock) string {
	what := fit(b.Label, weekTextSize, l.sizes.rested)
	if b.Until == "" {
		return what
	}
	return what + " · " + b.Until
}

// restPlace puts a rest's label into its bar if it fits, else to the bar's right,
// or to its left near the chart's end.
func (l *weekLayout) restPlace(b ChartBlock) labelPlace {
	x, end, width, badge := l.axis.x(b.At.From), l.axis.x(b.At.To), textWidth(l.restLabel(b), weekTextSize), badgeWidth(b.Commission)
	if 18+badge+width <= end-x {
		return labelPlace{x + 8, x + 12 + badge}
	}
	if right := max(end+4, x+12+badge); right+width <= l.axis.width() {
		return labelPlace{x + 8, right}
	}
	if end-x >= 14+badge {
		return labelPlace{x + 8, x - 6 - width}
	}
	return labelPlace{x - 6 - badge, x - 12 - badge - width}
}
