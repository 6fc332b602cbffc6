package sequence

import (
	"math/rand/v2"
	"slices"
)

// project is a search for problems that are project scheduling at heart: tasks
// that use resources which are always there, bound by least lags, and nothing
// but the makespan to minimise. It breeds priority lists (Hartmann, Naval
// Research Logistics 45, 1998), pushes every schedule to the right and back to
// the left again (Valls, Ballestín, Quintanilla, "Justification and RCPSP: a
// technique that pays", EJOR 165, 2005), and begins anew with another population
// when one has nothing better to give; the best of several such make one together.
type project struct {
	m     *model
	rng   *rand.Rand
	n     int
	unit  int   // minutes that all spans are a multiple of
	takes []int // units of each task
	there network
	back  network // from the end: time runs the other way
	room  grid
	tails []int // units from a task's start to the end, by links alone

	people []person
	size   int        // of the population
	rank   int        // how often the best of others came together for it
	kept   [][]person // by rank: the best of populations that ended
	spare  []person
	quiet  int // births since the population had a better one
	top    int // length of its best
	best   *answer
	length int // of best, in units
	spent  int64

	child      person // scratch, like what follows
	mirror     []int
	keys       []int
	counts     []int32 // by key
	was        []int32 // a list before it was sorted
	list, open []int32
	waits      []int32
}

// person is a schedule of the population.
type person struct {
	list   []int32 // by start
	start  []int
	length int
	worth  int    // the less the better: of two of one length the one that does more early
	mark   uint64 // of the starts: two with the same are one
}

// patience is how many births, in sizes of the population, go by without a
// better one before it is given up.
const patience = 20

// families is how many populations of a rank give their best for one of the next.
const families = 4

// network is the links as least spans from start to start, one way.
type network struct {
	prior [][]reach
	after [][]reach
}

// grid is how much of every resource is free in every unit of time. Four
// resources lie side by side in one word, each with a guard bit above its
// figure, so that one subtraction looks at all of them.
type grid struct {
	words int
	free  []uint64 // by unit of time, then word
	whole []uint64 // all free
	needs []uint64 // by task, then word
	used  int      // units of time that may not be whole
}

const (
	laneBits = 16
	lanes    = 64 / laneBits
	guards   = 0x8000_8000_8000_8000
	mostRoom = 0x7fff
	mostGrid = 1 << 15 // units of time that a grid may cover
)

// newProject returns nil if the problem is no project.
func newProject(m *model, start *answer, seed int64) *project {
	w := m.weights
	if start == nil || m.maxLag || w.Makespan == 0 || w.Tardiness != 0 || w.Flow != 0 || w.Setup != 0 || w.Moved != 0 || len(m.tasks) < 3 || len(m.tasks) > 1<<15 {
		return nil
	}
	p := &project{m: m, rng: rand.New(rand.NewPCG(uint64(seed), 0xfb1)), n: len(m.tasks), size: min(300, 60+2*len(m.tasks))}
	for t := range m.tasks {
		if !p.fits(t) {
			return nil
		}
	}
	if !p.measure() {
		return nil
	}
	p.tails = p.longest()
	p.child, p.top = p.newPerson(), never
	p.waits, p.mirror = make([]int32, p.n), make([]int, p.n)
	p.best, p.length = start, int(start.value.cost/w.Makespan)/p.unit
	return p
}

// fits tells whether a task is one of a project.
func (p *project) fits(t int) bool {
	w := &p.m.tasks[t]
	if w.clock != nil || w.zone >= 0 || w.station >= 0 || w.fixed >= 0 || w.release > 0 || w.last < p.m.horizon {
		return false
	}
	for i := range w.uses {
		if u := &w.uses[i]; u.span != wholeSpan && (u.span != attendedSpan || w.unatt > 0) || p.m.resources[u.res].capacity > mostRoom {
			return false
		}
	}
	return true
}

// measure takes spans, links and demands over; false if time has too many units
// for a grid, or links go round in a circle.
func (p *project) measure() bool {
	p.takes = make([]int, p.n)
	total := 0
	for t := range p.takes {
		p.takes[t] = p.m.tasks[t].att + p.m.tasks[t].unatt
		p.unit = gcd(p.unit, p.takes[t])
		total += p.takes[t]
	}
	far := make([]int, len(p.m.links))
	for k, l := range p.m.links {
		far[k] = l.min + p.m.tasks[l.before].point(l.from, 0)
		p.unit = gcd(p.unit, far[k])
		total += far[k]
	}
	if p.unit == 0 || total/p.unit > mostGrid {
		return false
	}
	for t := range p.takes {
		p.takes[t] /= p.unit
	}
	p.there, p.back = newNetwork(p.n), newNetwork(p.n)
	for k, l := range p.m.links {
		span := far[k] / p.unit
		if span < p.takes[l.before] {
			return false // seen from the other end, tasks that overlap come in no order
		}
		p.there.add(l.before, l.after, span)
		p.back.add(l.after, l.before, span-p.takes[l.before]+p.takes[l.after])
	}
	p.room = newGrid(p.m, total/p.unit+1)
	return len(p.sorted(func(int32) int { return 0 })) == p.n
}

func gcd(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

func newNetwork(n int) network { return network{make([][]reach, n), make([][]reach, n)} }

func (w *network) add(before, after, span int) {
	w.after[before] = append(w.after[before], reach{int32(after), span})
	w.prior[after] = append(w.prior[after], reach{int32(before), span})
}

func newGrid(m *model, units int) grid {
	g := grid{words: (len(m.resources) + lanes - 1) / lanes, used: units}
	g.words = max(1, g.words)
	g.whole = make([]uint64, g.words)
	for r := range m.resources {
		g.whole[r/lanes] |= uint64(min(m.resources[r].capacity, mostRoom)) << (r % lanes * laneBits)
	}
	for i := range g.whole {
		g.whole[i] |= guards
	}
	g.needs = make([]uint64, g.words*len(m.tasks))
	for t := range m.tasks {
		for _, u := range m.tasks[t].uses {
			g.needs[t*g.words+u.res/lanes] += uint64(u.amount) << (u.res % lanes * laneBits)
		}
	}
	g.free = make([]uint64, units*g.words)
	g.clear()
	return g
}

// clear frees everything again.
func (g *grid) clear() {
	for i := 0; i < g.used; i++ {
		copy(g.free[i*g.words:], g.whole)
	}
	g.used = 0
}

// place takes the first units from 'at' on in which task t has room.
func (g *grid) place(t, at, takes int) int {
	if g.words == 1 {
		return g.placeOne(g.needs[t], at, takes)
	}
	needs := g.needs[t*g.words : (t+1)*g.words]
	for u := at + takes - 1; u >= at; u-- {
		for i, need := range needs {
			if (g.free[u*g.words+i]-need)&guards != guards {
				at, u = u+1, u+1+takes
				break
			}
		}
	}
	for u := at; u < at+takes; u++ {
		for i, need := range needs {
			g.free[u*g.words+i] -= need
		}
	}
	g.used = max(g.used, at+takes)
	return at
}

// placeOne is place where all resources lie in one word.
func (g *grid) placeOne(need uint64, at, takes int) int {
	free := g.free
	known := at // from here to the end of the span was looked at
	for u := at + takes - 1; u >= known; u-- {
		if (free[u]-need)&guards != guards {
			known = max(known, at+takes)
			at = u + 1
			u = at + takes
		}
	}
	for u := at; u < at+takes; u++ {
		free[u] -= need
	}
	g.used = max(g.used, at+takes)
	return at
}

// schedule places the tasks in the order of a list, one way, each as soon as it
// can, and returns the length. The list holds every task behind those it waits for.
func (p *project) schedule(w *network, list []int32, start []int) int {
	p.spent++
	p.room.clear()
	length := 0
	for _, t := range list {
		at := 0
		for _, b := range w.prior[t] {
			at = max(at, start[b.task]+b.far)
		}
		at = p.room.place(int(t), at, p.takes[t])
		start[t] = at
		length = max(length, at+p.takes[t])
	}
	return length
}

// sorted lists the tasks by a key, smaller first, each behind those it waits for.
func (p *project) sorted(key func(t int32) int) []int32 {
	list := make([]int32, 0, p.n)
	waits := make([]int, p.n)
	var open []int32
	for t := range waits {
		if waits[t] = len(p.there.prior[t]); waits[t] == 0 {
			open = append(open, int32(t))
		}
	}
	for len(open) > 0 {
		k := 0
		for i, t := range open {
			if key(t) < key(open[k]) {
				k = i
			}
		}
		t := open[k]
		open = slices.Delete(open, k, k+1)
		list = append(list, t)
		for _, a := range p.there.after[t] {
			if waits[a.task]--; waits[a.task] == 0 {
				open = append(open, a.task)
			}
		}
	}
	return list
}

// longest returns for each task the units from its start to the last end, along
// the links alone.
func (p *project) longest() []int {
	tails := make([]int, p.n)
	list := p.sorted(func(int32) int { return 0 })
	for i := p.n - 1; i >= 0; i-- {
		t := list[i]
		tails[t] = p.takes[t]
		for _, a := range p.there.after[t] {
			tails[t] = max(tails[t], a.far+tails[a.task])
		}
	}
	return tails
}

// justify pushes a schedule to the right and back to the left until that does
// not shorten it any more; list comes back in the order of starts.
func (p *project) justify(c *person) {
	c.length = p.schedule(&p.there, c.list, c.start)
	for {
		length := c.length
		p.turn(c.list, c.start, length)
		mirrored := p.schedule(&p.back, c.list, p.mirror)
		p.turn(c.list, p.mirror, mirrored)
		c.length = p.schedule(&p.there, c.list, c.start)
		p.byStart(c.list, c.start, c.length)
		if c.length >= length {
			break
		}
	}
	c.mark, c.worth = 14695981039346656037, c.length<<32
	for _, at := range c.start {
		c.mark = (c.mark ^ uint64(at)) * 1099511628211
		c.worth += at
	}
	p.keep(c)
}

// turn sorts a list for the other way, the last end first. Of two that end
// together the one behind comes first, so that each stays behind what it waits
// for as seen from there.
func (p *project) turn(list []int32, start []int, length int) {
	slices.Reverse(list)
	p.keys = p.keys[:0]
	for _, t := range list {
		p.keys = append(p.keys, length-start[t]-p.takes[t])
	}
	p.byKeys(list, length)
}

// byStart sorts a list by start; of two that start together the first stays first.
func (p *project) byStart(list []int32, start []int, length int) {
	p.keys = p.keys[:0]
	for _, t := range list {
		p.keys = append(p.keys, start[t])
	}
	p.byKeys(list, length)
}

// byKeys sorts a list by keys from 0 to a greatest one; of two with the same key the
// first stays first. O(tasks + greatest).
func (p *project) byKeys(list []int32, greatest int) {
	p.counts = append(p.counts[:0], make([]int32, greatest+2)...)
	for _, k := range p.keys {
		p.counts[k+1]++
	}
	for k := range greatest {
		p.counts[k+1] += p.counts[k]
	}
	p.was = append(p.was[:0], list...)
	for i, k := range p.keys {
		list[p.counts[k]] = p.was[i]
		p.counts[k]++
	}
}

func (p *project) newPerson() person {
	return person{list: make([]int32, p.n), start: make([]int, p.n), length: never}
}

func (c *person) copy(of *person) {
	copy(c.list, of.list)
	copy(c.start, of.start)
	c.length, c.worth, c.mark = of.length, of.worth, of.mark
}

// run breeds until the budget is used up.
func (p *project) run(b *budget) int64 {
	began := p.spent
	for !b.over(p.spent - began) {
		if len(p.people) < p.size {
			p.settle()
		} else {
			p.birth()
		}
		if p.quiet > patience*p.size {
			p.leave()
		}
	}
	return p.spent - began
}

// settle adds one to a population that is not full yet.
func (p *project) settle() {
	p.random()
	copy(p.child.list, p.list)
	p.justify(&p.child)
	if last := len(p.spare) - 1; last >= 0 {
		p.people, p.spare = append(p.people, p.spare[last]), p.spare[:last]
	} else {
		p.people = append(p.people, p.newPerson())
	}
	p.people[len(p.people)-1].copy(&p.child)
}

// leave ends a population that has become too much alike to give anything better.
// Its best are kept; when so many of its rank have left theirs that these fill a
// population, they are the next one.
func (p *project) leave() {
	slices.SortStableFunc(p.people, func(a, b person) int { return a.worth - b.worth })
	for len(p.kept) <= p.rank {
		p.kept = append(p.kept, nil)
	}
	best := p.size / families
	p.kept[p.rank] = append(p.kept[p.rank], p.people[:best]...)
	p.spare = append(p.spare, p.people[best:]...)
	p.people, p.quiet, p.top = p.people[:0], 0, never
	if len(p.kept[p.rank]) < families*best {
		p.rank = 0
		return
	}
	p.people, p.kept[p.rank] = append(p.people, p.kept[p.rank]...), p.kept[p.rank][:0]
	p.rank++
	for i := range p.people {
		p.top = min(p.top, p.people[i].length)
	}
}

// birth makes one of two of the population and takes the child in for the worst, if
// it is no worse and no twin. O(tasks log tasks), the schedules apart.
func (p *project) birth() {
	c := &p.child
	if p.rng.IntN(2) == 0 {
		p.blend(c, p.parent(), p.parent())
	} else {
		p.cross(c, p.parent(), p.parent())
	}
	p.mutate(c.list)
	p.quiet++
	p.justify(c)
	worst := 0
	for i := range p.people {
		if p.people[i].mark == c.mark {
			return
		}
		if p.people[i].worth > p.people[worst].worth {
			worst = i
		}
	}
	if c.worth <= p.people[worst].worth {
		p.people[worst].copy(c)
	}
}

// parent draws the better of two.
func (p *project) parent() *person {
	a, b := &p.people[p.rng.IntN(len(p.people))], &p.people[p.rng.IntN(len(p.people))]
	if b.worth < a.worth {
		return b
	}
	return a
}

// cross makes a list whose middle comes in the order of b and the rest in that
// of a. Every task stays behind those it waits for.
func (p *project) cross(c, a, b *person) {
	from := p.rng.IntN(p.n)
	to := from + p.rng.IntN(p.n-from)
	taken := p.waits
	clear(taken)
	c.list = append(c.list[:0], a.list[:from]...)
	for _, t := range c.list {
		taken[t] = 1
	}
	for _, t := range b.list {
		if len(c.list) == to {
			break
		}
		if taken[t] == 0 {
			taken[t] = 1
			c.list = append(c.list, t)
		}
	}
	for _, t := range a.list[from:] {
		if taken[t] == 0 {
			c.list = append(c.list, t)
		}
	}
}

// blend makes a list in which each task has its place in the list of a or, three
// times in ten, that in the list of b (Gonçalves, Resende, Mendes, "A biased
// random-key genetic algorithm with forward-backward improvement for the resource
// constrained project scheduling problem", Journal of Heuristics 17, 2011).
func (p *project) blend(c, a, b *person) {
	at := p.mirror
	for i, t := range a.list {
		at[t] = 2 * i
	}
	for i, t := range b.list {
		if p.rng.IntN(10) < 3 {
			at[t] = 2*i + 1
		}
	}
	p.keys = p.keys[:0]
	for t, k := range at {
		p.keys = append(p.keys, k<<16|t)
	}
	slices.Sort(p.keys)
	clear(p.waits)
	c.list = c.list[:0]
	for _, k := range p.keys {
		p.pull(c, int32(k&0xffff))
	}
}

// pull adds a task to a list, behind those it waits for.
func (p *project) pull(c *person, t int32) {
	if p.waits[t] != 0 {
		return
	}
	p.waits[t] = 1
	for _, b := range p.there.prior[t] {
		p.pull(c, b.task)
	}
	c.list = append(c.list, t)
}

// mutate swaps one in forty tasks with the next, and moves one to anywhere, where no
// link forbids it.
func (p *project) mutate(list []int32) {
	for i := 0; i+1 < len(list); i++ {
		if p.rng.IntN(40) == 0 && !p.linked(list[i], list[i+1]) {
			list[i], list[i+1] = list[i+1], list[i]
		}
	}
	i := p.rng.IntN(len(list))
	t, lo, hi := list[i], i, i
	for lo > 0 && !p.linked(list[lo-1], t) {
		lo--
	}
	for hi+1 < len(list) && !p.linked(t, list[hi+1]) {
		hi++
	}
	j := lo + p.rng.IntN(hi-lo+1)
	if i < j {
		copy(list[i:j], list[i+1:j+1])
	} else {
		copy(list[j+1:i+1], list[j:i])
	}
	list[j] = t
}

// linked tells whether a link puts task b behind task a.
func (p *project) linked(a, b int32) bool {
	return slices.ContainsFunc(p.there.after[a], func(r reach) bool { return r.task == b })
}

// random makes a list in which of a few tasks that can come next the one with
// the longest tail mostly does.
func (p *project) random() {
	p.list = p.list[:0]
	p.open = p.open[:0]
	for t := range p.waits {
		if p.waits[t] = int32(len(p.there.prior[t])); p.waits[t] == 0 {
			p.open = append(p.open, int32(t))
		}
	}
	for len(p.open) > 0 {
		k := p.rng.IntN(len(p.open))
		for range 2 {
			if i := p.rng.IntN(len(p.open)); p.tails[p.open[i]] > p.tails[p.open[k]] {
				k = i
			}
		}
		t := p.open[k]
		p.open[k] = p.open[len(p.open)-1]
		p.open = p.open[:len(p.open)-1]
		p.list = append(p.list, t)
		for _, a := range p.there.after[t] {
			if p.waits[a.task]--; p.waits[a.task] == 0 {
				p.open = append(p.open, a.task)
			}
		}
	}
}

// keep notes a schedule if it is the best of the population, or of all.
func (p *project) keep(c *person) {
	if c.length < p.top {
		p.top, p.quiet = c.length, 0
	}
	if c.length >= p.length {
		return
	}
	p.length = c.length
	a := &answer{start: make([]int, p.n), setup: make([]int, p.n), from: make([]int, p.n), seq: make([][]int32, len(p.m.resources))}
	end := make([]int, p.n)
	for t := range end {
		a.start[t] = c.start[t] * p.unit
		end[t] = a.start[t] + p.takes[t]*p.unit
	}
	a.value = p.m.value(a.start, end, a.setup, make([]int, len(p.m.jobs)))
	p.best = a
}

func (p *project) chunk() int64 { return 4096 }

func (p *project) found() (*answer, int64, bool) { return p.best, 0, false }

// meet takes over a better plan of another search.
func (p *project) meet(best *answer, _ int64) {
	if best == nil || best.value.cost >= p.best.value.cost {
		return
	}
	p.best, p.length = best, int(best.value.cost/p.m.weights.Makespan)/p.unit
}
