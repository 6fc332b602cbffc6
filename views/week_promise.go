package views

import (
	"slices"
	"time"

	"faceside/views/tongues"
)

// placedPromise is one commission's line among the promises.
type placedPromise struct {
	commission int
	y          int
}

const (
	promisesAll = 8 // up to so many have all a line
	loadHeight  = 34
)

type placedLoad struct {
	ChartLoad
	y    int
	most int // in use at once in the days shown
}

func (l *weekLayout) placePromises(y int) int {
	if len(l.chart.Commissions) == 0 {
		return y
	}
	l.promiseY = y
	y += l.sizes.title
	lines := l.promiseLines()
	for i, c := range l.chart.Commissions {
		if !lines[i] {
			l.others = append(l.others, c)
			continue
		}
		l.promises = append(l.promises, placedPromise{i, y})
		y += l.sizes.promise
	}
	if len(l.others) > 0 {
		y += l.sizes.promise
	}
	return y + l.sizes.gap
}

// promiseLines are the commissions that have a line: of many those with something to show
// and, where there is room for so many alone, of those the ones in danger first.
func (l *weekLayout) promiseLines() map[int]bool {
	var shown []int
	for i, c := range l.chart.Commissions {
		if len(l.chart.Commissions) <= promisesAll || c.within(l.axis.stretch()) {
			shown = append(shown, i)
		}
	}
	if most := l.sizes.promises; most > 0 && len(shown) > most {
		danger := map[Promise]int{PromiseLate: 2, PromiseTight: 1}
		slices.SortStableFunc(shown, func(a, b int) int {
			return danger[l.chart.Commissions[b].State] - danger[l.chart.Commissions[a].State]
		})
		shown = shown[:most]
	}
	lines := map[int]bool{}
	for _, i := range shown {
		lines[i] = true
	}
	return lines
}

// within says whether a promise has something to show in a stretch of time.
func (c ChartCommission) within(shown Stretch) bool {
	return inside(c.Promised, shown) || inside(c.Ends, shown)
}

// othersSaid says how those stand that have no line of their own.
func (l *weekLayout) othersSaid() string {
	n := map[Promise]int{}
	for _, c := range l.others {
		n[c.State]++
	}
	if slices.ContainsFunc(l.others, func(c ChartCommission) bool { return c.within(l.axis.stretch()) }) {
		return l.chart.Say.Say("without a line: %[1]d late, %[2]d tight, %[3]d in time", n[PromiseLate], n[PromiseTight], n[PromiseInTime])
	}
	return l.chart.Say.Say("outside the days shown: %[1]d late, %[2]d tight, %[3]d in time", n[PromiseLate], n[PromiseTight], n[PromiseInTime])
}

func (l *weekLayout) placeLoads(y int) int {
	l.loadY = y
	if len(l.chart.Loads) == 0 {
		return y
	}
	y += l.sizes.title
	for _, load := range l.chart.Loads {
		p := placedLoad{ChartLoad: load, y: y}
		for _, u := range load.between(l.axis.stretch()) {
			p.most = max(p.most, u.Used)
		}
		l.loads = append(l.loads, p)
		y += loadHeight + l.sizes.gap
	}
	return y
}

// between gives the changes within a stretch; the first says what is in use
// when it begins.
func (c ChartLoad) between(s Stretch) []LoadChange {
	out := []LoadChange{{From: s.From}}
	for _, u := range c.Used {
		switch {
		case !u.From.After(s.From):
			out[0].Used = u.Used
		case u.From.Before(s.To):
			out = append(out, u)
		}
	}
	return out
}

// drawPromise draws when a commission is ready and when it is promised: a
// diamond, a flag, and a line from one to the other.
func (l *weekLayout) drawPromise(d *svg, p placedPromise) {
	c := l.chart.Commissions[p.commission]
	shown := l.axis.stretch()
	y := p.y + l.sizes.promise/2
	d.link(c.Href, "wk-promise promise-"+string(c.State))
	d.title(c.Name + ": " + c.Verdict)
	d.rect("wk-hit", 0, p.y, l.axis.width(), l.sizes.promise-2, 0)
	right := 0
	if !c.Promised.IsZero() && !c.Ends.IsZero() {
		d.line("wk-slack "+Look(p.commission), l.axis.x(c.Ends), y, l.axis.x(c.Promised), y)
	}
	if inside(c.Ends, shown) {
		x := l.axis.x(c.Ends)
		d.path("wk-ends", (&outline{}).move(x, y-7).to(x+7, y).to(x, y+7).to(x-7, y).shut())
		right = x + 8
	}
	if inside(c.Promised, shown) {
		x := l.axis.x(c.Promised)
		d.line("wk-pole", x, p.y+1, x, p.y+l.sizes.promise-2)
		d.path("wk-flag "+Look(p.commission), (&outline{}).move(x, p.y+2).to(x+16, p.y+8).to(x, p.y+14).shut())
		right = max(right, x+18)
	}
	l.drawVerdict(d, c, right, y+5)
	d.end()
}

// drawVerdict writes the verdict to the right of the marks or, where a line runs
// there or there is no room, to their left. A promise beyond the last day is
// said at the edge.
func (l *weekLayout) drawVerdict(d *svg, c ChartCommission, right, y int) {
	shown, edge := l.axis.stretch(), l.axis.width()
	if c.Promised.After(shown.To) {
		beyond := l.chart.Say.Say("promised %s", c.Date) + " →"
		edge -= textWidth(beyond, weekTextSize) + 8
		d.rect("wk-verdict-box", edge-6, y-14, l.axis.width()-edge+6, 19, 0)
		d.text("wk-verdict", edge, y, beyond)
	}
	width := textWidth(c.Verdict, weekTextSize)
	crossed := c.Promised.After(shown.To) != c.Ends.After(shown.To)
	if x := right + 6; !crossed && x+width <= edge {
		d.text("wk-verdict", x, y, c.Verdict)
		return
	}
	left := edge
	for _, t := range []time.Time{c.Ends, c.Promised} {
		if inside(t, shown) {
			left = min(left, l.axis.x(t))
		}
	}
	d.text("wk-verdict", max(left-12-width, 10), y, c.Verdict)
}

func inside(t time.Time, s Stretch) bool {
	return !t.IsZero() && !t.Before(s.From) && !t.After(s.To)
}

// drawLoad draws how many are in use as a filled curve under the line of how
// many there are.
func (l *weekLayout) drawLoad(d *svg, p placedLoad) {
	shown := l.axis.stretch()
	full := max(p.Of, p.most, 1)
	level := func(used int) int { return p.y + loadHeight - used*(loadHeight-8)/full }
	o := (&outline{}).move(0, level(0))
	for _, u := range p.between(shown) {
		x := l.axis.x(u.From)
		o.add("H", x).add("V", level(u.Used))
	}
	o.add("H", l.axis.width()).add("V", level(0)).shut()
	d.group("wk-load")
	d.title(p.Name + ": " + p.says(l.chart.Say))
	d.path("wk-load-used", o)
	if p.Of > 0 {
		d.line("wk-load-all", 0, level(p.Of), l.axis.width(), level(p.Of))
	}
	d.end()
}

func (p placedLoad) says(say *tongues.Speaker) string {
	if p.Of == 0 {
		return say.Say("most %d at once", p.most)
	}
	return say.Say("most %d of %d", p.most, p.Of)
}
