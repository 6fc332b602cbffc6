package sequence

import (
	"math"
	mathbits "math/bits"
	"slices"
)

// lineBound tells what a line can still become at best.
//
// Each job is looked at up to a milestone: the tasks of it that have at least so much of
// the job behind them. One order or another the milestones of the jobs are reached in,
// and before each the hands have done all that belongs to it and to those before, with
// the setups that this takes; behind it the job goes on for as long as its links, its
// unattended times and the hours of the shop want it to. So for every set of jobs the
// least that they can cost is found from that of the sets with one job fewer. Where the
// milestones lie is a view; every view gives a bound and the best one counts. Another one
// goes by the order in which the jobs end, and takes for the end of each set of them
// the latest that any view says.
type lineBound struct {
	l        *handLine
	all      taskSet
	stations []int // those with setups
	slotOf   []int // by resource
	setups   []*lineSetups
	whole    [mostLineStations][]int32 // by station: fewest minutes until all is done

	width int            // minutes of the hands that are looked at
	reach int            // the same of all pairs of hands together
	from  [][]int32      // by task: the least end of its job if it begins no earlier than at a minute of the hands
	count int            // of views
	views [][]*milestone // by job and view
	costs [][]int64      // by job and end
	rows  []setupRows    // by station

	view   lineView                        // scratch
	jobs   [mostLineJobs][]lineJob         // what may be left of each, as far as it was asked for
	number [mostLineJobs]map[taskSet]int32 // of these, by the tasks that are done
}

// milestone is a down-closed set of tasks of a job.
type milestone struct {
	tasks taskSet
	tail  []int32 // the least end of the job if all of it is done when so many minutes of all hands are gone
	cost  []int64 // what the job costs then
}

// lineJob is what is left of a job.
type lineJob struct {
	work  []int32 // by view: minutes up to the milestone
	first []int32 // tasks that wait for nothing else of the job
	left  int
}

// setupRows are the fewest minutes of setup of a station up to the milestones of some jobs.
// A column is for all views and sets of jobs that ask for the same tasks there.
type setupRows struct {
	column  []int32 // by view and set of jobs
	columns int
	minutes []int32 // by place and column
}

func (r *setupRows) at(place int) []int32 {
	return r.minutes[place*r.columns : (place+1)*r.columns]
}

// mostViews bounds the milestones of a job, mostLineTable the figures of all tails.
const (
	mostViews     = 12
	mostLineTable = 4 << 20
)

// prepare works out what does not change; false means that it is too much or that all
// stops.
func (b *lineBound) prepare(l *handLine) bool {
	m := l.m
	if m.horizon*len(m.jobs) > mostLineTable {
		return false
	}
	b.l = l
	work := 0
	for t := range m.tasks {
		b.all.put(t)
		work += int(l.takes[t])
	}
	order, ancestors := b.inOrder()
	if len(order) < len(m.tasks) {
		return false
	}
	longest, ok := b.takeStations(ancestors)
	if !ok {
		return false
	}
	// All that is later is taken for the last minute looked at: it bounds still, and lines that
	// take twice as long as they must, and some days more, are no good.
	b.width = min((2*work+len(m.tasks)*longest)/l.people+2000, m.horizon)
	if l.clock != nil {
		b.width = min(b.width, l.clock.total)
	}
	b.reach = b.width * l.people
	if (b.width+1)*(len(m.tasks)+mostViews*len(m.jobs)*l.people) > mostLineTable {
		return false
	}
	tails := b.tails(order)
	if m.halted() {
		return false
	}
	b.see(order, tails)
	if m.halted() {
		return false
	}
	b.price()
	return b.tabulate() && !m.halted()
}

// twin makes of a copy that shares what does not change one of its own.
func (b *lineBound) twin(l *handLine) {
	b.l, b.view = l, lineView{}
	for j := range b.jobs {
		b.jobs[j], b.number[j] = nil, map[taskSet]int32{}
	}
}

// takeStations takes the stations with setups and returns the longest setup; false means
// that they are too many or that all stops.
func (b *lineBound) takeStations(ancestors []taskSet) (longest int, ok bool) {
	m := b.l.m
	b.slotOf = make([]int, len(m.resources))
	for r := range m.resources {
		b.slotOf[r] = -1
		c := m.resources[r].setups
		if c == nil || len(c.tasks) == 0 {
			continue
		}
		if len(b.stations) == mostLineStations || len(c.names) >= anySetting || m.halted() {
			return 0, false
		}
		b.slotOf[r] = len(b.stations)
		b.stations = append(b.stations, r)
		u := newLineSetups(b.l, r, ancestors)
		b.setups = append(b.setups, u)
		b.whole[b.slotOf[r]] = u.table(u.full)
		for a := range u.minutes {
			longest = max(longest, int(slices.Max(u.minutes[a])))
		}
	}
	return longest, true
}

// inOrder lists the tasks each behind those before it, and finds all those.
func (b *lineBound) inOrder() (order []int, ancestors []taskSet) {
	l := b.l
	n := len(l.m.tasks)
	ancestors = make([]taskSet, n)
	var done taskSet
	for more := true; more; {
		more = false
		for t := range n {
			if done.has(t) || !l.before[t].within(&done) {
				continue
			}
			done.put(t)
			order, more = append(order, t), true
			for p := range n {
				if l.before[t].has(p) {
					ancestors[t].put(p)
					ancestors[t].union(&ancestors[p])
				}
			}
		}
	}
	return order, ancestors
}

// tails finds how early a job can end once a task's attended time is over at each minute
// of the hands, and from each minute on at which the task may begin.
func (b *lineBound) tails(order []int) [][]int32 {
	l, m := b.l, b.l.m
	after := make([][]int32, len(m.tasks))
	b.from = make([][]int32, len(m.tasks))
	for _, t := range slices.Backward(order) {
		if m.halted() {
			return nil
		}
		w := &m.tasks[t]
		after[t], b.from[t] = make([]int32, b.width+1), make([]int32, b.width+1)
		for x := range after[t] {
			end := b.over(x) + w.unatt
			for _, k := range l.out[t] {
				g := &m.links[k]
				if m.tasks[g.after].job != w.job || g.from == atStart {
					continue
				}
				at := b.over(x) + g.min
				if g.from == atEnd {
					at += w.unatt
				}
				end = max(end, int(b.from[g.after][b.minute(at)]))
			}
			after[t][x] = int32(min(end, m.horizon+1))
		}
		for x := range b.from[t] {
			b.from[t][x] = int32(m.horizon + 1)
			at := w.nextStart(l.clock.begin(x))
			if w.fixed >= 0 { // it may begin between windows
				at = m.early[t]
			}
			if at < never {
				b.from[t][x] = after[t][b.minute(w.attEnd(at))]
			}
		}
	}
	return after
}

// over is when so many minutes of the hands are over, or the horizon.
func (b *lineBound) over(x int) int {
	if x == 0 {
		return 0
	}
	return min(b.l.clock.begin(x-1)+1, b.l.m.horizon)
}

// minute counts the minutes of the hands before a time, as far as they are looked at.
func (b *lineBound) minute(at int) int { return min(b.l.clock.worked(at), b.width) }

// see chooses the views: how much lies at least behind the tasks of a milestone.
func (b *lineBound) see(order []int, tails [][]int32) {
	behind := b.behind(order)
	limits := slices.Clone(behind)
	slices.Sort(limits)
	limits = slices.Compact(limits)
	if n := len(limits); n > mostViews {
		some := make([]int, mostViews)
		for k := range some {
			some[k] = limits[k*(n-1)/(mostViews-1)]
		}
		limits = some
	}
	b.count = len(limits)
	for j := range b.l.m.jobs {
		var views []*milestone
		for _, limit := range limits {
			if b.l.m.halted() {
				return
			}
			views = append(views, b.milestone(j, limit, behind, tails))
		}
		b.views = append(b.views, views)
		b.number[j] = map[taskSet]int32{}
	}
}

// behind is how much of its job lies behind each task at least, in minutes.
func (b *lineBound) behind(order []int) []int {
	m := b.l.m
	behind := make([]int, len(m.tasks))
	for _, t := range slices.Backward(order) {
		w := &m.tasks[t]
		behind[t] = w.unatt
		for _, k := range b.l.out[t] {
			g := &m.links[k]
			if v := &m.tasks[g.after]; v.job == w.job && g.from != atStart {
				lag := g.min + v.att + behind[g.after]
				if g.from == atEnd {
					lag += w.unatt
				}
				behind[t] = max(behind[t], lag)
			}
		}
	}
	return behind
}

// milestone takes the tasks of a job that have at least so much of it behind them.
func (b *lineBound) milestone(j, limit int, behind []int, tails [][]int32) *milestone {
	s := &milestone{}
	s.tail = make([]int32, b.reach+1)
	for x := range s.tail {
		s.tail[x] = math.MaxInt32
	}
	for _, t := range b.l.m.jobs[j].tasks {
		if behind[t] < limit {
			continue
		}
		s.tasks.put(t)
		for x := range s.tail {
			s.tail[x] = min(s.tail[x], tails[t][(x+b.l.people-1)/b.l.people])
		}
	}
	return s
}

// price tabulates what jobs cost by their ends, and at least by their milestones.
func (b *lineBound) price() {
	m := b.l.m
	for j := range m.jobs {
		cost := make([]int64, m.horizon+2)
		for end := range cost {
			if end&1023 == 0 && m.halted() {
				return
			}
			cost[end] = m.jobCost(&m.jobs[j], end)
		}
		cost[m.horizon+1] = noCost
		b.costs = append(b.costs, cost)
		for v := range b.views[j] {
			s := b.views[j][v]
			s.cost = make([]int64, len(s.tail))
			for x, end := range s.tail {
				s.cost[x] = cost[min(int(end), m.horizon+1)]
			}
		}
	}
}

// left returns the number of what is left of a job.
func (b *lineBound) left(j int, done *taskSet) int32 {
	key := done.and(&b.l.ofJob[j])
	if k, ok := b.number[j][key]; ok {
		return k
	}
	left := lineJob{work: make([]int32, b.count)}
	for _, t := range b.l.m.jobs[j].tasks {
		if done.has(t) {
			continue
		}
		left.left++
		for v := range left.work {
			if b.views[j][v].tasks.has(t) {
				left.work[v] += b.l.takes[t]
			}
		}
		if own := b.l.before[t].and(&b.l.ofJob[j]); own.within(&key) {
			left.first = append(left.first, int32(t))
		}
	}
	k := int32(len(b.jobs[j]))
	b.jobs[j] = append(b.jobs[j], left)
	b.number[j][key] = k
	return k
}

// mostLeft is how much of what may be left of a job is kept from one length of lines to
// the next.
const mostLeft = 1 << 15

// forget drops what is left of a job, where that is more than so much, but for what the
// states that go on need.
func (b *lineBound) forget(most int, layers ...[]lineState) {
	for j := range b.jobs {
		if len(b.jobs[j]) <= most {
			continue
		}
		b.jobs[j], b.number[j] = nil, map[taskSet]int32{}
		for _, states := range layers {
			for k := range states {
				if b.l.m.halted() { // nobody looks at them any more
					return
				}
				states[k].jobs[j] = b.left(j, &states[k].done)
			}
		}
	}
}

// tabulate lays the tables of fewest setups out in rows; false means that all stops.
func (b *lineBound) tabulate() bool {
	jobs := len(b.l.m.jobs)
	for _, u := range b.setups {
		r := setupRows{column: make([]int32, b.count<<jobs)}
		columnOf := map[uint16]int32{}
		var tables [][]int32
		for view := range b.count {
			for x := range 1 << jobs {
				if b.l.m.halted() {
					return false
				}
				asked := uint16(0)
				for y := uint(x); y != 0; y &= y - 1 {
					asked |= u.among(&b.views[mathbits.TrailingZeros(y)][view].tasks)
				}
				c, ok := columnOf[asked]
				if !ok {
					c = int32(len(tables))
					columnOf[asked] = c
					tables = append(tables, u.table(asked))
				}
				r.column[view<<jobs|x] = c
			}
		}
		r.columns = len(tables)
		r.minutes = make([]int32, 0, r.columns*len(tables[0]))
		for place := range tables[0] {
			if b.l.m.halted() {
				return false
			}
			for _, table := range tables {
				r.minutes = append(r.minutes, table[place])
			}
		}
		u.fewest = nil
		b.rows = append(b.rows, r)
	}
	return true
}

// lineView is a state as the bound looks at it: the jobs that it has not completed, and
// what is said of lines that are one task longer.
type lineView struct {
	n     int                      // jobs that are not complete
	open  [mostLineJobs]int        // these jobs
	slot  [mostLineJobs]int        // where each job is among them
	of    [1 << mostLineJobs]int   // by set of them: the same set as the problem numbers jobs
	sum   []int32                  // by view and set of them: minutes of the hands up to their milestones
	place [mostLineStations]int    // of each station in its tables of fewest setups
	now   int                      // minutes of all hands that are gone
	left  [mostLineJobs]*lineJob   // what is left of each
	alone [mostLineJobs]int32      // the least end of each if the hands did nothing else
	cost  [mostLineJobs]int64      // what each costs then
	least [1 << mostLineJobs]int64 // what they cost at least
	until [1 << mostLineJobs]int32 // the least end of the last of them, by all views so far
}

// lineTurn is how the minutes up to milestones change with a task.
type lineTurn struct {
	job      int // bit of its job, 0: none
	minutes  int32
	column   []int32 // nil: no setups
	was, now []int32
}

// promise bounds a state from below, by its parent's bound too. Once it is at a ceiling it
// need not be told how far above.
func (b *lineBound) promise(s *lineState, waits []lineWait, ceiling int64) {
	b.regard(s)
	b.measure(s, waits, -1, lineEye{stretch: unstretched}, ceiling)
}

// regard prepares for the promises of lines that are one task longer than a state.
func (b *lineBound) regard(s *lineState) {
	v := &b.view
	v.n = 0
	for j := range b.l.m.jobs {
		left := &b.jobs[j][s.jobs[j]]
		if left.left > 0 {
			v.open[v.n], v.left[v.n], v.slot[j] = j, left, v.n
			v.n++
		}
	}
	sets := 1 << v.n
	for x := 1; x < sets; x++ {
		v.of[x] = v.of[x&(x-1)] | 1<<v.open[mathbits.TrailingZeros(uint(x))]
	}
	if cap(v.sum) < b.count*sets {
		v.sum = make([]int32, b.count*sets)
	}
	v.sum = v.sum[:b.count*sets]
	for view := range b.count {
		sum := v.sum[view*sets : (view+1)*sets]
		sum[0] = 0
		for x := 1; x < sets; x++ {
			sum[x] = sum[x&(x-1)] + v.left[mathbits.TrailingZeros(uint(x))].work[view]
		}
	}
	jobs := len(b.l.m.jobs)
	for k, table := range b.setups {
		v.place[k] = table.place(s, k)
		if s.doneA[k] == table.full {
			continue
		}
		row := b.rows[k].at(v.place[k])
		for view := range b.count {
			sum, column := v.sum[view*sets:(view+1)*sets], b.rows[k].column[view<<jobs:]
			for x := 1; x < sets; x++ {
				sum[x] += row[column[v.of[x]]]
			}
		}
	}
}

// measure says what a plan may come to, as a round sees it, that begins like the state
// regarded last, or like that with a task more. A round that does not stretch what is left
// has a bound from below in it, as promise has.
func (b *lineBound) measure(s *lineState, waits []lineWait, task int, see lineEye, ceiling int64) {
	m := b.l.m
	v := &b.view
	turn := b.look(s, waits, task)
	known, highest, sum, c := s.cost, int64(0), int64(0), int64(0)
	for k, table := range b.setups {
		known += m.weights.Setup * int64(b.whole[k][table.place(s, k)])
	}
	if m.weights.Makespan > 0 && v.n > 0 {
		known += m.weights.Makespan * int64(slices.Max(v.alone[:v.n]))
	}
	clear(v.until[:1<<v.n])
	for view := range b.count {
		if view == 0 || see.mean || v.differs(view) {
			turn.minutes = 0
			if turn.job > 0 && b.views[m.tasks[task].job][view].tasks.has(task) {
				turn.minutes = b.l.takes[task]
			}
			c = b.ordered(view, &turn, see.stretch)
		}
		// What cannot be would not go into the sum more than a few times.
		if highest, sum = max(highest, c), sum+min(c, noCost/mostViews); see.stretch == unstretched && known+c >= ceiling {
			break
		}
	}
	s.hope = s.moved + known + highest
	if see.mean {
		s.hope += sum/int64(b.count) - highest
	}
	if see.stretch == unstretched {
		s.bound = max(s.bound, known+max(highest, b.together()))
	}
}

// open counts the jobs that are not complete.
func (b *lineBound) open(s *lineState) int {
	n := 0
	for j := range b.l.m.jobs {
		if b.jobs[j][s.jobs[j]].left > 0 {
			n++
		}
	}
	return n
}

// look takes what is left of the jobs of the state regarded, or of it with a task more.
func (b *lineBound) look(s *lineState, waits []lineWait, task int) lineTurn {
	l, v := b.l, &b.view
	now := b.minute(int(s.free))
	v.now = now
	if l.people > 1 {
		v.now = b.gone(s, waits)
	}
	for a, j := range v.open[:v.n] {
		left := &b.jobs[j][s.jobs[j]]
		v.left[a], v.alone[a], v.cost[a] = left, 0, 0
		if left.left > 0 {
			v.alone[a] = b.alone(now, j, left, waits)
			v.cost[a] = b.costs[j][min(int(v.alone[a]), l.m.horizon+1)]
		}
	}
	var turn lineTurn
	if task < 0 {
		return turn
	}
	w := &l.m.tasks[task]
	if w.job >= 0 {
		turn.job = 1 << v.slot[w.job]
	}
	if w.station >= 0 {
		k := b.slotOf[w.station]
		r := &b.rows[k]
		turn.column, turn.was, turn.now = r.column, r.at(v.place[k]), r.at(b.setups[k].place(s, k))
	}
	return turn
}

// alone is the least end of a job if the hands did nothing else from now on.
func (b *lineBound) alone(now, j int, left *lineJob, waits []lineWait) int32 {
	l := b.l
	end := int32(0)
	for _, t := range left.first {
		x := now
		if early := l.m.early[t]; early > 0 {
			x = max(x, b.minute(early))
		}
		for _, w := range waits {
			if w.what == t {
				x = max(x, b.minute(int(w.until)))
			}
		}
		end = max(end, b.from[t][x])
	}
	for _, w := range waits {
		if w.what == l.jobWait(j) {
			end = max(end, w.until)
		}
	}
	return end
}

// noCost stands for the cost of what cannot be: more than any plan's, and little enough
// that two of them can be added.
const noCost = math.MaxInt64 / 4

// differs tells whether more is left by a view than by the one before it, which looks at
// less but at what is farther from the end.
func (v *lineView) differs(view int) bool {
	for _, left := range v.left[:v.n] {
		if left.work[view] != left.work[view-1] {
			return true
		}
	}
	return false
}

// ordered is what the open jobs cost at least by one view, if what is left takes so many
// percent of its least time.
func (b *lineBound) ordered(view int, turn *lineTurn, stretch int) int64 {
	v := &b.view
	var costs [mostLineJobs][]int64
	var tails [mostLineJobs][]int32
	for a := range v.n {
		if v.left[a].work[view] > 0 {
			costs[a] = b.views[v.open[a]][view].cost
			if stretch == unstretched {
				tails[a] = b.views[v.open[a]][view].tail
			}
		}
	}
	sets := 1 << v.n
	sum := v.sum[view*sets : (view+1)*sets]
	var column []int32
	if turn.column != nil {
		column = turn.column[view<<len(b.l.m.jobs):]
	}
	for x := 1; x < sets; x++ {
		minutes := sum[x]
		if column != nil {
			c := column[v.of[x]]
			minutes += turn.now[c] - turn.was[c]
		}
		if x&turn.job != 0 {
			minutes -= turn.minutes
		}
		at := min(b.reach, v.now+int(minutes)*stretch/unstretched)
		least, until := int64(noCost), int32(math.MaxInt32)
		for y := uint(x); y != 0; y &= y - 1 {
			a := mathbits.TrailingZeros(y)
			c := v.cost[a]
			if costs[a] != nil {
				c = max(c, costs[a][at])
			}
			if tails[a] != nil {
				until = min(until, tails[a][at])
			}
			least = min(least, v.least[x&^(1<<a)]+c)
		}
		v.least[x] = least
		if until < math.MaxInt32 {
			v.until[x] = max(v.until[x], until)
		}
	}
	return v.least[sets-1]
}

// together is what the open jobs cost at least in the order in which they are complete:
// the last one of each set no earlier than some job of it can be by each view.
func (b *lineBound) together() int64 {
	v := &b.view
	for x := 1; x < 1<<v.n; x++ {
		end := v.until[x]
		for y := uint(x); y != 0; y &= y - 1 {
			end = max(end, v.alone[mathbits.TrailingZeros(y)])
		}
		least := int64(noCost)
		if int(end) <= b.l.m.horizon {
			for y := uint(x); y != 0; y &= y - 1 {
				a := mathbits.TrailingZeros(y)
				c := v.cost[a]
				if v.left[a].left > 0 {
					c = b.costs[v.open[a]][end]
				}
				least = min(least, v.least[x&^(1<<a)]+c)
			}
		}
		v.least[x] = least
	}
	return v.least[1<<v.n-1]
}
