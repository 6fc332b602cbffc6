package views

import (
	"fmt"
	"strconv"
	"strings"

	"faceside/views/tongues"
)

// web is the steps of an OrderGraph as numbers 0..n-1, with at most one edge
// from one to another.
type web struct {
	edges  []edge // sorted by their first link's place in the graph
	topo   []int  // every step after all before it; ties keep the graph's order
	before [][]int
	after  [][]int // per step, indices into edges
}

// edge is all links from one step to another.
type edge struct {
	from, to int
	labels   []string // the lags that are not zero
	why      []string
}

func newWeb(g OrderGraph) (*web, error) {
	at := make(map[int64]int, len(g.Steps))
	for i, s := range g.Steps {
		if _, twice := at[s.ID]; twice {
			return nil, fmt.Errorf("two steps have the number %d", s.ID)
		}
		at[s.ID] = i
	}
	w := &web{}
	known := map[[2]int]int{}
	for _, l := range g.Links {
		from, ok := at[l.Before]
		if !ok {
			return nil, fmt.Errorf("a link begins at step %d, which is not in the drawing", l.Before)
		}
		to, ok := at[l.After]
		if !ok {
			return nil, fmt.Errorf("a link ends at step %d, which is not in the drawing", l.After)
		}
		i, ok := known[[2]int{from, to}]
		if !ok {
			i = len(w.edges)
			known[[2]int{from, to}] = i
			w.edges = append(w.edges, edge{from: from, to: to})
		}
		w.edges[i].take(g.Say, l)
	}
	w.index(len(g.Steps))
	return w, w.sort(g)
}

// take adds what one more link between the two steps says.
func (e *edge) take(say *tongues.Speaker, l OrderLink) {
	if label := lagLabel(say, l); label != "" {
		e.labels = append(e.labels, label)
	}
	if l.Why != "" {
		e.why = append(e.why, l.Why)
	}
}

func (w *web) index(steps int) {
	w.before, w.after = make([][]int, steps), make([][]int, steps)
	for i, e := range w.edges {
		w.before[e.to] = append(w.before[e.to], i)
		w.after[e.from] = append(w.after[e.from], i)
	}
}

// sort fills topo, or names a step on a circle. O(steps² + links): the drawing
// is of at most some hundreds.
func (w *web) sort(g OrderGraph) error {
	left := make([]int, len(w.before))
	for i := range left {
		left[i] = len(w.before[i])
	}
	for len(w.topo) < len(left) {
		next := -1
		for i, n := range left {
			if n == 0 {
				next = i
				break
			}
		}
		if next < 0 {
			for i, n := range left {
				if n > 0 {
					return fmt.Errorf("step %q stands in a circle of links, or after one", g.Steps[i].Name)
				}
			}
		}
		left[next] = -1
		w.topo = append(w.topo, next)
		for _, e := range w.after[next] {
			left[w.edges[e].to]--
		}
	}
	return nil
}

// reduce drops every edge that says nothing a longer way does not say: no lag,
// and another way round. O(links × steps).
func (w *web) reduce() {
	n := len(w.topo)
	reach := make([][]bool, n) // reach[i][j]: a way of one edge or more from i to j
	for k := n - 1; k >= 0; k-- {
		i := w.topo[k]
		reach[i] = make([]bool, n)
		for _, e := range w.after[i] {
			to := w.edges[e].to
			reach[i][to] = true
			for j, ok := range reach[to] {
				reach[i][j] = reach[i][j] || ok
			}
		}
	}
	var kept []edge
	for _, e := range w.edges {
		around := false
		for _, other := range w.after[e.from] {
			via := w.edges[other].to
			around = around || via != e.to && reach[via][e.to]
		}
		if !around || len(e.labels) > 0 {
			kept = append(kept, e)
		}
	}
	w.edges = kept
	w.index(n)
}

// lagLabel says a link's lags in few letters; "" when it only keeps an order.
func lagLabel(say *tongues.Speaker, l OrderLink) string {
	var said []string
	if l.Least != 0 {
		said = append(said, "≥ "+shortTime(l.Least))
	}
	if l.Greatest != nil {
		said = append(said, "≤ "+shortTime(*l.Greatest))
	}
	if len(said) == 0 {
		return ""
	}
	label := strings.Join(said, ", ")
	switch l.From {
	case "start":
		return say.Say("from start %s", label)
	case "attended":
		return say.Say("from closing %s", label)
	}
	return label
}

// shortTime says minutes in few letters: 45 min, 4 h, 1 h 30, 3 d.
func shortTime(minutes int) string {
	sign := ""
	if minutes < 0 {
		sign, minutes = "−", -minutes
	}
	hours, rest := minutes/60, minutes%60
	switch {
	case minutes < 60:
		return sign + strconv.Itoa(minutes) + " min"
	case minutes%(24*60) == 0:
		return sign + strconv.Itoa(minutes/(24*60)) + " d"
	case rest == 0:
		return sign + strconv.Itoa(hours) + " h"
	}
	return fmt.Sprintf("%s%d h %02d", sign, hours, rest)
}
