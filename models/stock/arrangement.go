package stock

import (
	"context"
	"slices"
)

// arrangement is which units lie on which board, each board laid by itself.
type arrangement struct {
	laid    [][]int // by board: its units in the order they are laid
	rule    []byte  // by board
	split   []byte  // by unit
	missing []int   // units that are on no board
	worths  []worth // by board, of those begun
}

// genes lay one board alone.
func (a *arrangement) genes(board int) *genes {
	return &genes{units: a.laid[board], boards: []int{board}, split: a.split, rule: a.rule[board]}
}

func (a *arrangement) clone() arrangement {
	out := arrangement{laid: make([][]int, len(a.laid)), rule: slices.Clone(a.rule), split: slices.Clone(a.split),
		missing: slices.Clone(a.missing), worths: slices.Clone(a.worths)}
	for i := range a.laid {
		out.laid[i] = slices.Clone(a.laid[i])
	}
	return out
}

// arranged is what lies on the bench, of the genes of all units laid last.
func (b *bench) arranged(g *genes) arrangement {
	n := len(b.p.Boards)
	a := arrangement{laid: make([][]int, n), rule: make([]byte, n), split: slices.Clone(g.split), worths: make([]worth, n)}
	a.put(b, g)
	return a
}

// put takes over what lies on the bench, of the genes laid last, for their boards.
func (a *arrangement) put(b *bench, g *genes) {
	for _, board := range g.boards {
		a.laid[board], a.worths[board], a.rule[board] = nil, worth{}, g.rule
		if b.open[board] {
			a.worths[board] = b.worthOf(board)
		}
	}
	a.missing = slices.DeleteFunc(a.missing, func(i int) bool { return slices.Contains(g.units, i) })
	for _, i := range g.units {
		a.split[i] = g.split[i]
		if board := b.placed[i].board; board >= 0 {
			a.laid[board] = append(a.laid[board], i)
		} else {
			a.missing = append(a.missing, i)
		}
	}
}

// boards lays a few boards anew at a time, with what is left of the work: pieces that
// are missing, and boards not begun, may come in.
func (s *search) boards(ctx context.Context) {
	now := s.best.clone()
	total := s.worth
	const loose = 0.02 // how much worse, as a share of all pieces, is taken at first
	for !s.done(ctx, s.budget) {
		g := s.few(&now)
		if len(g.units) == 0 {
			return
		}
		before := worth{}
		for _, board := range g.boards {
			before = before.plus(now.worths[board])
		}
		for _, i := range now.missing {
			if slices.Contains(g.units, i) {
				before.missing += s.bench.units[i].value
			}
		}
		got := s.climb(&g)
		forgive := loose * s.rng.Float64() * float64(s.budget-s.spent) / float64(s.budget)
		if s.bench.guide(got) > s.bench.guide(before)+forgive {
			continue
		}
		s.lay(&g)
		now.put(s.bench, &g)
		total = worth{total.missing - before.missing + got.missing, total.boards - before.boards + got.boards,
			total.offcuts - before.offcuts + got.offcuts, total.full - before.full + got.full}
		if total.better(s.worth) {
			s.worth, s.best = total, now.clone()
		}
	}
}

// few chooses one to three boards that have been begun and up to two that have not, with
// their units in some order. Boards that share matched pieces come together.
func (s *search) few(a *arrangement) genes {
	var begun, idle []int
	for i := range a.laid {
		if len(a.laid[i]) > 0 {
			begun = append(begun, i)
		} else {
			idle = append(idle, i)
		}
	}
	s.rng.Shuffle(len(begun), func(i, j int) { begun[i], begun[j] = begun[j], begun[i] })
	s.rng.Shuffle(len(idle), func(i, j int) { idle[i], idle[j] = idle[j], idle[i] })
	chosen := s.bench.withMatches(a, begun[:min(len(begun), 1+s.rng.IntN(3))])
	chosen = append(chosen, idle[:min(len(idle), s.rng.IntN(3))]...)
	g := genes{boards: chosen, split: slices.Clone(a.split), units: s.bench.welcome(a, chosen)}
	for _, board := range chosen {
		g.units = append(g.units, a.laid[board]...)
		g.rule = a.rule[board]
	}
	s.arrange(&g)
	return g
}

// welcome is the missing units that may come onto chosen boards: not those whose match
// lies on others.
func (b *bench) welcome(a *arrangement, chosen []int) []int {
	return slices.DeleteFunc(slices.Clone(a.missing), func(u int) bool {
		match := b.units[u].match
		if match < 0 {
			return false
		}
		for board, laid := range a.laid {
			if !slices.Contains(chosen, board) && slices.ContainsFunc(laid, func(o int) bool { return b.units[o].match == match }) {
				return true
			}
		}
		return false
	})
}

// withMatches adds the boards that matched pieces on the chosen ones share with others.
func (b *bench) withMatches(a *arrangement, chosen []int) []int {
	chosen = slices.Clone(chosen)
	for i := 0; i < len(chosen); i++ {
		for _, u := range a.laid[chosen[i]] {
			match := b.units[u].match
			if match < 0 {
				continue
			}
			for board, laid := range a.laid {
				shares := slices.ContainsFunc(laid, func(o int) bool { return b.units[o].match == match })
				if shares && !slices.Contains(chosen, board) {
					chosen = append(chosen, board)
				}
			}
		}
	}
	return chosen
}

// arrange puts the units and boards of genes into a fresh order.
func (s *search) arrange(g *genes) {
	s.rng.Shuffle(len(g.boards), func(i, j int) { g.boards[i], g.boards[j] = g.boards[j], g.boards[i] })
	g.rule = byte(s.rng.IntN(rules))
	if size := s.rng.IntN(len(sizes) + 2); size < len(sizes) {
		s.bench.sort(g.units, sizes[size])
	} else if size == len(sizes) {
		s.rng.Shuffle(len(g.units), func(i, j int) { g.units[i], g.units[j] = g.units[j], g.units[i] })
	}
}

// climb betters genes by small changes that are no worse, and returns how good they get.
func (s *search) climb(g *genes) worth {
	const changes = 20
	w := s.lay(g)
	at := s.bench.guide(w)
	var next genes
	for range changes {
		next.copyFrom(g)
		s.change(&next)
		got := s.lay(&next)
		if guide := s.bench.guide(got); guide <= at {
			*g, next = next, *g
			w, at = got, guide
		}
	}
	return w
}
