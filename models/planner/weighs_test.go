package planner

import (
	"context"
	"testing"

	"faceside/models/sequence"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What an hour more on a step moves is said of the order of the week played. Each week
// is played once more with the step an hour longer, and makers who take what they can:
// nearly all that moves a promise then was said to, and what was said too often is what
// another order saves. Where half of the weeks are late that is most.
func TestDelaysAreThoseOfPlays(t *testing.T) {
	const plays = 60
	said, found, both, all := 0, 0, 0, 0
	for n := range uint64(6) {
		s := inventShop(t, 400+n)
		how := playing{plays: plays, cores: 1, seed: 1}
		first, err := s.play(context.Background(), how)
		require.NoError(t, err)
		for j, ends := range first.ends {
			*s.problem.Jobs[j].Due = int(ends[plays/2]) // in half of the weeks it is late
		}
		player, err := s.player(how)
		require.NoError(t, err)
		d, jobs := s.dealer(1), make([]int, len(s.problem.Tasks))
		for k := range plays {
			turns := d.deal(k)
			require.True(t, player.Play(turns))
			player.Delayed(hour, jobs)
			ends := jobEnds(t, player, len(s.problem.Jobs))
			for i := k % 7; i < len(turns); i += 7 {
				turns[i].Attended += hour
				ok := player.Play(turns)
				turns[i].Attended -= hour
				require.True(t, ok)
				moves := false
				for j, end := range jobEnds(t, player, len(ends)) {
					moves = moves || end > max(ends[j], *s.problem.Jobs[j].Due)
				}
				all++
				if jobs[i] >= 0 {
					said++
				}
				if moves {
					found++
				}
				if moves && jobs[i] >= 0 {
					both++
				}
			}
		}
	}
	part := func(n, of int) float64 { return 100 * float64(n) / float64(of) }
	t.Logf("of %d hours more %.1f %% are said to move a promise, %.1f %% do when played; of these %.1f %% were said to", all, part(said, all), part(found, all), part(both, found))
	assert.Greater(t, part(both, found), 80.)
	assert.Greater(t, part(found, all), 20., "or nothing was tested")
	assert.InDelta(t, part(found, all), part(said, all), 20)
}

func jobEnds(t *testing.T, player *sequence.Player, jobs int) []int {
	ends := make([]int, jobs)
	for j := range ends {
		end, ok := player.JobEnd(j)
		require.True(t, ok)
		ends[j] = end
	}
	return ends
}
