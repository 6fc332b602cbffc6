package views

import (
	"fmt"
	"html/template"
	"strconv"
	"strings"
	"time"

	"faceside/models/phrase"
	"faceside/views/tongues"
)

// weekNames is the width of the column of names, in pixels.
const weekNames = 172

// drawLabels draws the names of the rows.
func (l *weekLayout) drawLabels() template.HTML {
	d := newSVGCalled("week-names", "week-drawn week-names", weekNames, l.height, l.chart.Say.Say("Rows of the chart"))
	for _, s := range l.sections {
		d.text("wk-section", 10, s.y+16, s.name)
		for _, row := range s.rows {
			drawName(d, row.Name, row.Note, row.y, row.height)
		}
	}
	if len(l.promises) > 0 {
		d.text("wk-section", 10, l.promiseY+16, l.chart.Say.Say("Promises"))
	}
	for _, p := range l.promises {
		c := l.chart.Commissions[p.commission]
		d.link(c.Href, "wk-name-link")
		d.title(c.Name)
		d.badge(p.commission, 10, p.y+4)
		d.text("wk-name", 36, p.y+18, fit(c.Name, weekTextSize, weekNames-42))
		d.end()
	}
	if len(l.others) > 0 {
		d.text("wk-note", 36, l.othersY()+18, fit(l.chart.Say.Say("%d more", len(l.others)), weekTextSize, weekNames-42))
	}
	if len(l.loads) > 0 {
		d.text("wk-section", 10, l.loadY+16, l.chart.Say.Say("At once"))
	}
	for _, p := range l.loads {
		drawName(d, p.Name, p.says(l.chart.Say), p.y, loadHeight)
	}
	return d.html()
}

// drawName writes a row's name, with a note under it where there is room.
func drawName(d *svg, name, note string, y, height int) {
	lines := []string{fit(name, weekTextSize, weekNames-16)}
	if note != "" && height >= 30 {
		lines = append(lines, fit(note, weekTextSize, weekNames-16))
	} else if note != "" {
		lines[0] = fit(name+", "+note, weekTextSize, weekNames-16)
	}
	baseline := y + height/2 + 5 - 8*(len(lines)-1)
	for i, line := range lines {
		d.text([]string{"wk-name", "wk-note"}[i], 10, baseline+16*i, line)
	}
}

// drawChart draws everything to the right of the names.
func (l *weekLayout) drawChart() template.HTML {
	d := newSVGCalled("week-chart", "week-drawn week-chart", l.axis.width(), l.height, l.chart.Title)
	l.drawDays(d)
	for _, s := range l.sections {
		for _, row := range s.rows {
			l.drawRow(d, row)
		}
	}
	for _, p := range l.promises {
		l.drawPromise(d, p)
	}
	if len(l.others) > 0 {
		d.text("wk-note", 8, l.othersY()+18, l.othersSaid())
	}
	for _, p := range l.loads {
		l.drawLoad(d, p)
	}
	l.drawNow(d)
	return d.html()
}

// othersY is where those stand that have no line of their own.
func (l *weekLayout) othersY() int { return l.promiseY + weekTitle + promiseHeight*len(l.promises) }

// drawPaper draws names and chart as one drawing that takes any size.
func (l *weekLayout) drawPaper() template.HTML {
	d := &svg{}
	d.begin("svg", "xmlns", "http://www.w3.org/2000/svg", "class", "week-paper",
		"viewBox", fmt.Sprintf("0 0 %d %d", weekNames+l.axis.width(), l.height), "role", "img", "aria-label", l.chart.Title)
	d.shape("use", "href", "#week-names")
	d.shape("use", "href", "#week-chart", "x", strconv.Itoa(weekNames))
	return d.html()
}

// drawDays draws open time as light columns on the dark of closed time, with
// the days' names and the hours above.
func (l *weekLayout) drawDays(d *svg) {
	d.rect("wk-closed", 0, weekHead, l.axis.width(), l.height-weekHead, 0)
	for i, day := range l.axis.days {
		class := "wk-day"
		if inside(l.chart.Now, dayStretch(day.Day)) {
			class += " is-today"
		}
		d.group(class)
		d.rect("wk-head", day.x, 0, day.end-day.x, weekHead, 0)
		if l.chart.ByDay {
			l.drawDate(d, i)
		} else if len(day.Open) == 0 {
			d.title(closedSentence(l.chart.Say, day.ChartDay))
			d.text("wk-shut", (day.x+day.end)/2, 18, day.Short)
		} else {
			d.text("wk-date", day.x+8, 18, fit(day.Name, 15, day.end-day.x-10))
		}
		for _, w := range day.Open {
			x := l.axis.x(w.From)
			d.rect("wk-open", x, weekHead, l.axis.x(w.To)-x, l.height-weekHead, 0)
		}
		if !l.chart.ByDay {
			l.drawHours(d, day)
		}
		l.drawSaid(d, day, l.said[i])
		d.line("wk-midnight", day.x, 0, day.x, l.height)
		d.end()
	}
}

// drawSaid writes a day in one line, above the rows.
func (l *weekLayout) drawSaid(d *svg, day axisDay, lines []string) {
	if len(day.Open) == 0 || l.top == weekHead {
		return
	}
	d.rect("wk-said-box", day.x, weekHead, day.end-day.x, l.top-weekHead, 0)
	for n, line := range lines {
		d.text("wk-said", day.x+8, weekHead+17+weekTextLine*n, line)
	}
}

func closedSentence(say *tongues.Speaker, day ChartDay) string {
	if day.Closed == "" {
		return say.Say("%s: closed", day.Name)
	}
	return day.Name + ": " + day.Closed
}

// drawHours writes the whole hours of a day, leaving out those without room.
func (l *weekLayout) drawHours(d *svg, day axisDay) {
	last := day.x - 30
	for _, w := range day.Open {
		y, m, n := day.Day.Date()
		for hour := 0; hour < 24; hour++ {
			at := time.Date(y, m, n, hour, 0, 0, 0, day.Day.Location())
			if at.Hour() != hour || at.Before(w.From) || at.After(w.To) {
				continue
			}
			x := l.axis.x(at)
			d.line("wk-tick", x, weekHead-6, x, weekHead)
			if x-last >= 24 && !l.underNow(x) {
				d.text("wk-hour", x, weekHead-9, strconv.Itoa(hour))
				last = x
			}
		}
	}
}

func (l *weekLayout) drawRow(d *svg, row placedRow) {
	d.group("wk-row")
	d.title(row.Name)
	d.line("wk-rule", 0, row.y+row.height+weekRowGap/2, l.axis.width(), row.y+row.height+weekRowGap/2)
	l.drawBars(d, row)
	for _, r := range row.runs {
		y := row.y + r.lane*row.laneHeight
		switch r.block().Kind {
		case RestTime:
			l.drawRest(d, r, y)
		default:
			l.drawRun(d, r, y, row.laneHeight-2)
		}
	}
	d.end()
}

// drawRun draws the blocks of one run, each a link of its own, under one label.
func (l *weekLayout) drawRun(d *svg, r run, y, height int) {
	b := r.block()
	d.group("wk-run " + Look(b.Commission) + " " + stateClass(b.State))
	for _, p := range r.pieces {
		d.link(p.block.Href, "wk-block")
		d.title(p.block.Title)
		if p.block.Kind == SetupWork {
			drawSetup(d, p, y, height)
		} else {
			d.rect("wk-body", p.x, y, max(p.end-p.x, 1), height, 0)
			d.line("wk-band", p.x, y+3, max(p.end, p.x+1), y+3)
			drawMoved(d, p, y+height)
			drawHeavy(d, p, y)
		}
		d.end()
	}
	if width := r.end() - r.x(); width >= weekFramed {
		d.rect("wk-frame", r.x(), y, width, height, 3)
	} else if marked(b.State) { // beside it: on its own lines so close together the frame would be lost
		d.rect("wk-frame", r.x()-3, y, width+6, height, 3)
	}
	if b.Kind != SetupWork {
		l.drawRunLabel(d, r, y, height)
	}
	d.end()
}

// drawMoved draws under a block that it is not where it was in the morning: a foot,
// with a point to the side it went to where there is room for one.
func drawMoved(d *svg, p piece, bottom int) {
	if p.block.Moved == 0 {
		return
	}
	width := max(p.end-p.x, 1)
	d.rect("wk-moved", p.x, bottom-4, width, 4, 0)
	if width < 10 {
		return
	}
	from, to := p.end-7, p.end
	if p.block.Moved < 0 {
		from, to = p.x+7, p.x
	}
	d.path("wk-moved", (&outline{}).move(from, bottom-11).to(to, bottom-4).to(from, bottom).shut())
}

// drawHeavy draws over a block that it is one of those that matter most: a wedge driven
// into its top.
func drawHeavy(d *svg, p piece, y int) {
	if p.block.Heavy {
		middle := (p.x + max(p.end, p.x+1)) / 2
		d.path("wk-heavy", (&outline{}).move(middle-7, y-1).to(middle+7, y-1).to(middle, y+8).shut())
	}
}

// drawSetup draws the changing of a station's setup: upright hatching under a
// notch, never the look of work.
func drawSetup(d *svg, p piece, y, height int) {
	width := max(p.end-p.x, 2)
	d.rect("wk-setup-body", p.x, y, width, height, 0)
	for x := p.x + 2; x < p.x+width-1; x += 4 {
		d.line("wk-setup-hatch", x, y, x, y+height)
	}
	if width >= 8 {
		d.path("wk-notch", (&outline{}).move(p.x, y).to(p.x+8, y).to(p.x, y+8).shut())
	}
}

// marked are the states worth a shape on the chart; the rest is just planned.
func marked(s State) bool {
	return s == StateInHand || s == StatePutDown || s == StateDone || s == StateInTrouble
}

// drawRunLabel writes as much as there is room for: the commission's letter, the
// state's shape, then what it is.
func (l *weekLayout) drawRunLabel(d *svg, r run, y, height int) {
	b, left := r.block(), r.pieces[r.work()].x
	middle := y + 6 + min(height-6, 22)/2
	if b.Pinned {
		d.pin(left+1, middle-7)
		left += 10
	}
	room := r.end() - left
	if room < 10 {
		return
	}
	if room < 20 {
		d.text("wk-letter-bare", left+room/2, middle+5, Letter(b.Commission))
		return
	}
	d.group("wk-label")
	x := left + 3
	d.badge(b.Commission, x, middle-8)
	x += 21
	if marked(b.State) && r.end()-x >= 14 {
		d.mark(b.State, x, middle-6)
		x += 16
	}
	drawRunText(d, r.label(l.chart.Say), x, left, r.end(), middle+5, y+height)
	d.end()
}

// drawRunText writes beside the badge, from x on, where the first word fits
// there, and goes on under the badge, from left to right, down to the bottom.
func drawRunText(d *svg, text string, x, left, right, y, bottom int) {
	word, _, _ := strings.Cut(text, " ")
	beside, full := right-x-3, right-left-6
	under := (bottom - 5 - y) / weekTextLine
	widths := []int{beside}
	if under > 0 && textWidth(word, weekTextSize) > beside {
		x, y, under = left+4, y+weekTextLine, under-1
		widths[0] = full
	}
	for range under {
		widths = append(widths, full)
	}
	for _, line := range wrap(text, weekTextSize, widths...) {
		d.text("wk-text wk-inside", x, y, line)
		x, y = left+4, y+weekTextLine
	}
}

// drawRest draws time in clamps as a bar between two jaws, drying as a bar under
// a row of drops, any other rest as a plain bar; the label may reach past it.
func (l *weekLayout) drawRest(d *svg, r run, y int) {
	b, x, end := r.block(), r.x(), max(r.end(), r.x()+2)
	d.link(b.Href, "wk-rest "+Look(b.Commission)+" "+stateClass(b.State))
	d.title(b.Title)
	d.rect("wk-body", x, y+2, end-x, 18, 0)
	switch b.State {
	case StateInClamps:
		d.rect("wk-jaw", x, y, 4, 22, 1)
		d.rect("wk-jaw", end-4, y, 4, 22, 1)
	case StateDrying:
		d.line("wk-drops", x+4, y+4, end-2, y+4)
	}
	place := l.restPlace(b)
	d.badge(b.Commission, place.badge, y+3)
	if label := restLabel(b); label != "" {
		d.text("wk-text wk-beside", place.text, y+16, label)
	}
	d.end()
}

// nowTag is where the word and time of the present stand in the head.
func (l *weekLayout) nowTag() (text string, left, width int) {
	text = l.chart.Say.Say("now %s", phrase.Clock(l.chart.Now))
	width = textWidth(text, weekTextSize) + 10
	return text, min(max(l.axis.x(l.chart.Now)-width/2, 0), l.axis.width()-width), width
}

// underNow says whether an hour's figure at x would be hidden by it.
func (l *weekLayout) underNow(x int) bool {
	_, left, width := l.nowTag()
	return inside(l.chart.Now, l.axis.stretch()) && x+10 > left && x-10 < left+width
}

// drawNow draws the line of the present, if it lies in the days shown.
func (l *weekLayout) drawNow(d *svg) {
	if !inside(l.chart.Now, l.axis.stretch()) {
		return
	}
	x := l.axis.x(l.chart.Now)
	text, left, width := l.nowTag()
	d.group("wk-now")
	defer d.end()
	d.line("wk-now-line", x, l.top, x, l.height)
	if l.chart.ByDay {
		return // the tag would hide the dates
	}
	d.rect("wk-now-box", left, 22, width, 18, 4)
	d.text("wk-now-text", left+5, 35, text)
}

// commissions are told apart by so many colours and patterns before they repeat.
const commissionLooks = 8

// Look is the class of the i-th commission's colour and pattern.
func Look(i int) string { return "com-" + strconv.Itoa(max(i, 0)%commissionLooks+1) }

// badge draws a commission's letter in a square of 16 pixels.
func (d *svg) badge(commission, x, y int) {
	letter := Letter(commission)
	width := max(16, textWidth(letter, weekTextSize)+4)
	d.group("badge " + Look(commission))
	d.rect("badge-box", x, y, width, 16, 3)
	d.text("badge-letter", x+width/2, y+13, letter)
	d.end()
}
