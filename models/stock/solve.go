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
	Tries int    // layouts of all pieces to look at, at least 1; 0 for UsualWork
	Seed  uint64 // of the random numbers
}

// UsualWork is how many pieces are laid in all where no number of tries is asked for:
// about a second for a few commissions.
const UsualWork = 500_000

// Solve plans the cuts: as many pieces as the boards give (by area), from boards of as
// little area as it finds, with offcuts worth keeping. Pieces are laid one by one in
// the best of the spaces left, each split edge to edge; the order in which they are laid
// is bettered by annealing, then a few boards at a time are laid anew. Matched pieces
// come from one board, else from one log, else from any boards, and the plan says which.
// A problem that cannot be is refused; one whose boards do not suffice gives a plan that
// says what is short. Once ctx is done it returns the best plan so far, which then
// hangs on the speed of the machine.
func Solve(ctx context.Context, p Problem, s Search) (Plan, error) {
	if err := p.Check(); err != nil {
		return Plan{}, fmt.Errorf("plan the cuts of %s: %w", p.Stock, err)
	}
	if s.Tries < 0 {
		return Plan{}, fault("the tries, %d, must be 1 or more, or 0 for the usual number", s.Tries)
	}
	b := newBench(&p, nil)
	if len(b.units) == 0 {
		return Plan{Short: b.shortage(nil)}, nil
	}
	bound := LowerBound(ctx, p.without(b.shortage(b.possible())))
	all := search{rng: rand.New(rand.NewPCG(s.Seed, 0x5AB1E)), budget: cmp.Or(s.Tries*len(b.units), UsualWork), enough: bound.Boards}
	run := all.with(newBench(&p, all.near(ctx, b)), all.budget-all.spent)
	run.orders(ctx)
	run.boards(ctx)
	plan := run.bench.plan(&run.best)
	plan.Tried = (all.spent + run.spent) / len(b.units)
	if plan.Bound = bound; run.worth.missing > 0 {
		plan.Bound = LowerBound(ctx, p.without(plan.Short))
	}
	return plan, nil
}

// with is a search of its own on a bench, by the same random numbers.
func (s *search) with(b *bench, budget int) *search {
	return &search{bench: b, rng: s.rng, budget: max(budget, 1), enough: s.enough}
}

// near finds how near the parts of each match can lie, by short searches: it asks for
// one board first, and for less where parts are left out. What asks for less and leaves
// out as much is not asked for less.
func (s *search) near(ctx context.Context, b *bench) near {
	const share = 10 // of the work, for each of them
	asked, best, least := near{}, near{}, map[string]float64{}
	for _, m := range b.p.matches() {
		asked[m] = b.loosest(m, OneBoard)
		best[m], least[m] = asked[m], math.Inf(1)
	}
	for again := len(asked) > 0; again; {
		probe := s.with(newBench(b.p, asked), s.budget/share)
		probe.orders(ctx)
		probe.boards(ctx)
		s.spent += probe.spent
		out := probe.bench.missing(&probe.best)
		again = false
		for _, m := range b.p.matches() {
			if out[m] < least[m]-1e-9 {
				best[m], least[m] = asked[m], out[m]
			}
			if out[m] > 0 && asked[m] < Apart {
				asked[m], again = b.loosest(m, asked[m]+1), true
			}
		}
	}
	return best
}

// search betters a plan: first the order in which all pieces are laid, then a few
// boards at a time.
type search struct {
	bench  *bench
	rng    *rand.Rand
	budget int // units to lay
	spent  int
	enough float64 // area of boards that no plan can do without
	best   arrangement
	worth  worth
}

// lay lays genes, counts the work, and returns how good it is.
func (s *search) lay(g *genes) worth {
	s.bench.lay(g)
	s.spent += len(g.units)
	return s.bench.worth(g)
}

// done says whether to stop at so many units laid: earlier where no smaller boards can
// be had and a share of the work has gone into better offcuts, or when told to.
func (s *search) done(ctx context.Context, until int) bool {
	const settled = 4
	if s.worth.missing < 1e-9 && s.worth.boards <= s.enough*(1+1e-9) && s.spent >= s.budget/settled {
		return true
	}
	return s.spent >= until || ctx.Err() != nil
}

// orders anneals the order of all pieces and boards: with a tenth of the work, or all
// of it where there is but one board.
func (s *search) orders(ctx context.Context) {
	var best, now, next genes
	until, hot := s.budget/10, 0.01
	if len(s.bench.p.Boards) == 1 {
		until, hot = s.budget, 0.05
	}
	starts := s.starts()
	for i := range starts {
		if w := s.lay(&starts[i]); i == 0 || w.better(s.worth) {
			s.worth = w
			best.copyFrom(&starts[i])
		}
		if s.done(ctx, until) {
			break
		}
	}
	now.copyFrom(&best)
	at := s.bench.guide(s.lay(&now))
	for from := s.spent; !s.done(ctx, until); {
		next.copyFrom(&now)
		s.change(&next)
		w := s.lay(&next)
		if w.better(s.worth) {
			s.worth = w
			best.copyFrom(&next)
		}
		heat := hot * math.Pow(0.01, float64(s.spent-from)/float64(max(1, until-from)))
		if guide := s.bench.guide(w); guide <= at || s.rng.Float64() < math.Exp((at-guide)/heat) {
			now, next, at = next, now, guide
		}
	}
	s.lay(&best)
	s.best = s.bench.arranged(&best)
}

// change makes one small change.
func (s *search) change(g *genes) {
	n := len(g.units)
	i, j := s.rng.IntN(n), s.rng.IntN(n)
	switch s.rng.IntN(8) {
	case 0, 1:
		g.units[i], g.units[j] = g.units[j], g.units[i]
	case 2, 3:
		move(g.units, i, j)
	case 4:
		move(g.units, i, 0)
	case 5:
		g.split[g.units[i]] = byte(s.rng.IntN(3))
	case 6:
		m := len(g.boards)
		if m > 1 {
			move(g.boards, s.rng.IntN(m), s.rng.IntN(m))
		}
	default:
		if s.rng.IntN(4) == 0 {
			g.rule = byte(s.rng.IntN(rules))
		} else {
			g.split[g.units[i]] = byte(s.rng.IntN(3))
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

// sizes is what units may be sorted by, greatest first.
var sizes = []func(u unit) float64{
	func(u unit) float64 { return u.area },
	func(u unit) float64 { return u.length.Metres()*1e3 + u.width.Metres() },
	func(u unit) float64 { return u.width.Metres()*1e3 + u.length.Metres() },
	func(u unit) float64 { return u.value / u.area },
}

// sort sorts units: matched ones first, match by match, then the greatest first.
func (b *bench) sort(seq []int, size func(u unit) float64) {
	slices.SortStableFunc(seq, func(i, j int) int {
		x, y := b.units[i], b.units[j]
		return cmp.Or(cmp.Compare(min(y.match, 0), min(x.match, 0)), cmp.Compare(x.match, y.match), cmp.Compare(size(y), size(x)))
	})
}

// starts is a few orders that are good as a rule: the large pieces first, the long or
// the wide; small boards first, or large ones.
func (s *search) starts() []genes {
	units, boards := s.bench.units, s.bench.p.Boards
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
			s.bench.sort(seq, size)
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
