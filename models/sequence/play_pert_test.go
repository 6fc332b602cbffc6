package sequence

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// construction is the worked example of a PERT network in Hillier and Lieberman,
// Introduction to Operations Research, chapter on project management: activity, what
// comes before it, and the optimistic, most likely and pessimistic weeks. The data are
// from memory; all totals that are published of it come out of them: the mean critical
// path A-B-C-E-F-J-L-N of 44 weeks, its variance of 9, and the chance of 0.8413 to be
// done in 47 weeks.
var construction = []struct {
	name, after string
	a, m, b     float64
}{
	{"A", "", 1, 2, 3}, {"B", "A", 2, 3.5, 8}, {"C", "B", 6, 9, 18}, {"D", "C", 4, 5.5, 10}, {"E", "C", 1, 4.5, 5},
	{"F", "E", 4, 4, 10}, {"G", "D", 5, 6.5, 11}, {"H", "EG", 5, 8, 17}, {"I", "C", 3, 7.5, 9}, {"J", "FI", 3, 9, 9},
	{"K", "J", 4, 4, 4}, {"L", "J", 1, 5.5, 7}, {"M", "H", 1, 2, 3}, {"N", "KL", 5, 5.5, 9},
}

const week = 1000.0 // minutes, so that rounding is nothing

// playNetwork plays the network so often, with the weeks of each activity drawn, and
// returns the mean of how long it took, and in what part of the plays 47 weeks were enough.
func playNetwork(t *testing.T, plays int, weeks func(i int) float64) (mean, within float64) {
	p := &Problem{Version: Version, Horizon: 200 * week, Jobs: []Job{{ID: "plant"}}}
	for _, a := range construction {
		p.Tasks = append(p.Tasks, Task{ID: a.name, Job: "plant", Attended: 1})
		for _, before := range strings.Split(a.after, "") {
			p.Links = append(p.Links, Link{Before: before, After: a.name})
		}
	}
	pl, err := NewPlayer(p, nil)
	require.NoError(t, err)
	turns := make([]Turn, len(construction))
	for range plays {
		for i := range turns {
			turns[i].Attended = int(math.Round(weeks(i) * week))
		}
		require.True(t, pl.Play(turns))
		end, _ := pl.JobEnd(0)
		mean += float64(end) / week / float64(plays)
		if end <= 47*week {
			within += 1 / float64(plays)
		}
	}
	return mean, within
}

// Reduced to PERT's own suppositions, that only the critical path counts and its
// length is normal, the plays give the textbook's answer.
func TestPlaysReducedToPERTGiveItsAnswer(t *testing.T) {
	expected := func(i int) float64 { a := construction[i]; return (a.a + 4*a.m + a.b) / 6 }
	mean, _ := playNetwork(t, 1, expected)
	assert.InDelta(t, 44, mean, 0.01)

	rng := rand.New(rand.NewPCG(44, 9))
	mean, within := playNetwork(t, 20000, func(i int) float64 {
		a := construction[i]
		if !strings.Contains("ABCEFJLN", a.name) {
			return 0.01 // no other path is ever the longest
		}
		return max(0.01, expected(i)+(a.b-a.a)/6*rng.NormFloat64())
	})
	assert.InDelta(t, 44, mean, 0.1)
	assert.InDelta(t, 0.8413, within, 0.01)
}

// The paths beside the critical one make the textbook's answer too hopeful: with each
// activity's time drawn (a beta distribution, as PERT has it) the project takes longer
// than 44 weeks on average, and 47 are enough less often than 0.8413.
func TestPlaysShowThatPERTIsTooHopeful(t *testing.T) {
	rng := rand.New(rand.NewPCG(8413, 1))
	mean, within := playNetwork(t, 40000, func(i int) float64 {
		a := construction[i]
		if a.a == a.b {
			return a.a
		}
		return a.a + (a.b-a.a)*beta(rng, 1+4*(a.m-a.a)/(a.b-a.a), 1+4*(a.b-a.m)/(a.b-a.a))
	})
	t.Logf("mean %.2f weeks, done within 47 with %.3f", mean, within)
	assert.InDelta(t, 44.32, mean, 0.06) // reckoned once with 100,000 plays by other means
	assert.InDelta(t, 0.816, within, 0.008)
}

// beta draws from a beta distribution, both parameters at least 1.
func beta(rng *rand.Rand, a, b float64) float64 {
	x, y := gamma(rng, a), gamma(rng, b)
	return x / (x + y)
}

// gamma draws from a gamma distribution of a shape of at least 1 (Marsaglia and
// Tsang, A simple method for generating gamma variables, 2000).
func gamma(rng *rand.Rand, shape float64) float64 {
	d := shape - 1./3
	for {
		x := rng.NormFloat64()
		v := math.Pow(1+x/math.Sqrt(9*d), 3)
		if v > 0 && math.Log(1-rng.Float64()) < x*x/2+d-d*v+d*math.Log(v) {
			return d * v
		}
	}
}
