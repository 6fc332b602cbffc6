package sequence

// gap is a link seen without calendars: S(to) >= S(from) + least.
type gap struct {
	from, to, least int
}

// gaps are what the links ask for at least at any time. A greatest lag behind a
// task that windows may stretch asks for nothing that holds at any time.
func (m *model) gaps() []gap {
	var gs []gap
	for i := range m.links {
		l := &m.links[i]
		w := &m.tasks[l.before]
		ahead := 0 // least minutes from S to the point the link measures from
		switch l.from {
		case atAttended:
			ahead = w.att
		case atEnd:
			ahead = w.att + w.unatt
		}
		gs = append(gs, gap{l.before, l.after, ahead + l.min})
		stretches := l.from != atStart && w.cut && w.clock != nil
		if l.max < never && !stretches {
			gs = append(gs, gap{l.after, l.before, -ahead - l.max})
		}
	}
	return gs
}

// leastGaps returns for every two tasks the least S(b) - S(a) that the links ask
// for at any time, -never where they ask for nothing (Floyd and Warshall,
// O(tasks^3)); nil where all stops.
func (m *model) leastGaps() [][]int {
	n := len(m.tasks)
	d := make([][]int, n)
	for a := range d {
		d[a] = make([]int, n)
		for b := range d[a] {
			d[a][b] = -never
		}
	}
	for _, g := range m.gaps() {
		d[g.from][g.to] = max(d[g.from][g.to], g.least)
	}
	for k := range d {
		if m.halted() {
			return nil
		}
		for a := range d {
			first := d[a][k]
			if first == -never {
				continue
			}
			for b, second := range d[k] {
				if second > -never && first+second > d[a][b] {
					d[a][b] = first + second
				}
			}
		}
	}
	return d
}

// positiveCycle returns tasks that the links alone push off each other for ever,
// nil if there are none: a cycle of gaps whose sum is above 0 (Bellman and Ford;
// O(tasks x links) at worst, a few passes over the links as a rule). Carrying
// bounds along the links would find it too, after as many rounds as the horizon
// has minutes.
func (m *model) positiveCycle() []int {
	n := len(m.tasks)
	gs := m.gaps()
	far, by := make([]int, n), make([]int, n)
	for i := range by {
		by[i] = -1
	}
	last := -1
	for pass := 0; pass <= n; pass++ {
		last = -1
		if m.halted() {
			return nil
		}
		for _, g := range gs {
			if to := far[g.from] + g.least; to > far[g.to] {
				far[g.to], by[g.to], last = to, g.from, g.to
			}
		}
		if last < 0 {
			return nil
		}
	}
	for range n { // back along the path until surely on the cycle
		last = by[last]
	}
	cycle := []int{last}
	for i := by[last]; i != last; i = by[i] {
		cycle = append(cycle, i)
	}
	return cycle
}

// components numbers the strongly connected components of a graph, given for each node
// where its edges lead (Tarjan, "Depth-first search and linear graph algorithms", SIAM
// Journal on Computing 1, 1972; O(nodes + edges)).
func components(next [][]int) []int {
	n := len(next)
	index, low, group := make([]int, n), make([]int, n), make([]int, n)
	var stack []int
	on := make([]bool, n)
	clock, groups := 0, 0
	var visit func(v int)
	visit = func(v int) {
		clock++
		index[v], low[v] = clock, clock
		stack = append(stack, v)
		on[v] = true
		for _, u := range next[v] {
			if index[u] == 0 {
				visit(u)
				low[v] = min(low[v], low[u])
			} else if on[u] {
				low[v] = min(low[v], index[u])
			}
		}
		if low[v] != index[v] {
			return
		}
		for {
			u := stack[len(stack)-1]
			stack = stack[:len(stack)-1]
			on[u] = false
			group[u] = groups
			if u == v {
				break
			}
		}
		groups++
	}
	for v := range next {
		if index[v] == 0 {
			visit(v)
		}
	}
	return group
}
