package stock

import (
	"context"
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"faceside/models/wood"
)

// shop is 20 boards of one stock, knots and all, and some 30 parts of ten kinds, two of
// them matched: an invented rack of the usual sizes.
func shop(seed uint64) Problem {
	r := rand.New(rand.NewPCG(seed, 7))
	between := func(low, high int) wood.Length { return wood.Length(low+r.IntN(high-low)) * mm }
	p := Problem{Stock: pine, Rules: UsualRules}
	for i := range 20 {
		b := board(fmt.Sprint("b", i), between(1500, 3700), between(120, 300))
		b.Log, b.InLog = "A", i
		for range r.IntN(3) {
			b.Defects = append(b.Defects, Defect{Rect: Rect{between(0, int(b.Length/mm)-60), between(0, int(b.Width/mm)-30), 50 * mm, 30 * mm}})
		}
		p.Boards = append(p.Boards, b)
	}
	for i := range 10 {
		c := Piece{Key: fmt.Sprint("p", i), Quantity: 1 + r.IntN(5), Length: between(300, 1500), Width: between(45, 135)}
		if i < 2 {
			c.Match = c.Key
		}
		p.Pieces = append(p.Pieces, c)
	}
	return p
}

// Usual boards and parts: what the search gains over the first order it lays, the
// largest pieces first on the largest boards, and how far
// it stays above the bound.
func TestUsualRack(t *testing.T) {
	for seed := range uint64(3) {
		p := shop(seed)
		first, err := Solve(context.Background(), p, Search{Tries: 1, Seed: 1})
		require.NoError(t, err)
		plan, err := Solve(context.Background(), p, Search{Tries: 3000, Seed: 1})
		require.NoError(t, err)
		require.NoError(t, Check(p, plan))
		require.Empty(t, plan.Short)
		t.Logf("waste %.1f %% (first order: %.1f %%), lost %.1f %%, %.1f %% above the bound, %d boards",
			100*plan.Waste(), 100*first.Waste(), 100*plan.Lost(), 100*plan.Gap(), len(plan.Layouts))
		require.Less(t, plan.BoardArea(), first.BoardArea())
		require.Less(t, plan.Gap(), 0.35)
	}
}

// The usual work, on the rack and on three times as many parts and boards.
func BenchmarkSolve(b *testing.B) {
	large := shop(1)
	for i := range large.Pieces {
		large.Pieces[i].Quantity *= 3
	}
	for seed := range uint64(2) {
		for _, o := range shop(seed + 2).Boards {
			o.ID += fmt.Sprint("-", seed)
			o.Log += fmt.Sprint(seed)
			large.Boards = append(large.Boards, o)
		}
	}
	for name, p := range map[string]Problem{"rack": shop(1), "three racks": large} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				plan, err := Solve(context.Background(), p, Search{Seed: 1})
				require.NoError(b, err)
				b.ReportMetric(100*plan.Gap(), "%gap")
			}
		})
	}
}

func BenchmarkLowerBound(b *testing.B) {
	p := shop(1)
	for b.Loop() {
		LowerBound(context.Background(), p)
	}
}
