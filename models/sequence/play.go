package sequence

import (
	"fmt"
	"slices"
)

// Player plays an order of work through a shop as it may turn out: other times
// in each play, the same hours, hands, stations, setups, clamps, zones and lags.
// Nobody in a play knows what is to come. Whenever somebody could begin something,
// the first task of the plan that can begin then is begun; what is begun stays.
// A task begins with its setup, and no setup begins before it was decided on. How far
// a task may go before its turn is the player's to say (KeepWithin): what is begun too
// soon can be in the way of what the plan meant to do first.
//
// Times that turn out otherwise make any promise between tasks break: greatest lags,
// deadlines and given starts are kept where the play comes to it, and overrun where
// it does not. A task with a given start is put there before all others, or
// behind what it runs into. All other rules of the contract hold in every play.
//
// A play allocates nothing, and takes about as long as one schedule of the search.
type Player struct {
	s      *schedule
	m      *model // its own copy of the tasks, whose times it sets
	order  []int  // task by rank
	rank   []int
	given  []int // tasks with a given start, by it
	starts []int // their starts, by task
	after  [][]int32
	before []int // how many tasks each waits for
	common int   // the resource most tasks need from their beginning on; -1: none
	needs  []bool
	due    []int // by rank: how many working minutes in the plan has it begin
	ahead  int   // by how many of them it may be begun sooner

	now      int
	front    int   // the rank of the first task that has not begun
	waits    []int // left of before
	pause    []int // left of Turn.Wait
	stood    []int // when each was let begin and stood still instead, -1: never
	stoodFor []int // and for how long then
	begins   []int // when it was last found that each could begin
	coming   pile  // tasks that wait for a later minute, by begin and rank
	at       pile  // tasks that may begin now, by rank
	manned   pile  // of these, tasks that need the common resource
	placed   int
	freeMin  int // the common resource is used up, or closed, until then

	gone []Gone

	delays *delays // nil until it is asked for
}

// Gone is a stretch in which so many of a resource, by its place in the problem, are not
// there.
type Gone struct{ Resource, Amount, From, To int }

// Turn is how a task turns out. A part that a task does not have stays away, one
// that it has takes a minute at least.
type Turn struct {
	Attended, Unattended int
	Wait                 int // minutes around the clock between when it could begin and when it may
}

// NewPlayer makes a player of a valid problem. The plan says when each task was to
// begin, its setup included; those that it leaves out come last, in order of the
// problem.
func NewPlayer(p *Problem, plan []Start) (*Player, error) {
	if err := p.Validate(); err != nil {
		return nil, err
	}
	m := compile(p, nil)
	n := len(m.tasks)
	pl := &Player{m: m, given: m.given(), rank: make([]int, n), starts: make([]int, n), after: make([][]int32, n), before: make([]int, n), common: -1, needs: make([]bool, n)}
	index := make(map[string]int, n)
	for t := range m.tasks {
		index[m.tasks[t].id] = t
	}
	begins := make([]int, n)
	for t := range begins {
		begins[t] = never
	}
	for _, s := range plan {
		t, ok := index[s.ID]
		if !ok {
			return nil, fmt.Errorf("the plan names %q, which is no task or is named twice", s.ID)
		}
		delete(index, s.ID)
		begins[t] = s.Start
	}
	pl.order = m.sortedBy(func(t int) [2]int { return [2]int{begins[t], t} })
	for k, t := range pl.order {
		pl.rank[t] = k
	}
	pl.linkUp()
	for t := range m.tasks {
		pl.starts[t] = m.tasks[t].fixed
	}
	pl.findCommon()
	pl.findTurns(begins)
	pl.KeepWithin(never)
	pl.rig()
	return pl, nil
}

// Beside returns a player of the same order that may play at the same time.
func (pl *Player) Beside() *Player {
	other, m := *pl, *pl.m
	m.tasks = slices.Clone(m.tasks)
	other.m, other.delays = &m, nil
	other.rig()
	return &other
}

// rig makes what a player writes to.
func (pl *Player) rig() {
	n := len(pl.m.tasks)
	pl.s = newSchedule(pl.m)
	pl.waits, pl.pause, pl.begins, pl.stood, pl.stoodFor = make([]int, n), make([]int, n), make([]int, n), make([]int, n), make([]int, n)
	for _, p := range []*pile{&pl.coming, &pl.at, &pl.manned} {
		*p = pile{items: make([]pileItem, 0, n)}
	}
}

// linkUp has each task wait for the earlier ends of its links, but for those that
// close a cycle. Where negative least lags close one, as greatest lags do that are said
// the other way round, these go first.
func (pl *Player) linkUp() {
	forward, all := pl.m.cycles(0), pl.m.cycles(-mostMinutes)
	for i := range pl.m.links {
		l := &pl.m.links[i]
		group := forward
		if l.min < 0 {
			group = all
		}
		if group[l.before] != group[l.after] && !slices.Contains(pl.after[l.before], int32(l.after)) {
			pl.after[l.before] = append(pl.after[l.before], int32(l.after))
			pl.before[l.after]++
		}
	}
}

// findCommon finds what most tasks need one of from the minute they begin, and
// which tasks do: while none of it is free, none of them is looked at.
func (pl *Player) findCommon() {
	count := make([]int, len(pl.m.resources))
	for r := range count {
		for t := range pl.m.tasks {
			if pl.needsFrom(t, r) {
				count[r]++
			}
		}
		if pl.common < 0 || count[r] > count[pl.common] {
			pl.common = r
		}
	}
	for t := range pl.needs {
		pl.needs[t] = pl.common >= 0 && pl.needsFrom(t, pl.common)
	}
}

// findTurns counts in the hours of the common resource when each task has its turn.
func (pl *Player) findTurns(begins []int) {
	pl.due = make([]int, len(begins))
	for k, t := range pl.order {
		if begins[t] < never {
			pl.due[k] = pl.clock().worked(begins[t])
		} else if k > 0 {
			pl.due[k] = pl.due[k-1]
		}
	}
}

// KeepWithin says how many working minutes before its turn a task may begin: as the
// plan stands, or beside the first task that has not begun. 0 keeps to the plan as
// long as it lasts.
func (pl *Player) KeepWithin(ahead int) { pl.ahead = ahead }

// Pressing returns a player of the same plan that takes what presses before what does
// not, as a shop comes to when times turn out otherwise: in the order of the plan, but
// that each task falls back by such a part of the working minutes for which it could
// wait before a job ended later than is due, and later than with all as estimated. The
// links behind it, their rests and the hours are looked at, not what others want.
func (pl *Player) Pressing(part float64) *Player {
	other := pl.Beside()
	turns := make([]Turn, len(pl.m.tasks))
	for t := range turns {
		turns[t] = Turn{Attended: pl.m.tasks[t].att, Unattended: pl.m.tasks[t].unatt}
	}
	other.KeepWithin(0)
	other.Play(turns)
	other.KeepWithin(never)
	d := other.newDelays()
	d.take(other, false)
	d.workBack(other)
	clock, key := pl.clock(), make([]int, len(turns))
	for t := range key {
		key[t] = never
		if setup, start := other.started(t); start >= 0 {
			key[t] = clock.worked(setup)
			if _, latest, _ := d.begins(other, t); latest < never {
				key[t] += int(part * float64(clock.worked(latest)-clock.worked(start)))
			} else {
				key[t] += int(part * float64(clock.worked(pl.m.horizon)))
			}
		}
	}
	other.order = pl.m.sortedBy(func(t int) [2]int { return [2]int{key[t], pl.rank[t]} })
	other.rank, other.due = make([]int, len(other.order)), make([]int, len(other.order))
	for k, t := range other.order {
		other.rank[t], other.due[k] = k, key[t]
	}
	return other
}

// clock counts the hours of the common resource.
func (pl *Player) clock() *workClock {
	if pl.common < 0 {
		return nil
	}
	return pl.m.resources[pl.common].clock
}

// turn returns from when on a task may begin, as far as its turn goes.
func (pl *Player) turn(rank int) int {
	for pl.front < len(pl.order)-1 && pl.s.start[pl.order[pl.front]] >= 0 {
		pl.front++
	}
	from := pl.due[rank] - pl.ahead
	if from <= pl.due[pl.front] || from <= pl.clock().worked(pl.now) {
		return pl.now
	}
	return pl.clock().begin(from-1) + 1
}

// needsFrom tells whether a task needs a resource from its begin on, and so only
// begins in its hours.
func (pl *Player) needsFrom(t, r int) bool {
	w := &pl.m.tasks[t]
	if w.att == 0 || w.station >= 0 && w.station != r && pl.m.resources[w.station].setups.hands != r {
		return false
	}
	return slices.ContainsFunc(w.uses, func(u hold) bool { return u.res == r && u.span != unattendedSpan })
}

// Without has the plays from now on do without what is gone. It stays as it is until the
// last of them. What has a given start is not disturbed by it; a task is not begun where
// its hours would run into it, as if that much of it were known beforehand.
func (pl *Player) Without(gone []Gone) { pl.gone = gone }

// Play plays the order once, with a turn for each task of the problem, and tells
// whether every task found a place within the calendars.
func (pl *Player) Play(turns []Turn) bool {
	pl.begin(turns)
	for t := range pl.m.tasks {
		if pl.waits[t] == 0 {
			pl.ready(t)
		}
	}
	pl.putGiven()
	for _, g := range pl.gone {
		pl.s.use[g.Resource].add(g.From, g.To, g.Amount)
	}
	for pl.next() {
	}
	return pl.placed == len(pl.m.tasks)
}

// started returns when a task's setup began in the last play, and when itself did, by
// its place in the problem; both -1 where it found no place.
func (pl *Player) started(t int) (setup, start int) {
	w := &pl.m.tasks[t]
	if start = pl.s.start[t]; start < 0 || pl.s.setup[t] == 0 {
		return start, start
	}
	setup, _ = w.setupStart(pl.m.resources[w.station].setups.clock, start, pl.s.setup[t])
	return setup, start
}

// JobEnd returns when the last task of a job ended in the last play, by its place
// in the problem. It is false where one of them found no place.
func (pl *Player) JobEnd(j int) (int, bool) {
	last := 0
	for _, t := range pl.m.jobs[j].tasks {
		if pl.s.start[t] < 0 {
			return 0, false
		}
		last = max(last, pl.s.end[t])
	}
	return last, true
}

// Cost is what the jobs come to in the last play by the problem's objective, their
// tardiness and flow; false where a task found no place.
func (pl *Player) Cost() (int64, bool) {
	sum := int64(0)
	for j := range pl.m.jobs {
		end, ok := pl.JobEnd(j)
		if !ok {
			return 0, false
		}
		sum += pl.m.jobCost(&pl.m.jobs[j], end)
	}
	return sum, true
}

func (pl *Player) begin(turns []Turn) {
	pl.s.reset()
	pl.now, pl.front, pl.placed, pl.freeMin = 0, 0, 0, 0
	pl.coming.items, pl.at.items, pl.manned.items = pl.coming.items[:0], pl.at.items[:0], pl.manned.items[:0]
	copy(pl.waits, pl.before)
	for t := range pl.m.tasks {
		w := &pl.m.tasks[t]
		w.fixed = pl.starts[t]
		if w.att > 0 {
			w.att = max(1, turns[t].Attended)
		}
		if w.unatt > 0 {
			w.unatt = max(1, turns[t].Unattended)
		}
		pl.pause[t], pl.begins[t], pl.stood[t] = turns[t].Wait, -1, -1
	}
}

// putGiven puts the tasks with a given start there, or behind what was put before.
func (pl *Player) putGiven() {
	for _, t := range pl.given {
		w := &pl.m.tasks[t]
		at := pl.s.seek(t, w.fixed, w.fixed, false)
		if at != w.fixed {
			from := w.fixed
			w.fixed = -1
			at = pl.s.seek(t, from, never-1, false)
		}
		if at < never {
			pl.put(t, at)
		}
	}
}

// put places a task and has those that waited for it alone be ready. What waits
// for a task with a given start may have one too.
func (pl *Player) put(t, at int) {
	pl.s.put(t, at)
	pl.placed++
	for _, a := range pl.after[t] {
		if pl.waits[a]--; pl.waits[a] == 0 {
			pl.ready(int(a))
		}
	}
}

// ready has a task begin as soon as it can, from now on, unless it has a start.
func (pl *Player) ready(t int) {
	if pl.starts[t] < 0 {
		pl.coming.push(pl.now, pl.rank[t])
	}
}

// next decides once, or lets time go on; false when nothing is left to decide.
func (pl *Player) next() bool {
	for len(pl.coming.items) > 0 && pl.coming.items[0].key <= pl.now {
		if k := pl.coming.pop().rank; pl.needs[pl.order[k]] {
			pl.manned.push(0, k)
		} else {
			pl.at.push(0, k)
		}
	}
	manned, at := never, never // when the first of them may begin
	if len(pl.manned.items) > 0 {
		manned = max(pl.commonFree(), pl.turn(pl.manned.items[0].rank))
	}
	if len(pl.at.items) > 0 {
		at = pl.turn(pl.at.items[0].rank)
	}
	switch {
	case at <= pl.now && (manned > pl.now || pl.at.items[0].rank < pl.manned.items[0].rank):
		pl.try(pl.order[pl.at.pop().rank])
	case manned <= pl.now:
		pl.try(pl.order[pl.manned.pop().rank])
	default:
		pl.now = min(manned, at)
		if len(pl.coming.items) > 0 {
			pl.now = min(pl.now, pl.coming.items[0].key)
		}
	}
	return pl.now < never
}

// try begins a task now, if it can, or says when to look at it again.
func (pl *Player) try(t int) {
	at, begin := pl.first(t)
	pl.begins[t] = begin
	switch {
	case begin > pl.now: // never, too: until its station is in another state
		pl.coming.push(begin, pl.rank[t])
	case pl.pause[t] > 0:
		pl.coming.push(pl.now+pl.pause[t], pl.rank[t])
		pl.stood[t], pl.stoodFor[t], pl.pause[t] = pl.now, pl.pause[t], 0
	default:
		pl.put(t, at)
		pl.stir(pl.m.tasks[t].station)
	}
}

// stir has those that wait for a station be looked at again: its new state may
// spare them a setup for which there was no room.
func (pl *Player) stir(station int) {
	if station < 0 {
		return
	}
	for i, c := range pl.coming.items {
		t := pl.order[c.rank]
		if pl.m.tasks[t].station == station && pl.begins[t] == c.key {
			pl.coming.raise(i, pl.now)
		}
	}
}

// first returns the first start of a task whose setup does not begin before now,
// and when it begins with that.
func (pl *Player) first(t int) (at, begin int) {
	s, w := pl.s, &pl.m.tasks[t]
	s.now = pl.now
	if at = s.seek(t, max(pl.now, pl.lowest(t)), never-1, true); at >= never {
		return never, never
	}
	begin = at
	if w.station >= 0 {
		minutes, _ := s.ahead(t, s.position(w.station, at))
		begin, _ = w.setupStart(pl.m.resources[w.station].setups.clock, at, minutes)
	}
	return at, begin
}

// lowest is the earliest start by the links from placed tasks.
func (pl *Player) lowest(t int) int {
	w := &pl.m.tasks[t]
	lo := w.release
	for _, k := range w.in {
		if l := &pl.m.links[k]; l.before != t && pl.s.start[l.before] >= 0 {
			lo = max(lo, pl.s.pointOf(l)+l.min)
		}
	}
	return lo
}

// commonFree returns the first minute from now on in which the common resource is
// there and one of it is free.
func (pl *Player) commonFree() int {
	if pl.freeMin > pl.now {
		return pl.freeMin
	}
	r := &pl.m.resources[pl.common]
	p := &pl.s.use[pl.common]
	at := r.clock.nextOpen(pl.now)
	for at < never {
		i := p.step(at)
		if int(p.steps[i].used) < r.capacity {
			break
		}
		if i+1 == len(p.steps) {
			at = never
			break
		}
		at = r.clock.nextOpen(int(p.steps[i+1].at))
	}
	pl.freeMin = at
	return at
}

// pile is a heap of tasks by key and rank.
type pile struct{ items []pileItem }

type pileItem struct{ key, rank int }

func (a pileItem) before(b pileItem) bool { return a.key < b.key || a.key == b.key && a.rank < b.rank }

func (p *pile) push(key, rank int) {
	p.items = append(p.items, pileItem{key, rank})
	p.up(len(p.items) - 1)
}

// raise moves an item forward to a smaller key.
func (p *pile) raise(i, key int) {
	p.items[i].key = key
	p.up(i)
}

func (p *pile) up(i int) {
	for i > 0 {
		parent := (i - 1) / 2
		if !p.items[i].before(p.items[parent]) {
			return
		}
		p.items[i], p.items[parent] = p.items[parent], p.items[i]
		i = parent
	}
}

func (p *pile) pop() pileItem {
	top, last := p.items[0], len(p.items)-1
	p.items[0] = p.items[last]
	p.items = p.items[:last]
	for i := 0; ; {
		child := 2*i + 1
		if child >= last {
			return top
		}
		if child+1 < last && p.items[child+1].before(p.items[child]) {
			child++
		}
		if !p.items[child].before(p.items[i]) {
			return top
		}
		p.items[i], p.items[child] = p.items[child], p.items[i]
		i = child
	}
}
