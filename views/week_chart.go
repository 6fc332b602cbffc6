package views

import (
	"cmp"
	"fmt"
	"html/template"
	"slices"
	"strings"
	"time"

	"faceside/views/tongues"
)

// WeekChart is the plan over some days, to be drawn: a row a person, a row a
// station, what is in clamps or drying, the promises, and how full the clamps are.
type WeekChart struct {
	Title       string // for those who cannot see the drawing
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

// The kinds of section.
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
	Pinned     bool // it starts where a maker pinned it
	Moved      int  // since the morning: above 0 later, below 0 earlier
	Heavy      bool // it is one of the steps that matter most
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
// stay where they are, and the chart, which may scroll beside them. On paper both
// are one drawing, as large as the sheet allows.
func (w WeekChart) Drawings() (labels, chart, paper template.HTML) {
	l := w.place()
	return l.drawLabels(), l.drawChart(), l.drawPaper()
}

// weekLayout is a WeekChart with everything in its place.
type weekLayout struct {
	chart    WeekChart
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

// piece is a block, or its part between two breaks.
type piece struct {
	block  ChartBlock
	x, end int
}

// named says whether the piece is wide enough for a name of its own.
func (p piece) named() bool { return p.end-p.x >= weekNamed && p.block.Kind != SetupWork }

// run is pieces that follow each other and share one label.
type run struct {
	pieces []piece
	lane   int
}

func (r run) x() int   { return r.pieces[0].x }
func (r run) end() int { return r.pieces[len(r.pieces)-1].end }

// block is the one the run is known by: its first that is not a setup, if any.
func (r run) block() ChartBlock { return r.pieces[r.work()].block }

// work is the place of the first piece that is not a setup; 0 if all are.
func (r run) work() int {
	return max(slices.IndexFunc(r.pieces, func(p piece) bool { return p.block.Kind != SetupWork }), 0)
}

// label says what the run is: its step or, of several, what they are together.
func (r run) label(say *tongues.Speaker) string {
	var groups []string
	steps := 0
	var last ChartBlock
	for _, p := range r.pieces {
		if p.block.Kind == SetupWork || steps > 0 && p.block.same(last) {
			continue // a step cut by a break counts once
		}
		steps, last = steps+1, p.block
		if group := p.block.Group; len(groups) == 0 {
			groups = append(groups, group)
		} else if !slices.Contains(groups, group) {
			groups = append(groups, group)
		}
	}
	if steps == 1 && last.Pinned {
		return say.Say("Pinned: %s", last.Label)
	}
	if steps == 1 {
		return last.Label
	}
	return fmt.Sprintf("%s ×%d", strings.Join(groups, ", "), steps)
}

// The chart's measures in pixels.
const (
	weekHead     = 46 // day names and hours
	weekTitle    = 22 // a section's heading
	weekRowGap   = 4
	weekTextSize = 13
	weekTextLine = 16
	weekNamed    = 72 // from this width on a block has a name of its own,
	weekFramed   = 12 // and a stretch a frame
	restsNamed   = 8  // in a row; of more, only some are named
	saidLines    = 8  // of a day's sentence, where it takes so many
	restLanes    = 6  // for one kind of rest; of more, those within a day are left to the curve
)

// laneHeights are those of a row that needs one lane and of one that needs more.
func (k SectionKind) laneHeights() (one, several int) {
	switch k {
	case HandsSection:
		return 62, 34
	case StationSection:
		return 26, 24
	}
	return 23, 23
}

// barHeight is that of a row by the day.
func (k SectionKind) barHeight() int {
	if k == HandsSection {
		return 48
	}
	return 24
}

func (w WeekChart) place() *weekLayout {
	s := byHour
	if w.ByDay {
		s = byDay
	}
	l := &weekLayout{chart: w, axis: newTimeAxis(w.Days, w.Fit, s)}
	y := l.placeDays()
	for _, s := range w.Sections {
		placed := placedSection{name: s.Name, kind: s.Kind, y: y}
		y += weekTitle
		for _, row := range s.Rows {
			p := l.placeRow(row, s.Kind, y)
			placed.rows = append(placed.rows, p)
			y += p.height + weekRowGap
		}
		l.sections = append(l.sections, placed)
		if s.Kind == HandsSection {
			y = l.placePromises(y)
		}
	}
	l.height = l.placeLoads(y) + weekRowGap
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
		l.top += lines*weekTextLine + 10
	}
	return l.top
}

// placeRow puts a row's blocks into as few lanes as keep them from overlapping.
func (l *weekLayout) placeRow(row ChartRow, kind SectionKind, y int) placedRow {
	p := placedRow{ChartRow: row, y: y}
	if l.chart.ByDay {
		p.height, p.bars = kind.barHeight(), l.dayBars(row.Blocks)
		return p
	}
	lanes := 1
	if kind == RestSection && len(row.Blocks) > restsNamed {
		row.Blocks = l.unnamed(row.Blocks)
	}
	placed := l.lanes(row.Blocks)
	if kind == RestSection && len(placed) > restLanes {
		overnight := slices.DeleteFunc(slices.Clone(row.Blocks), l.withinADay)
		p.Note = l.chart.Say.Say("%d more within a day", len(row.Blocks)-len(overnight))
		placed = l.lanes(overnight)
	}
	for lane, blocks := range placed {
		lanes = max(lanes, lane+1)
		p.runs = append(p.runs, l.runs(blocks, lane, kind)...)
	}
	one, several := kind.laneHeights()
	p.laneHeight = one
	if lanes > 1 {
		p.laneHeight = several
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
	return min(left, p.badge, p.text) - 4, max(right, p.badge+18, p.text+textWidth(restLabel(b), weekTextSize)) + 4
}

// labelPlace is where a rest's badge and text begin.
type labelPlace struct{ badge, text int }

// restLabel says what rests, cut to a bearable length, and until when.
func restLabel(b ChartBlock) string {
	if b.Until == "" {
		return fit(b.Label, weekTextSize, 160)
	}
	return fit(b.Label, weekTextSize, 160) + " · " + b.Until
}

// restPlace puts a rest's label into its bar if it fits, else to the bar's right,
// or to its left near the chart's end.
func (l *weekLayout) restPlace(b ChartBlock) labelPlace {
	x, end, width := l.axis.x(b.At.From), l.axis.x(b.At.To), textWidth(restLabel(b), weekTextSize)
	if 34+width <= end-x {
		return labelPlace{x + 8, x + 28}
	}
	if right := max(end+4, x+28); right+width <= l.axis.width() {
		return labelPlace{x + 8, right}
	}
	if end-x >= 30 {
		return labelPlace{x + 8, x - 6 - width}
	}
	return labelPlace{x - 22, x - 28 - width}
}

// pieces cuts a block to the days shown and, unless it is a rest, to open time.
// Work planned or done outside hours is shown where it is.
func (l *weekLayout) pieces(b ChartBlock) []piece {
	at := b.At.Overlap(l.axis.stretch())
	if at.Empty() {
		return nil
	}
	parts := []Stretch{at}
	if b.Kind != RestTime {
		if open := l.axis.openParts(at); len(open) > 0 {
			parts = open
		}
	}
	var out []piece
	for _, part := range parts {
		out = append(out, piece{b, l.axis.x(part.From), l.axis.x(part.To)})
	}
	return out
}

// runs joins the pieces of a lane that follow each other.
func (l *weekLayout) runs(blocks []ChartBlock, lane int, kind SectionKind) []run {
	var all []piece
	for _, b := range blocks {
		all = append(all, l.pieces(b)...)
	}
	if kind != RestSection {
		l.giveRoom(all)
	}
	var out []run
	for _, p := range all {
		if n := len(out); n > 0 && out[n-1].takes(p, kind) {
			out[n-1].pieces = append(out[n-1].pieces, p)
			continue
		}
		out = append(out, run{[]piece{p}, lane})
	}
	return out
}

// giveRoom gives a piece of a few minutes a pixel of its own: under its neighbour nobody
// would see or press it. What follows in the same hours moves on for it, what precedes
// moves back where they end. Where they have more pieces than pixels, some keep none.
func (l *weekLayout) giveRoom(all []piece) {
	for from := 0; from < len(all); {
		opens, closes, ok := l.hours(all[from])
		if !ok {
			from++
			continue
		}
		to, free := from, opens
		for ; to < len(all) && all[to].x >= opens && all[to].end <= closes; to++ {
			all[to].x = max(all[to].x, free)
			all[to].end = max(all[to].end, all[to].x+1)
			free = all[to].end
		}
		for i, last := to-1, closes; i >= from && all[i].end > last; i-- {
			all[i].end = last
			all[i].x = max(opens, min(all[i].x, last-1))
			last = all[i].x
		}
		from = to
	}
}

// hours are where the opening that a piece lies in begins and ends on the axis.
func (l *weekLayout) hours(p piece) (opens, closes int, ok bool) {
	for _, day := range l.axis.days {
		for _, open := range day.Open {
			if from, to := l.axis.x(open.From), l.axis.x(open.To); from <= p.x && p.end <= to && from < to {
				return from, to, true
			}
		}
	}
	return 0, 0, false
}

// takes says whether a piece goes on with a run, maybe over a break: of the
// same commission and, as far as it is shown, the same state; on a station also
// under the same setup, which is the group there. A pinned step stands alone.
func (r run) takes(p piece, kind SectionKind) bool {
	last := r.pieces[len(r.pieces)-1]
	a, b := last.block, p.block
	if kind == RestSection || kind == StationSection && a.Group != b.Group || (last.named() || p.named() || a.Pinned || b.Pinned) && !a.same(b) {
		return false
	}
	return a.Commission == b.Commission && p.x-last.end <= byHour.rest &&
		(a.State == b.State || !marked(a.State) && !marked(b.State))
}
