package stock

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
)

// Search is how hard to search. The same problem, seed and tries give the same plan.
type Search struct {
	Tries int    // layouts of all boards to look at, at least 1; 0 for UsualTries
	Seed  uint64 // of the random numbers
}

// UsualTries is enough for the boards of a few commissions.
const UsualTries = 6000

// Solve plans the cuts: as many pieces as the boards give (by area), from boards of as
// little area as it finds, with offcuts worth keeping. Pieces are laid one by one in
// the best of the spaces left, each split edge to edge; the order of pieces and boards
// and the direction of each split are bettered by annealing. A problem that cannot be
// is refused; one whose boards do not suffice gives a plan that says what is short.
// Once ctx is done it returns the best plan so far.
func Solve(ctx context.Context, p Problem, s Search) (Plan, error) {
	if err := p.Check(); err != nil {
		return Plan{}, fmt.Errorf("plan the cuts of %s: %w", p.Stock, err)
	}
	if s.Tries < 0 {
		return Plan{}, fmt.Errorf("the tries, %d, must be 1 or more, or 0 for the usual number", s.Tries)
	}
	if s.Tries == 0 {
		s.Tries = UsualTries
	}
	b := newBench(&p)
	if len(b.units) == 0 {
		return Plan{}, nil
	}
	run := &annealer{bench: b, rng: rand.New(rand.NewPCG(s.Seed, 0x5AB1E)), tries: s.Tries}
	run.search(ctx)
	plan := b.plan(&run.best)
	plan.Tried = run.tried
	plan.Bound = LowerBound(p.without(plan.Short))
	return plan, nil
}

// worth says how good a layout is; the less the better, the first figure first.
type worth struct {
	missing float64 // value of the units that are not placed
	boards  float64 // area of the boards begun
	offcuts float64 // worth of the offcuts, negated
}

func (w worth) better(o worth) bool {
	const little = 1e-9
	switch {
	case math.Abs(w.missing-o.missing) > little:
		return w.missing < o.missing
	case math.Abs(w.boards-o.boards) > little:
		return w.boards < o.boards
	}
	return w.offcuts < o.offcuts-little
}

// annealer betters genes by small random changes; worse layouts are taken less and
// less often.
type annealer struct {
	bench  *bench
	rng    *rand.Rand
	tries  int
	tried  int
	enough float64 // area of boards that no plan can do without
	best   genes
	worth  worth
}

func (a *annealer) search(ctx context.Context) {
	a.enough = LowerBound(*a.bench.p).Boards
	a.worth = worth{missing: math.Inf(1)}
	starts := a.starts()
	for i := range starts {
		if a.tried >= a.tries || a.tried > 0 && ctx.Err() != nil {
			return
		}
		a.try(&starts[i])
	}
	// Two walks: from the best start, and from the best plan so far.
	for walk := range 2 {
		a.walk(ctx, a.tries*(walk+1)/2)
	}
}

// try lays out genes, keeps them if they are the best, and returns what the walk goes by.
func (a *annealer) try(g *genes) float64 {
	a.bench.lay(g)
	a.tried++
	w, guide := a.bench.worth()
	if w.better(a.worth) {
		a.worth = w
		a.best.copyFrom(g)
	}
	return guide
}

func (a *annealer) done(ctx context.Context) bool {
	const settled = 4 // share of the tries spent on better offcuts when no smaller boards can be had
	if a.worth.missing < 1e-9 && a.worth.boards <= a.enough*(1+1e-9) && a.tried >= a.tries/settled {
		return true
	}
	return a.tried%64 == 0 && ctx.Err() != nil
}

func (a *annealer) walk(ctx context.Context, until int) {
	var now, next genes
	now.copyFrom(&a.best)
	at := a.try(&now)
	const hot, cold = 0.02, 0.0002 // shares of the pieces' area
	from := a.tried
	for a.tried < until && !a.done(ctx) {
		next.copyFrom(&now)
		a.change(&next)
		guide := a.try(&next)
		heat := hot * math.Pow(cold/hot, float64(a.tried-from)/float64(max(1, until-from)))
		if guide <= at || a.rng.Float64() < math.Exp((at-guide)/heat) {
			now, next, at = next, now, guide
		}
	}
}

// change makes one small change.
func (a *annealer) change(g *genes) {
	n := len(g.units)
	i, j := a.rng.IntN(n), a.rng.IntN(n)
	switch a.rng.IntN(8) {
	case 0, 1:
		g.units[i], g.units[j] = g.units[j], g.units[i]
	case 2, 3:
		move(g.units, i, j)
	case 4:
		move(g.units, i, 0)
	case 5:
		g.split[g.units[i]] = byte(a.rng.IntN(3))
	case 6:
		m := len(g.boards)
		if m > 1 {
			move(g.boards, a.rng.IntN(m), a.rng.IntN(m))
		}
	default:
		if a.rng.IntN(4) == 0 {
			g.rule = byte(a.rng.IntN(rules))
		} else {
			g.split[g.units[i]] = byte(a.rng.IntN(3))
			g.units[i], g.units[j] = g.units[j], g.units[i]
		}
	}
}

// rules is how many rules score has.
const rules = 5

// move takes an element out and puts it in at another place.
func move(s []int, from, to int) {
	v := s[from]
	if from < to {
		copy(s[from:to], s[from+1:to+1])
	} else {
		copy(s[to+1:from+1], s[to:from])
	}
	s[to] = v
}

// starts is a few orders that are good as a rule: matched pieces first, then the large,
// the long or the wide; small boards first, or large ones.
func (a *annealer) starts() []genes {
	units, boards := a.bench.units, a.bench.p.Boards
	sizes := []func(u unit) float64{
		func(u unit) float64 { return u.area },
		func(u unit) float64 { return u.length.Metres()*1e3 + u.width.Metres() },
		func(u unit) float64 { return u.width.Metres()*1e3 + u.length.Metres() },
		func(u unit) float64 { return u.value / u.area },
	}
	var out []genes
	for _, smallFirst := range []bool{false, true} {
		order := numbers(len(boards))
		slices.SortStableFunc(order, func(i, j int) int {
			c := cmp.Compare(boards[j].rect().Area(), boards[i].rect().Area())
			if smallFirst {
				return -c
			}
			return c
		})
		for _, size := range sizes {
			seq := numbers(len(units))
			slices.SortStableFunc(seq, func(i, j int) int {
				return cmp.Or(cmp.Compare(min(units[j].match, 0), min(units[i].match, 0)), cmp.Compare(units[i].match, units[j].match),
					cmp.Compare(size(units[j]), size(units[i])))
			})
			for rule := range rules {
				out = append(out, genes{units: slices.Clone(seq), boards: slices.Clone(order), split: make([]byte, len(units)), rule: byte(rule)})
			}
		}
	}
	return out
}

func numbers(n int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = i
	}
	return out
}
