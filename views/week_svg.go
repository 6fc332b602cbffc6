package views

import (
	"strconv"
	"strings"
	"time"

	"faceside/models/phrase"
	"faceside/views/tongues"
)

// weekNames is the width of the column of names, in pixels.
const weekNames = 172

// drawLabels draws the names of the rows.
func (l *weekLayout) drawLabels(d *svg) {
	for _, s := range l.sections {
		d.text("wk-section", 10, s.y+l.sizes.title-6, s.name)
		for _, row := range s.rows {
			drawName(d, row.Name, row.Note, row.y, row.height)
		}
	}
	if len(l.promises) > 0 {
		d.text("wk-section", 10, l.promiseY+l.sizes.title-6, l.chart.Say.Say("Promises"))
	}
	for _, p := range l.promises {
		c := l.chart.Commissions[p.commission]
		d.link(c.Href, "wk-name-link")
		d.title(c.Name)
		d.badge(p.commission, 10, p.y+l.sizes.promise/2-8)
		d.text("wk-name", 36, p.y+l.sizes.promise/2+6, fit(c.Name, weekTextSize, weekNames-42))
		d.end()
	}
	if len(l.others) > 0 {
		d.text("wk-note", 36, l.othersY()+l.sizes.promise/2+6, fit(l.chart.Say.Say("%d more", len(l.others)), weekTextSize, weekNames-42))
	}
	if len(l.loads) > 0 {
		d.text("wk-section", 10, l.loadY+l.sizes.title-6, l.chart.Say.Say("At once"))
	}
	for _, p := range l.loads {
		drawName(d, p.Name, p.says(l.chart.Say), p.y, loadHeight)
	}
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
func (l *weekLayout) drawChart(d *svg) {
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
		d.text("wk-note", 8, l.othersY()+l.sizes.promise/2+6, l.othersSaid())
	}
	for _, p := range l.loads {
		l.drawLoad(d, p)
	}
	l.drawNow(d)
}

// othersY is where those stand that have no line of their own.
func (l *weekLayout) othersY() int {
	return l.promiseY + l.sizes.title + l.sizes.promise*len(l.promises)
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
		d.text("wk-said", day.x+8, weekHead+17+l.sizes.saidLine*n, line)
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
	d.line("wk-rule", 0, row.y+row.height+l.sizes.gap/2, l.axis.width(), row.y+row.height+l.sizes.gap/2)
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

// drawRun draws a run under one label, as one link.
func (l *weekLayout) drawRun(d *svg, r run, y, height int) {
	b, class := r.block(), "wk-run "
	if len(r.of()) > 1 {
		class += "wk-mixed "
	}
	d.link(r.href(), class+Look(b.Commission)+" "+stateClass(b.State))
	d.title(l.title(r))
	width := max(r.end()-r.x(), 3)
	if b.Kind != SetupWork {
		d.rect("wk-body", r.x(), y, width, height, 0)
	}
	free := r.x()
	for i, p := range r.pieces { // each a pixel of its own, as long as there are any
		p.x = max(p.x, free)
		p.end = max(p.end, p.x+1)
		if i > 0 && p.end > r.end() {
			break
		}
		drawPiece(d, p, y, height, i == 0)
		free = p.end
	}
	if width < weekFramed && marked(b.State) { // around it: on its own lines so close together it would be lost
		d.rect("wk-frame", r.x()-3, y, width+6, height, 3)
	} else {
		d.rect("wk-frame", r.x(), y, width, height, min(3, width/3))
	}
	if b.Kind != SetupWork {
		l.drawRunLabel(d, r, y, height)
	}
	d.end()
}

// drawPiece draws when whose work of a run is done, and when a station is set: before the
// run in full, later, or where there is little room, in its band.
func drawPiece(d *svg, p piece, y, height int, leads bool) {
	width := p.end - p.x
	switch {
	case p.block.Kind == SetupWork && leads && width >= 5:
		drawSetup(d, p, y, height)
		return
	case p.block.Kind == SetupWork:
		d.rect("wk-notch", p.x, y, width, 6, 0)
		return
	}
	d.group(Look(p.block.Commission))
	d.line("wk-band", p.x, y+3, p.end, y+3)
	d.end()
	drawMoved(d, p, y+height)
	drawHeavy(d, p, y)
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
	width := p.end - p.x
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

// pinStep is what a pin takes up before a label.
const pinStep = 10

// drawRunLabel writes as much as there is room for: the commissions' letters, the
// state's shape, then what it is.
func (l *weekLayout) drawRunLabel(d *svg, r run, y, height int) {
	left, right := r.pieces[r.work()].x, r.end()
	middle := y + 6 + min(height-6, 22)/2
	if r.beside > 0 {
		left, right = right+2, right+2+r.beside
		d.rect("wk-hit", r.x(), y, right-r.x(), height, 0)
	}
	if r.block().Pinned {
		d.pin(left+1, middle-7)
		left += pinStep
	}
	room := right - left
	if room < 10 {
		return
	}
	if room < 20 {
		d.text("wk-letter-bare", left+room/2, middle+5, Letter(r.block().Commission))
		return
	}
	d.group("wk-label")
	x := drawLetters(d, r, left+3, right, middle)
	switch {
	case r.beside > 0 && len(r.steps()) > 1 || len(r.of()) > 1:
		drawTimes(d, r, x, left+3, right, middle+5, y+height)
	case r.beside == 0:
		drawRunText(d, r.label(l.chart.Say), x, left, right, middle+5, y+height)
	}
	d.end()
}

// drawLetters draws the letters of a run's commissions, as many as fit, and the shape of
// its state; what comes next stands at x.
func drawLetters(d *svg, r run, x, right, middle int) int {
	for _, i := range r.of() {
		if x+badgeWidth(i) > right {
			break
		}
		d.badge(i, x, middle-8)
		x += badgeWidth(i) + badgeGap
	}
	if state := r.block().State; marked(state) && right-x >= 14 {
		d.mark(state, x+1, middle-6)
		x += markWidth
	}
	return x + 3
}

// drawTimes writes how many steps a run has: beside its letters or under them, whichever
// has room.
func drawTimes(d *svg, r run, x, left, right, y, bottom int) {
	said := times(len(r.steps()))
	width := textWidth(said, weekTextSize)
	switch {
	case x+width <= right:
		d.text("wk-text wk-inside", x, y, said)
	case y+weekTextLine <= bottom-4:
		d.text("wk-text wk-inside", left, y+weekTextLine, said)
	}
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
	if label := l.restLabel(b); label != "" {
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

// badgeWidth is that of a commission's letter in its frame: a square of 16 pixels, and more
// for two letters.
func badgeWidth(commission int) int { return max(16, textWidth(Letter(commission), weekTextSize)+4) }

// badge draws a commission's letter in its frame.
func (d *svg) badge(commission, x, y int) {
	letter, width := Letter(commission), badgeWidth(commission)
	d.group("badge " + Look(commission))
	d.rect("badge-box", x, y, width, 16, 3)
	d.text("badge-letter", x+width/2, y+13, letter)
	d.end()
}
