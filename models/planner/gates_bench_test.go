package planner

import (
	"context"
	"fmt"
	"testing"

	"faceside/models/testrig"

	"github.com/stretchr/testify/require"
)

// BenchmarkGates is what the first screen after a tap has to do: the course of a plan
// of 300 steps, and the 90 gates along it.
func BenchmarkGates(b *testing.B) {
	store := testrig.Shop(b, testrig.Monday())
	for i := range 30 {
		testrig.Commission(b, store, fmt.Sprintf("Shelf %d", i+1), "2026-06-30")
	}
	_, err := New(store, quiet(), Options{Work: work, Seed: 1}).Plan(context.Background())
	require.NoError(b, err)
	snap := testrig.Snapshot(b, store)
	for _, part := range []struct {
		name string
		work func() int
	}{
		{"course", func() int { return len(makeCourse(snap).legs) }},
		{"course and gates", func() int { return len(findGates(snap, snap.At, makeCourse(snap))) }},
		{"course and gates to the last", func() int {
			c, all := makeCourse(snap), 0
			for _, g := range findGates(snap, snap.At, c) {
				if g.latest(c, never) {
					all++
				}
			}
			return all
		}},
	} {
		b.Run(part.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				require.NotZero(b, part.work())
			}
		})
	}
}
