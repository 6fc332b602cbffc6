package sequence

import (
	"context"
	"fmt"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/require"
)

// BenchmarkFirstPlan is the time to a first feasible plan, reading aside.
func BenchmarkFirstPlan(b *testing.B) {
	for _, size := range []shopSize{{2, 8, 100, 1}, {2, 8, 300, 2}, {3, 12, 1500, 3}} {
		p := shopWeeks(size)
		b.Run(fmt.Sprintf("%d-steps", size.steps), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				ctx, cancel := context.WithCancel(context.Background())
				plan, err := Solve(ctx, p, Options{OnPlan: func(*Plan) { cancel() }})
				require.NoError(b, err)
				require.Equal(b, Feasible, plan.Status)
				cancel()
			}
		})
	}
}

// BenchmarkExplain is the reasons of every task of a plan.
func BenchmarkExplain(b *testing.B) {
	benchReading(b, func(p *Problem, plan *Plan) error { _, err := Explain(p, plan); return err },
		shopSize{2, 8, 300, 2}, shopSize{3, 12, 1500, 3})
}

// BenchmarkFloats is the floats of every task against every due time.
func BenchmarkFloats(b *testing.B) {
	benchReading(b, func(p *Problem, plan *Plan) error { _, err := Floats(p, plan); return err },
		shopSize{2, 8, 100, 1}, shopSize{2, 8, 300, 2})
}

// benchReading is what it takes to read something off the plans of invented shops.
func benchReading(b *testing.B, read func(*Problem, *Plan) error, sizes ...shopSize) {
	for _, size := range sizes {
		p := shopWeeks(size)
		plan, err := Dispatch(context.Background(), p, EarliestPromise)
		require.NoError(b, err)
		b.Run(fmt.Sprintf("%d-steps", size.steps), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				require.NoError(b, read(p, plan))
			}
		})
	}
}

// BenchmarkDecode is one schedule from a list in which one task of the first half was
// moved: the inner loop of the annealing, where nothing is too bad.
func BenchmarkDecode(b *testing.B) {
	for _, size := range []shopSize{{2, 8, 100, 1}, {2, 8, 300, 2}, {3, 12, 1500, 3}} {
		m := compile(shopWeeks(size), nil)
		d := newDecoder(m)
		d.last = true
		var stop atomic.Bool
		list, err := d.ruleList(EarliestPromise, &stop)
		require.NoError(b, err)
		require.True(b, d.decode(list) || d.rescue(list, 1000, &stop))
		d.keep()
		list = append([]int(nil), d.order...)
		b.Run(fmt.Sprintf("%d-steps", size.steps), func(b *testing.B) {
			b.ReportAllocs()
			for k := 0; b.Loop(); k++ {
				i := len(list)/4 + k%7
				shiftIn(list, i, i+5)
				d.decode(list)
				shiftIn(list, i+5, i)
			}
		})
	}
}

// BenchmarkProof is the whole of a proof of optimality.
func BenchmarkProof(b *testing.B) {
	for _, name := range []string{"ft/ft06.jss", "j30/j305_3.sm", "ubo10/psp67.sch", "ubo10/psp27.sch"} {
		p := instance(b, name)
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				plan, err := Solve(context.Background(), p, Options{Work: 100000, Seed: 1})
				require.NoError(b, err)
				require.Contains(b, []Status{Optimal, Infeasible}, plan.Status)
			}
		})
	}
}
