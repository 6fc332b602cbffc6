package views

import (
	"cmp"
	"html/template"
	"slices"
	"strconv"
	"time"
)

// A sheet of A4 or letter paper, broadside, holds so many pixels between its margins
// while none of the chart's letters is smaller than 8 points: 13 pixels are then 2.82 mm,
// and the smaller of the two is 263 mm wide (letter), the lower 173 mm high beside the
// key (A4). ISO 216 and ANSI/ASME Y14.1 say the sheets' sizes.
const (
	paperWidth  = 1210
	paperHeight = 793
)

// OnPaper draws names and chart as one drawing that fits a sheet, closer together where
// it is full, and names the rows it has no room for.
func (w WeekChart) OnPaper() (paper template.HTML, left []string) {
	w.Fit = paperWidth - weekNames
	l := w.place(onPaper)
	if l.height > paperHeight {
		l = w.place(onFullPaper)
	}
	if l.height > paperHeight {
		w, left = l.without(l.leastMissed(l.height - paperHeight))
		l = w.place(onFullPaper)
	}
	d := newSVG("week-drawn week-paper", weekNames+l.axis.width(), l.height, w.Title)
	for i, line := range wrap(w.Heading, headingSize, slices.Repeat([]int{weekNames - 16}, headingLines)...) {
		d.text("wk-heading", 10, (headingSize+1)*(i+1), line)
	}
	l.drawLabels(d)
	d.begin("svg", "x", strconv.Itoa(weekNames), "width", strconv.Itoa(l.axis.width()), "height", strconv.Itoa(l.height))
	l.drawChart(d)
	d.end()
	return d.html(), left
}

// The name of the days in the corner of a sheet.
const (
	headingSize  = 14 // in pixels
	headingLines = 3  // so many beside the days' own names
)

// rowOfChart is a row that a sheet could do without.
type rowOfChart struct {
	section, row int // loads are one row of a section after all others
	height       int
	kind         int // of those of a lesser kind the sheet does without first,
	work         time.Duration
}

// leastMissed picks rows that are so high together: first how much is in use at once, then
// stations, what is at rest, and people; in each those with the least work. The promises
// stay, as they say what the letters mean.
func (l *weekLayout) leastMissed(height int) map[[2]int]bool {
	var all []rowOfChart
	if len(l.loads) > 0 {
		all = append(all, rowOfChart{section: len(l.sections), height: l.sizes.title + len(l.loads)*(loadHeight+l.sizes.gap)})
	}
	kinds := map[SectionKind]int{StationSection: 1, RestSection: 2, HandsSection: 3}
	for i, s := range l.sections {
		for k, row := range s.rows {
			r := rowOfChart{section: i, row: k, height: row.height + l.sizes.gap, kind: kinds[s.kind]}
			for _, b := range row.Blocks {
				r.work += b.At.To.Sub(b.At.From)
			}
			all = append(all, r)
		}
	}
	slices.SortStableFunc(all, func(a, b rowOfChart) int { return cmp.Or(cmp.Compare(a.kind, b.kind), cmp.Compare(a.work, b.work)) })
	picked := map[[2]int]bool{}
	for _, r := range all {
		if height <= 0 {
			break
		}
		picked[[2]int{r.section, r.row}] = true
		height -= r.height
	}
	return picked
}

// without is the chart without some rows, and their names.
func (l *weekLayout) without(rows map[[2]int]bool) (WeekChart, []string) {
	w := l.chart
	var left []string
	w.Sections = nil
	for i, s := range l.chart.Sections {
		var kept []ChartRow
		for k, row := range s.Rows {
			if rows[[2]int{i, k}] {
				left = append(left, row.Name)
				continue
			}
			kept = append(kept, row)
		}
		if s.Rows = kept; len(kept) > 0 {
			w.Sections = append(w.Sections, s)
		}
	}
	if rows[[2]int{len(l.chart.Sections), 0}] {
		left, w.Loads = append(left, w.Say.Say("At once")), nil
	}
	return w, left
}
