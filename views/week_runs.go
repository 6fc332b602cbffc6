package views

import (
	"fmt"
	"slices"
	"strings"

	"faceside/models/phrase"
	"faceside/views/tongues"
)

// Steps of a few minutes would be hairlines that nobody can read or press. So what
// follows each other is drawn as one run under one label, and where that is still too
// narrow, with its neighbours: the run then says whose steps it has, and how many, and
// leads to the list, which has them one by one.

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
	beside int // so wide a label stands to its right; 0: it stands inside
}

func (r run) x() int   { return r.pieces[0].x }
func (r run) end() int { return r.pieces[len(r.pieces)-1].end }

// block is the one the run is known by: its first that is not a setup, if any.
func (r run) block() ChartBlock { return r.pieces[r.work()].block }

// work is the place of the first piece that is not a setup; 0 if all are.
func (r run) work() int {
	return max(slices.IndexFunc(r.pieces, func(p piece) bool { return p.block.Kind != SetupWork }), 0)
}

// steps are the blocks of the run, a step that a break cuts in two once, and no setups
// unless there is nothing else.
func (r run) steps() []ChartBlock {
	var all []ChartBlock
	for _, p := range r.pieces {
		if p.block.Kind != SetupWork && (len(all) == 0 || !p.block.same(all[len(all)-1])) {
			all = append(all, p.block)
		}
	}
	if len(all) == 0 {
		return []ChartBlock{r.pieces[0].block}
	}
	return all
}

// of are the commissions of the run, in the order in which it comes to them.
func (r run) of() []int {
	var all []int
	for _, p := range r.pieces {
		if !slices.Contains(all, p.block.Commission) {
			all = append(all, p.block.Commission)
		}
	}
	return all
}

// label says what the run is: its step or, of several, what they are together.
func (r run) label(say *tongues.Speaker) string {
	steps := r.steps()
	if len(steps) == 1 && steps[0].Pinned {
		return say.Say("Pinned: %s", steps[0].Label)
	}
	if len(steps) == 1 {
		return steps[0].Label
	}
	var groups []string
	for _, b := range steps {
		if !slices.Contains(groups, b.Group) {
			groups = append(groups, b.Group)
		}
	}
	return strings.Join(groups, ", ") + " " + times(len(steps))
}

// times says how many steps a run has, where there is no room for words.
func times(n int) string { return fmt.Sprintf("×%d", n) }

// title says all of a run: its step, or how many it has of which commissions.
func (l *weekLayout) title(r run) string {
	steps := r.steps()
	if len(steps) == 1 {
		return r.pieces[0].block.Title // that of the setup, if there is one, says both
	}
	var counts []string
	for _, i := range r.of() {
		n := 0
		for _, b := range steps {
			if b.Commission == i {
				n++
			}
		}
		if n > 0 {
			counts = append(counts, Letter(i)+" "+times(n))
		}
	}
	zone := l.chart.Now.Location()
	from, to := r.pieces[0].block.At.From.In(zone), r.pieces[len(r.pieces)-1].block.At.To.In(zone)
	said := l.chart.Say.Say("%[1]s to %[2]s: %[3]d steps (%[4]s), one by one in the list.", phrase.Clock(from), phrase.Clock(to), len(steps), strings.Join(counts, ", "))
	moved, heavy := 0, 0
	for _, b := range steps {
		if b.Moved != 0 {
			moved++
		}
		if b.Heavy {
			heavy++
		}
	}
	if moved > 0 {
		said += " " + l.chart.Say.Say("%d moved since this morning.", moved)
	}
	if heavy > 0 {
		said += " " + l.chart.Say.Say("%d of those that matter most.", heavy)
	}
	return said
}

// href leads to the run's step or, of several, to where the list has them.
func (r run) href() string {
	if b := r.block(); len(r.steps()) > 1 && b.Listed != "" {
		return b.Listed
	}
	return r.block().Href
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
	var out []run
	for _, b := range blocks {
		for _, p := range l.pieces(b) {
			if n := len(out); n > 0 && out[n-1].takes(p, kind, l.axis.rest) {
				out[n-1].pieces = append(out[n-1].pieces, p)
				continue
			}
			out = append(out, run{pieces: []piece{p}, lane: lane})
		}
	}
	if kind == RestSection {
		return out
	}
	return gathered(out, l.axis.width())
}

// takes says whether a piece goes on with a run, maybe over a break so wide: of the
// same commission and, as far as it is shown, the same state; on a station also
// under the same setup, which is the group there. A pinned step stands alone.
func (r run) takes(p piece, kind SectionKind, rest int) bool {
	last := r.pieces[len(r.pieces)-1]
	a, b := last.block, p.block
	if kind == RestSection || kind == StationSection && a.Group != b.Group || (last.named() || p.named() || a.Pinned || b.Pinned) && !a.same(b) {
		return false
	}
	return a.Commission == b.Commission && p.x-last.end <= rest &&
		(a.State == b.State || !marked(a.State) && !marked(b.State))
}

// gathered puts runs that are too narrow to be read together with their neighbours, so
// that as little as can be is hidden; edge is where the chart ends.
func gathered(runs []run, edge int) []run {
	type choice struct{ costs, from, beside int }
	best := make([]choice, len(runs)+1) // of the first so many runs
	of, steps := make([][]int, len(runs)), make([]int, len(runs))
	for i, r := range runs {
		of[i], steps[i] = r.of(), len(r.steps())
	}
	for to := 1; to <= len(runs); to++ {
		next := edge
		if to < len(runs) {
			next = runs[to].x()
		}
		g := gathering{end: runs[to-1].end(), room: next - runs[to-1].end()}
		for from := to - 1; from >= 0; from-- {
			if from < to-1 && !runs[from].joins(runs[from+1]) {
				break
			}
			g.add(runs[from], of[from], steps[from])
			costs, beside := g.costs()
			if costs += best[from].costs; from == to-1 || costs < best[to].costs {
				best[to] = choice{costs, from, beside}
			}
			if g.end-g.x > gatherMost {
				break
			}
		}
	}
	var out []run
	for to := len(runs); to > 0; to = best[to].from {
		together := run{lane: runs[0].lane, beside: best[to].beside}
		for _, r := range runs[best[to].from:to] {
			together.pieces = append(together.pieces, r.pieces...)
		}
		out = append(out, together)
	}
	slices.Reverse(out)
	return out
}

// joins says whether two runs that follow each other may be drawn as one: neither is
// one to be seen by itself, and no night lies between them.
func (r run) joins(next run) bool {
	a, b := r.block(), next.block()
	for _, c := range []ChartBlock{a, b} {
		if c.Pinned || marked(c.State) && c.State != StateDone {
			return false
		}
	}
	return (a.State == StateDone) == (b.State == StateDone) && next.x()-r.end() <= gatherGap
}

// The measures of gathering, in pixels.
const (
	gatherLeast = 26  // narrower no letter has room in its frame
	gatherGap   = 24  // idle time is drawn over up to this
	gatherMost  = 160 // wider nothing need be gathered
	gatherApart = 6   // from a label beside its run to what follows
	badgeGap    = 2   // from one letter to the next
	markWidth   = 16  // of the shape of a state
)

// gathering is runs that might be drawn as one, from the last to the first.
type gathering struct {
	x, end, room int // where it begins and ends, and what is free after it
	runs, steps  int
	letters      []int
	lettersWidth int
	idle, hidden int // time without work, and what could be read by itself
	first        ChartBlock
}

// add puts a run before those that are there.
func (g *gathering) add(r run, of []int, steps int) {
	if g.runs > 0 {
		g.idle += g.x - r.end()
	}
	if width := r.end() - r.x(); width >= gatherLeast {
		g.hidden += width
	}
	for _, i := range of {
		if !slices.Contains(g.letters, i) {
			g.letters = append(g.letters, i)
			g.lettersWidth += badgeWidth(i) + badgeGap
		}
	}
	g.x, g.runs, g.steps, g.first = r.x(), g.runs+1, g.steps+steps, r.block()
}

// costs is what it costs the reader to have them as one: what has no room, who is mixed
// with whom, which names are lost, what idle time is drawn over. And how wide a label
// stands beside it, if one does.
func (g *gathering) costs() (costs, beside int) {
	letters := len(g.letters)
	need, width := max(gatherLeast, g.lettersWidth+6), g.end-g.x
	costs = 10 * g.idle
	if g.runs > 1 {
		costs += 4 * g.hidden
	}
	if letters > 1 {
		wide := max(width-need, 0)
		costs += 60*(letters-1) + wide*wide/8
	}
	room, least, all := g.room-gatherApart, g.besideWidth(false), g.besideWidth(true)
	switch {
	case width >= need:
		return costs + 60, 0
	case room >= all:
		return costs + 120, all
	case room >= least:
		return costs + 180 + 100*min(g.steps-1, 1), least
	}
	return costs + 60 + 800*(need-width)/need, 0
}

// besideWidth is what the label takes up where it stands beside its run: the letters
// alone, or all it has to say.
func (g *gathering) besideWidth(all bool) int {
	width := 3 + g.lettersWidth
	if g.first.Pinned {
		width += pinStep
	}
	if !all {
		return width
	}
	if g.steps > 1 {
		width += textWidth(times(g.steps), weekTextSize) + 4
	}
	if marked(g.first.State) {
		width += markWidth + badgeGap
	}
	return width
}
