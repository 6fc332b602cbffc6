package planner

import (
	"context"
	"fmt"
	"math/rand/v2"
	"testing"

	"faceside/models"
	"faceside/models/sequence"

	"github.com/stretchr/testify/require"
)

// BenchmarkWeeks is the weeks played for the promises of a shop, on two cores: of a
// few commissions with some 300 steps, and of many with some 1,500.
func BenchmarkWeeks(b *testing.B) {
	for _, commissions := range []int{14, 80} {
		s := &inventedShop{rng: rand.New(rand.NewPCG(1, 80))}
		p := s.inventWork(3, commissions)
		plan, err := sequence.Dispatch(context.Background(), p, sequence.EarliestPromise)
		require.NoError(b, err)
		s.weeks = &weeks{problem: p, pace: learnPace(&models.Outcomes{}), kinds: kindsOfWork, longest: 255, around: 4, commissions: make([]models.ID, commissions)}
		for range 3 {
			s.crew = append(s.crew, presence{days: daysOfWeeks(p.Calendars["shop"]), hands: []int{0}})
		}
		for i, task := range p.Tasks {
			s.plan = append(s.plan, sequence.Start{ID: plan.Tasks[i].ID, Start: plan.Tasks[i].SetupStart})
			s.chances = append(s.chances, chance{task: i, kind: i % len(kindsOfWork), commission: i % commissions, estimated: float64(task.Attended), cut: task.Interruptible})
		}
		b.Run(fmt.Sprintf("%d-steps-%d-commissions", len(p.Tasks), commissions), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				_, err := s.play(context.Background(), playing{plays: weeksPlayed, cores: 2})
				require.NoError(b, err)
			}
		})
	}
}
