package sequence

import (
	"cmp"
	"slices"
)

// longestBlock is how many tasks the shorter of two blocks has at most that are exchanged.
const longestBlock = 12

// swapped exchanges two neighbouring blocks of an order, those at [i, j) and at [j, k), or,
// where k is 0, the tasks at i and j.
type swapped struct {
	cost    int64 // of the order with it
	i, j, k int
}

// inFront is the task in front of a position, n at the beginning.
func (o *oneMachine) inFront(k int) int {
	if k == 0 {
		return o.n
	}
	return int(o.seq[k-1])
}

// setup is the minutes of setup of the task at a position.
func (o *oneMachine) setup(k int) int { return int(o.to[o.inFront(k)*o.n+int(o.seq[k])]) }

// measure notes when tasks of the order end and what they cost.
func (o *oneMachine) measure() {
	now := 0
	for k, t := range o.seq {
		now += o.setup(k) + o.took[t]
		o.ends[k] = now
		o.costs[k+1] = o.costs[k] + o.flow[t]*int64(now) + o.late[t]*int64(max(0, now-o.due[t]))
	}
	o.cost = o.costs[o.n] + o.lasts(now)
	o.shift.fill(o)
}

// lasts is what it costs that the last task ends at a time.
func (o *oneMachine) lasts(end int) int64 {
	return o.perEnd*int64(end) + o.beyond*int64(max(0, end-o.m.horizon))
}

// look makes the best move that begins at the front and returns how many it looked at.
func (o *oneMachine) look() int {
	best := swapped{cost: o.cost, i: o.front}
	if o.front++; o.front == o.n {
		o.front = 0
	}
	looked := 0
	for j := best.i + 1; j < o.n; j++ {
		looked += o.blocks(&best, j)
		if j > best.i+1 {
			o.swap(&best, j)
			looked++
		}
	}
	if o.vain++; best.cost < o.cost {
		o.make(best)
		o.vain = 0
	}
	return looked
}

// blocks looks for a better move that exchanges the block from the front to j with one
// behind it.
func (o *oneMachine) blocks(best *swapped, j int) (looked int) {
	i, n, last := best.i, o.n, o.n
	if j-i > longestBlock {
		last = min(n, j+longestBlock)
	}
	ends, seq, front := o.ends, o.seq, int(o.seq[i])
	into, took := o.into[front*(n+1):front*(n+1)+n], o.took[front]
	to := o.to[int(seq[j-1])*n:][:n]
	earlier := o.begins(i) + int(o.to[o.inFront(i)*n+int(seq[j])]) + o.took[seq[j]] - ends[j]
	row, now := o.shift.row(earlier), o.shift.row(0)
	for k := j + 1; k <= last; k++ {
		looked++
		cost := o.costs[i] + row.cost(j, k, earlier)
		if cost >= best.cost { // and only more with a longer block
			break
		}
		later := ends[k-1] + earlier + int(into[seq[k-1]]) + took - ends[i]
		end, rest := ends[j-1]+later, 0
		if k < n {
			next := seq[k]
			rest = end + int(to[next]) + o.took[next] - ends[k]
			end = ends[n-1] + rest
		}
		cost += o.lasts(end)
		// What is late now costs at least as much more or less as it is moved.
		if cost+now.cost(i, j, later)+now.cost(k, n, rest) >= best.cost {
			continue
		}
		cost += o.shift.row(later).cost(i, j, later) + o.shift.row(rest).cost(k, n, rest)
		if cost < best.cost {
			best.cost, best.j, best.k = cost, j, k
		}
	}
	return looked
}

// swap takes the exchange of the tasks at the front and at j, which are no neighbours, if
// it is better.
func (o *oneMachine) swap(best *swapped, j int) {
	i, n := best.i, o.n
	one, other := int(o.seq[i]), int(o.seq[j])
	from := func(end, before, k int) int { // the shift of what begins at k
		t := int(o.seq[k])
		return end + int(o.to[before*n+t]) + o.took[t] - o.ends[k]
	}
	shift := from(o.begins(i), o.inFront(i), j)
	cost := o.costs[i] + o.shift.row(shift).cost(j, j+1, shift)
	shift = from(o.ends[j]+shift, other, i+1)
	if cost += o.shift.row(shift).cost(i+1, j, shift); cost >= best.cost {
		return
	}
	shift = from(o.ends[j-1]+shift, int(o.seq[j-1]), i)
	cost += o.shift.row(shift).cost(i, i+1, shift)
	end := o.ends[i] + shift
	if j+1 < n {
		shift = from(end, one, j+1)
		cost += o.shift.row(shift).cost(j+1, n, shift)
		end = o.ends[n-1] + shift
	}
	if cost += o.lasts(end); cost < best.cost {
		best.cost, best.j, best.k = cost, j, 0
	}
}

// begins is when the task in front of a position ends.
func (o *oneMachine) begins(k int) int {
	if k == 0 {
		return 0
	}
	return o.ends[k-1]
}

// make makes a move.
func (o *oneMachine) make(v swapped) {
	if v.k == 0 {
		o.seq[v.i], o.seq[v.j] = o.seq[v.j], o.seq[v.i]
	} else {
		slices.Reverse(o.seq[v.i:v.j])
		slices.Reverse(o.seq[v.j:v.k])
		slices.Reverse(o.seq[v.i:v.k])
	}
	o.measure()
}

// shiftTable tells what the tasks of a stretch of the order cost if all of them end so
// much later, or earlier. Cost by shift is bent where a task becomes late: where its
// slack is used up. Between two such places it is a straight line, and those of all
// stretches there are differences of one row. To fill it takes O(tasks²), to ask O(1) as
// long as slacks are spread evenly.
type shiftTable struct {
	n      int
	slack  []int       // sorted
	byRank []int32     // the position of each
	rows   []shiftCell // by how many slacks are less than the shift, and position
	bucket [slackBuckets]int32
	spread int // slacks within 1<<spread minutes are of one bucket
}

// slackBuckets is how many parts the slacks are looked up in.
const slackBuckets = 256

// shiftCell is a straight line: what the tasks from a position on cost by shift.
type shiftCell struct{ slope, at0 int64 }

// shiftRow is the lines for some shifts.
type shiftRow []shiftCell

func newShiftTable(n int) shiftTable {
	return shiftTable{n: n, slack: make([]int, n), byRank: make([]int32, n), rows: make([]shiftCell, (n+1)*(n+1))}
}

// cost is what the tasks from one position to another cost; of a row for another shift it
// is less or the same.
func (r shiftRow) cost(from, to, shift int) int64 {
	a, b := &r[from], &r[to]
	return int64(shift)*(a.slope-b.slope) + a.at0 - b.at0
}

// row returns the lines for a shift.
func (y *shiftTable) row(shift int) shiftRow {
	k := y.rank(shift) * (y.n + 1)
	return y.rows[k : k+y.n+1]
}

// rank counts the slacks that are less than a shift.
func (y *shiftTable) rank(shift int) int {
	if shift <= y.slack[0] {
		return 0
	}
	k := (shift - y.slack[0]) >> y.spread
	if k >= slackBuckets {
		return y.n
	}
	r := int(y.bucket[k])
	for r < y.n && y.slack[r] < shift {
		r++
	}
	return r
}

// fill lays the table out for the order as it was measured.
func (y *shiftTable) fill(o *oneMachine) {
	n := y.n
	slack := func(k int32) int { return o.due[o.seq[k]] - o.ends[k] }
	for k := range y.byRank {
		y.byRank[k] = int32(k)
	}
	slices.SortFunc(y.byRank, func(a, b int32) int { return cmp.Or(cmp.Compare(slack(a), slack(b)), cmp.Compare(a, b)) })
	for r, k := range y.byRank {
		y.slack[r] = slack(k)
	}
	row := y.rows[:n+1]
	row[n] = shiftCell{}
	for k := n - 1; k >= 0; k-- {
		f := o.flow[o.seq[k]]
		row[k] = shiftCell{row[k+1].slope + f, row[k+1].at0 + f*int64(o.ends[k])}
	}
	for r, k := range y.byRank {
		next := y.rows[(r+1)*(n+1):][:n+1]
		late := o.late[o.seq[k]]
		less := late * int64(y.slack[r])
		for p, c := range row[:k+1] {
			next[p] = shiftCell{c.slope + late, c.at0 - less}
		}
		copy(next[k+1:], row[k+1:])
		row = next
	}
	y.fillBuckets()
}

// fillBuckets notes for each bucket how many slacks lie before it.
func (y *shiftTable) fillBuckets() {
	y.spread = 0
	for (y.slack[y.n-1]-y.slack[0])>>y.spread >= slackBuckets {
		y.spread++
	}
	r := 0
	for k := range y.bucket {
		for r < y.n && (y.slack[r]-y.slack[0])>>y.spread < k {
			r++
		}
		y.bucket[k] = int32(r)
	}
}
