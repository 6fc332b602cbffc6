package planner

import (
	"cmp"
	"context"
	"maps"
	"math"
	"math/rand/v2"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"faceside/models"
	"faceside/models/behind"
	"faceside/models/sequence"
)

// weeks is an order of work to be played with times drawn from a shop's pace. The
// player keeps hours, hands, stations, setups, clamps, air and least times between
// steps; what is drawn anew in each play is attended time, trouble, how long glue and
// finish need (promise_cure.go), and who is away without notice (promise_away.go). Hours
// and days off are as planned. A greatest time between two steps is overrun where a play
// comes to that, a pin where what it waits for is late; parts that are spoiled are made
// again where the step stands. The book's times of a step hold whoever does it.
type weeks struct {
	problem     *sequence.Problem
	plan        []sequence.Start
	pace        *pace
	chances     []chance
	cures       []cure
	crew        []presence
	kinds       []string
	commissions []models.ID
	materials   []string // glues and finishes
	around      float64  // minutes around the clock to one open minute
	longest     int      // open minutes in one piece
}

// chance is a task whose attended time is drawn.
type chance struct {
	task             int
	kind, commission int
	estimated        float64 // minutes
	worked           float64 // of them, minutes gone; it takes more than these
	held             bool    // in hand: it has its place
	cut              bool
}

// restEvery is for how long weeks are played before a pause, where there are any.
const restEvery = 20 * time.Millisecond

// weeks readies the order of the plan for playing.
func (q *posed) weeks(p *pace) *weeks {
	w := &weeks{problem: q.playable(), pace: p, longest: q.line.longest()}
	kinds, commissions := map[string]int{}, map[models.ID]int{}
	for i := range w.problem.Tasks {
		id, ok := stepOf(w.problem.Tasks[i].ID)
		if !ok {
			continue
		}
		it := q.byStep[id]
		if it.left == 0 {
			continue
		}
		c := chance{task: i, estimated: float64(it.Attended), held: it.stand == held, cut: it.cut,
			kind: number(kinds, &w.kinds, it.Kind), commission: number(commissions, &w.commissions, it.CommissionID)}
		if it.stand == held || it.stand == begun {
			c.worked = float64(q.worked(it.Step))
		}
		w.chances = append(w.chances, c)
	}
	w.findCures(q)
	w.findCrew(q)
	w.plan = q.begins()
	w.around = 3 // of a week, should it be shorter than that
	if week := q.line.worked(7 * 24 * 60); week > 0 {
		w.around = 7 * 24 * 60 / float64(week)
	}
	return w
}

// number is the place of a key in a list that holds each once.
func number[K cmp.Ordered](places map[K]int, list *[]K, key K) int {
	i, known := places[key]
	if !known {
		i = len(*list)
		places[key] = i
		*list = append(*list, key)
	}
	return i
}

// playable is the problem with hours enough for all to take much longer. A pin is
// where its step may begin, and the steps of a run in hand follow each other.
func (q *posed) playable() *sequence.Problem {
	p := *q.Problem
	line := q.cal.timeline(q.line.origin, 3*(q.minutesToPins()+q.minutesOfWork()), 2*q.daysOfRest())
	p.Calendars = maps.Clone(p.Calendars)
	p.Calendars[shopName] = line.windows
	p.Horizon = line.windows[len(line.windows)-1][1] + q.longestRest() + 1
	p.Tasks = slices.Clone(p.Tasks)
	for i := range p.Tasks {
		t := &p.Tasks[i]
		id, ok := stepOf(t.ID)
		if !ok {
			continue
		}
		switch it := q.byStep[id]; {
		case it.pinned:
			t.Start, t.Release = nil, it.start
		case it.follows:
			t.Start, t.Release = nil, 0
		}
	}
	return &p
}

// begins is when the plan has each step begin, its setup included.
func (q *posed) begins() []sequence.Start {
	var all []sequence.Start
	for _, it := range q.items {
		if it.fixed() {
			all = append(all, sequence.Start{ID: stepName(it.ID), Start: it.start})
		} else if p := q.snap.Planned(it.ID); p != nil {
			all = append(all, sequence.Start{ID: stepName(it.ID), Start: max(0, q.line.minute(p.SetupStart))})
		}
	}
	return all
}

// played is how so many weeks went.
type played struct {
	ends  [][]int32 // by job of the problem: when it was complete in each, the earliest first
	moved [][]int32 // by task and job: in how many weeks an hour more on it would have moved that job's promise
}

// play plays so many weeks. The draws of a play hang on the seed and its number alone,
// so that the answer does not hang on the cores.
func (w *weeks) play(ctx context.Context, o playing) (*played, error) {
	all := &played{ends: make([][]int32, len(w.problem.Jobs)), moved: make([][]int32, len(w.problem.Tasks))}
	for j := range all.ends {
		all.ends[j] = make([]int32, o.plays)
	}
	for t := range all.moved {
		all.moved[t] = make([]int32, len(w.problem.Jobs))
	}
	first, err := w.player(o)
	if err != nil {
		return nil, err
	}
	var cores sync.WaitGroup
	for core := range max(1, o.cores) {
		player := first
		if core > 0 {
			player = first.Beside()
		}
		cores.Go(func() {
			behind.Do(func() { w.playEach(ctx, o, player, core, all) })
		})
	}
	cores.Wait()
	for j := range all.ends {
		slices.Sort(all.ends[j])
	}
	return all, ctx.Err()
}

// playEach plays the weeks of one core, every so many of all.
func (w *weeks) playEach(ctx context.Context, o playing, player *sequence.Player, core int, all *played) {
	d, jobs := w.dealer(o.seed), make([]int, len(w.problem.Tasks))
	rested := time.Now()
	for k := core; k < o.plays && ctx.Err() == nil; k += max(1, o.cores) {
		d.play(player, k)
		for j := range all.ends {
			all.ends[j][k] = beyond
			if end, ok := player.JobEnd(j); ok {
				all.ends[j][k] = int32(min(end, beyond))
			}
		}
		player.Delayed(hour, jobs)
		for t, j := range jobs {
			if j >= 0 {
				atomic.AddInt32(&all.moved[t][j], 1)
			}
		}
		if o.pause != nil && time.Since(rested) > restEvery {
			o.pause(ctx)
			rested = time.Now()
		}
	}
}

// aheads are by how many working minutes a shop might let a step go before its turn,
// presses how much it might heed what presses, once times turn out otherwise than
// planned.
var (
	aheads  = []int{0, 60, 240, 480, never}
	presses = []float64{0, 0.5, 1}
)

const (
	mostPressing = 240 // of the aheads
	mostTryouts  = 40
)

// tryouts is how many weeks are played in each way to see what is best for a shop: where
// fewer weeks are played afterwards fewer will do.
func (o playing) tryouts() int { return min(max(o.plays/10, 10), mostTryouts) }

// player plays the plan in the way that keeps its promises best: whether it is better
// to keep to the plan, to take what can be done or what presses most hangs on the work
// and on how much its times spread, and the shop finds out by planning anew.
func (w *weeks) player(o playing) (*sequence.Player, error) {
	planned, err := sequence.NewPlayer(w.problem, w.plan)
	if err != nil {
		return nil, err
	}
	var best *sequence.Player
	within, least := 0, math.Inf(1)
	for _, part := range presses {
		player := planned
		if part > 0 {
			player = planned.Pressing(part)
		}
		for _, ahead := range aheads {
			if player.KeepWithin(ahead); part > 0 && ahead > mostPressing {
				break // what is taken long before its turn is taken as it comes
			}
			if cost := w.tryOut(player, o); best == nil || cost < least {
				best, within, least = player, ahead, cost
			}
		}
	}
	best.KeepWithin(within)
	return best, nil
}

// tryOut is what some weeks come to as a player plays them, by the problem's objective.
func (w *weeks) tryOut(player *sequence.Player, o playing) float64 {
	d, sum := w.dealer(o.seed), 0.0
	for k := range o.tryouts() {
		d.play(player, -1-k)
		if cost, ok := player.Cost(); ok {
			sum += float64(cost)
		}
	}
	return sum
}

// dealer draws how the steps turn out, without allocating anything.
type dealer struct {
	*weeks
	seed        uint64
	source      *rand.PCG
	rng         *rand.Rand
	turns       []sequence.Turn
	kinds       []normal // of this play, of one step beside its commission
	commissions []float64
	slow        []float64 // of this play, by material: from 0, as planned, to 1
	gone        []sequence.Gone
}

func (w *weeks) dealer(seed int64) *dealer {
	d := &dealer{weeks: w, seed: uint64(seed), source: rand.NewPCG(0, 0), turns: make([]sequence.Turn, len(w.problem.Tasks)),
		kinds: make([]normal, len(w.kinds)), commissions: make([]float64, len(w.commissions)), slow: make([]float64, len(w.materials))}
	d.rng = rand.New(d.source)
	for i := range w.problem.Tasks {
		d.turns[i] = sequence.Turn{Attended: w.problem.Tasks[i].Attended, Unattended: w.problem.Tasks[i].Unattended}
	}
	return d
}

// play plays the week of a number.
func (d *dealer) play(player *sequence.Player, k int) {
	turns := d.deal(k)
	player.Without(d.gone)
	player.Play(turns)
}

// deal draws one play: first what the steps have in common, then each.
func (d *dealer) deal(k int) []sequence.Turn {
	d.source.Seed(d.seed, uint64(k))
	shop := d.pace.shop.draw(d.rng)
	for i, kind := range d.weeks.kinds {
		d.kinds[i] = d.pace.ofKind(d.rng, shop, kind)
	}
	for i, id := range d.weeks.commissions {
		d.commissions[i] = d.pace.ofCommission(id).draw(d.rng)
	}
	for i := range d.chances {
		c := &d.chances[i]
		d.turns[c.task].Attended, d.turns[c.task].Wait = d.turn(c)
	}
	for i := range d.slow {
		d.slow[i] = min(d.rng.Float64(), d.rng.Float64()) // near what is planned more often than not
	}
	for i := range d.cures {
		c := &d.cures[i]
		d.turns[c.task].Unattended = c.takes(d.slow[c.material])
	}
	d.dealAway()
	return d.turns
}

// ofKind draws the mean and the spread of a kind.
func (p *pace) ofKind(rng *rand.Rand, shop float64, kind string) normal {
	k, known := p.kinds[kind]
	if !known {
		return normal{shop + p.kind.draw(rng), p.spread * math.Exp(rng.NormFloat64()/math.Sqrt(2*p.freedom))}
	}
	prior := 1 / (p.kind.sd * p.kind.sd)
	mean := (shop*prior + k.mean*k.weight) / (prior + k.weight)
	return normal{mean + rng.NormFloat64()/math.Sqrt(prior+k.weight), k.spread * math.Exp(rng.NormFloat64()/math.Sqrt(2*k.freedom))}
}

func (p *pace) ofCommission(id models.ID) normal {
	if c, known := p.commissions[id]; known {
		return c
	}
	return p.commission
}

// turn draws the attended minutes of a step and those for which it stands still.
func (d *dealer) turn(c *chance) (attended, wait int) {
	n := d.kinds[c.kind]
	n.mean += d.commissions[c.commission] + math.Log(c.estimated)
	minutes := math.Exp(n.drawAbove(d.rng, c.worked)) - c.worked
	still, spoiled := d.rng.Float64(), d.rng.Float64()
	if !c.held && still < d.pace.stop {
		wait = d.pace.drawStop(d.rng)
	}
	if spoiled < d.pace.spoil {
		if again := d.pace.again * d.rng.ExpFloat64(); c.cut {
			minutes += again
		} else if !c.held {
			wait += int(again * d.around)
		}
	}
	attended = max(1, int(math.Round(min(minutes, 1e6))))
	if !c.cut {
		attended = min(attended, d.longest) // more does not fit in one piece: the rest is done after hours
	}
	return attended, wait
}

// drawStop draws for how long a step stands still: as long as one of the book, or as is
// usual on average, which most are shorter than and some much longer.
func (p *pace) drawStop(rng *rand.Rand) int {
	if k := rng.IntN(len(p.stops) + 1); k > 0 {
		return p.stops[k-1]
	}
	return int(priorStopMin * rng.ExpFloat64())
}

// drawAbove draws the logarithm of a time of which so many minutes are gone.
func (n normal) drawAbove(rng *rand.Rand, gone float64) float64 {
	if gone <= 0 {
		return n.draw(rng)
	}
	below := 0.5 * math.Erfc((n.mean-math.Log(gone))/n.sd/math.Sqrt2)
	// Far above what is usual nothing is known: it is over in a tenth of what is gone.
	if below > 0.999 {
		return math.Log(gone * 1.1)
	}
	u := below + (1-below)*rng.Float64()
	return n.mean + n.sd*math.Sqrt2*math.Erfinv(2*u-1)
}
