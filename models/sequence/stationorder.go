package sequence

// order propagates the sequence of the tasks on one station with setups: their
// order is transitive, and the setup minutes before a task are at least the
// fewest that any task that may still come just before it asks for.
type order struct {
	res    int
	tasks  []int32
	before [][]lit // [a][b]: task a comes before task b
	ahead  []bits  // scratch: the tasks surely before a task
	behind []bits  // scratch: the tasks surely behind it
	why    []lit   // scratch
	row    [][]int // minutes from the state of a to that of b
	first  []int   // minutes from the initial state
	sum    *setupSum
}

func newOrder(e *exact, r int) order {
	c := e.m.resources[r].setups
	n := len(c.tasks)
	o := order{res: r, before: make([][]lit, n), row: make([][]int, n), first: make([]int, n), sum: newSetupSum(e, r)}
	for a, t := range c.tasks {
		o.tasks = append(o.tasks, int32(t))
		o.ahead, o.behind = append(o.ahead, newBits(n)), append(o.behind, newBits(n))
		o.before[a], o.row[a] = make([]lit, n), make([]int, n)
		if c.initial >= 0 {
			o.first[a] = c.minutes[c.initial][e.m.tasks[t].state]
		}
		for b, u := range c.tasks {
			o.row[a][b] = c.minutes[e.m.tasks[t].state][e.m.tasks[u].state]
			if a != b {
				o.before[a][b] = e.before(int32(t), int32(u))
			}
		}
	}
	return o
}

// sides calls f with each side whose bounds matter.
func (o *order) sides(e *exact, f func(int32)) {
	for a := range o.tasks {
		for b := range o.tasks {
			if a != b {
				f(o.before[a][b].side)
			}
		}
	}
}

func (o *order) propagate(e *exact) bool {
	if !o.close(e) {
		return false
	}
	for b := range o.tasks {
		if !o.setupOf(e, b) {
			return false
		}
	}
	return e.m.weights.Setup == 0 || o.sumUp(e)
}

// close reads what is known of the order and makes it transitive.
func (o *order) close(e *exact) bool {
	for a := range o.tasks {
		clear(o.ahead[a])
		clear(o.behind[a])
	}
	for a := range o.tasks {
		for b := range o.tasks {
			if a != b && e.x.isTrue(o.before[a][b]) {
				o.behind[a].put(b)
				o.ahead[b].put(a)
			}
		}
	}
	for b := range o.tasks {
		if e.x.giveUp() {
			return true
		}
		for a := range o.tasks {
			if !o.ahead[b].has(a) {
				continue
			}
			for c := range o.tasks {
				if !o.behind[b].has(c) || o.behind[a].has(c) {
					continue
				}
				if a == c {
					e.x.clash = append(e.x.clash[:0], o.before[a][b], o.before[b][a])
					return false
				}
				if !e.x.set(o.before[a][c], o.before[a][b], o.before[b][c]) {
					return false
				}
				o.behind[a].put(c)
				o.ahead[c].put(a)
			}
		}
	}
	return true
}

// setupOf raises the setup minutes of task b to the fewest still possible.
func (o *order) setupOf(e *exact, b int) bool {
	v := e.setup[o.tasks[b]]
	least := -1
	if o.mayBeFirst(b) {
		least = o.first[b]
	}
	for a := range o.tasks {
		if a != b && (least < 0 || o.row[a][b] < least) && !o.behind[b].has(a) && !o.behind[a].meets(o.ahead[b]) {
			least = o.row[a][b]
		}
	}
	if least <= int(e.x.lo(v)) {
		return true
	}
	o.why = o.why[:0]
	if o.first[b] < least {
		o.why = append(o.why, o.anyAhead(b))
	}
	for a := range o.tasks {
		if a == b || o.row[a][b] >= least {
			continue
		}
		if o.behind[b].has(a) {
			o.why = append(o.why, o.before[b][a])
			continue
		}
		k := o.between(a, b)
		o.why = append(o.why, o.before[a][k], o.before[k][b])
	}
	return e.x.set(ge(v, int64(least)), o.why...)
}

func (o *order) mayBeFirst(b int) bool {
	for _, w := range o.ahead[b] {
		if w != 0 {
			return false
		}
	}
	return true
}

// anyAhead returns a literal that says some task comes before task b.
func (o *order) anyAhead(b int) lit {
	for a := range o.tasks {
		if o.ahead[b].has(a) {
			return o.before[a][b]
		}
	}
	return lit{}
}

// between returns a task that surely comes behind a and before b.
func (o *order) between(a, b int) int {
	for k := range o.tasks {
		if o.behind[a].has(k) && o.ahead[b].has(k) {
			return k
		}
	}
	return -1
}
