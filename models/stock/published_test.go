package stock

import (
	"bufio"
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models/wood"
)

// Published instances are whole numbers; here they are millimetres. Their data were
// read in public copies of the OR-Library's files.

type instance struct {
	length, width wood.Length
	pieces        []Piece
}

func published(t testing.TB, name string) instance {
	f, err := os.Open("testdata/" + name + ".txt")
	require.NoError(t, err)
	defer f.Close()
	var in instance
	for lines := bufio.NewScanner(f); lines.Scan(); {
		line := lines.Text()
		if strings.HasPrefix(line, "#") {
			continue
		}
		if in.length == 0 {
			_, err := fmt.Sscan(line, &in.length, &in.width)
			require.NoError(t, err)
			in.length, in.width = in.length*wood.Millimetre, in.width*wood.Millimetre
			continue
		}
		c := Piece{Key: fmt.Sprint("p", len(in.pieces)+1)}
		_, err := fmt.Sscan(line, &c.Length, &c.Width, &c.Quantity, &c.value)
		require.NoError(t, err)
		c.Length, c.Width = c.Length*wood.Millimetre, c.Width*wood.Millimetre
		in.pieces = append(in.pieces, c)
	}
	require.NotEmpty(t, in.pieces)
	return in
}

// anyCuts is sawing without kerf, trim or a rule of stages, as the published problems have it.
var anyCuts = Rules{First: FirstEither}

var pine = Stock{Species: "pine", Quarter: "4/4"}

// problem is the instance as pieces to be cut from so many boards.
func (in instance) problem(boards int) Problem {
	p := Problem{Stock: pine, Pieces: in.pieces, Rules: anyCuts}
	for i := range boards {
		p.Boards = append(p.Boards, Board{ID: fmt.Sprint("b", i+1), Species: "pine", Quarter: "4/4", Length: in.length, Width: in.width})
	}
	return p
}

// best is the greatest value that one board gives, with as many of each piece as one likes.
func (in instance) best(fine int) float64 {
	p := in.problem(1)
	value := make([]float64, len(p.Pieces))
	for i, c := range p.Pieces {
		value[i] = c.value
	}
	most, counts := latticeOf(p, p.usable(p.Boards[0]), fine).best(context.Background(), value)
	for i, n := range counts {
		most -= float64(n) * value[i]
	}
	if most != 0 {
		return math.NaN() // the pieces counted are not those of the cutting
	}
	for i, n := range counts {
		most += float64(n) * value[i]
	}
	return most
}

// The best cutting of one board, as many of each piece as one likes, is exactly what is
// published. Values of gcut: G. F. Cintra, ime.usp.br/~glauber/gcut (read); of cgcut: M.
// Hifi and V. Zissimopoulos, Eur. J. Opl Res. 91 (1996) 553-564, as PackLib quotes it
// (read).
func TestBestCuttingOfPublishedBoards(t *testing.T) {
	for name, optimum := range map[string]float64{
		"gcut1": 56460, "gcut2": 60536, "gcut3": 61036, "gcut4": 61698, "gcut5": 246000, "gcut6": 238998, "gcut9": 971100,
		"cgcut1": 249, "cgcut2": 3076, "cgcut3": 2240,
	} {
		in := published(t, name)
		assert.Equal(t, optimum, in.best(1000), name)
		coarse := in.best(40)
		assert.GreaterOrEqual(t, coarse, optimum, "%s: rounding sizes down may only raise it", name)
	}
}

// One board, so many of each piece at most: the most value. Optima of cgcut2 and cgcut3:
// D. Fayard, M. Hifi and V. Zissimopoulos, J. Opl Res. Soc. 49 (1998) 1270-1277, as
// PackLib quotes it (read); of cgcut1: 244 (from memory). The last figure is what the
// search reached when it was written: it may not get worse unseen.
func TestValueFromOnePublishedBoard(t *testing.T) {
	for _, c := range []struct {
		name             string
		optimum, reached float64
	}{{"cgcut1", 244, 244}, {"cgcut2", 2892, 2892}, {"cgcut3", 1860, 1840}} {
		t.Run(c.name, func(t *testing.T) {
			p := published(t, c.name).problem(1)
			plan, err := Solve(context.Background(), p, Search{Tries: 20000, Seed: 1})
			require.NoError(t, err)
			require.NoError(t, Check(p, plan))
			got := value(p, plan)
			t.Logf("value %g of %g, gap %.2f %%", got, c.optimum, 100*(1-got/c.optimum))
			assert.LessOrEqual(t, got, c.optimum, "more than the proved optimum")
			assert.GreaterOrEqual(t, got, c.reached)
		})
	}
}

func value(p Problem, plan Plan) float64 {
	worth := map[string]float64{}
	for _, c := range p.Pieces {
		worth[c.Key] = c.value
	}
	sum := 0.0
	for _, l := range plan.Layouts {
		for _, part := range l.Placed {
			sum += worth[part.Piece]
		}
	}
	return sum
}

// All pieces, the fewest equal boards. Known: the fewest without the rule that cuts go
// from edge to edge, S. Martello and D. Vigo, Mgmt Sci. 44 (1998) 388-399 (from memory),
// which no plan of ours can beat; bound: our own, in whole boards.
func TestFewestPublishedBoards(t *testing.T) {
	for _, c := range []struct {
		name                  string
		known, reached, bound int
	}{
		{"gcut1", 5, 5, 4}, {"gcut2", 6, 6, 6}, {"gcut3", 8, 8, 8}, {"gcut4", 14, 14, 13}, {"gcut5", 3, 3, 3}, {"gcut6", 7, 7, 6},
		{"gcut9", 3, 3, 3}, {"cgcut1", 2, 2, 2}, {"cgcut2", 2, 2, 2}, {"cgcut3", 23, 23, 21},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := published(t, c.name).problem(c.known + 2)
			for i := range p.Pieces {
				p.Pieces[i].value = 0 // their area
			}
			plan, err := Solve(context.Background(), p, Search{Tries: 6000, Seed: 1})
			require.NoError(t, err)
			require.NoError(t, Check(p, plan))
			require.Empty(t, plan.Short)
			bound := int(math.Ceil(plan.Bound.Boards/p.Boards[0].rect().Area() - 1e-9))
			t.Logf("%d boards, known %d, bound %d", len(plan.Layouts), c.known, bound)
			assert.GreaterOrEqual(t, len(plan.Layouts), c.known, "fewer than is known to be possible")
			assert.LessOrEqual(t, len(plan.Layouts), c.reached)
			assert.Equal(t, c.bound, bound)
			assert.LessOrEqual(t, bound, c.known, "the bound is no bound")
		})
	}
}

// Classes I to VI: sides drawn evenly from 1 to a greatest, square boards (J. O. Berkey
// and P. Y. Wang, J. Opl Res. Soc. 38 (1987) 423-429; the rule from memory). The
// instances are drawn afresh by that rule, so only our own bound is held against them.
func TestPublishedClassesAgainstTheBound(t *testing.T) {
	boards, bounds := 0, 0
	for i, class := range []struct{ most, side int }{{10, 10}, {10, 30}, {35, 40}, {35, 100}, {100, 100}, {100, 300}} {
		r := rand.New(rand.NewPCG(1987, uint64(i)))
		for range 2 {
			in := instance{length: wood.Length(class.side) * mm, width: wood.Length(class.side) * mm}
			for n := range 20 {
				in.pieces = append(in.pieces, Piece{Key: fmt.Sprint("p", n), Quantity: 1,
					Length: wood.Length(1+r.IntN(class.most)) * mm, Width: wood.Length(1+r.IntN(class.most)) * mm})
			}
			p := in.problem(20)
			plan, err := Solve(context.Background(), p, Search{Tries: 2000, Seed: 1})
			require.NoError(t, err)
			require.NoError(t, Check(p, plan))
			require.Empty(t, plan.Short)
			boards += len(plan.Layouts)
			bounds += int(math.Ceil(plan.Bound.Boards/p.Boards[0].rect().Area() - 1e-9))
		}
	}
	t.Logf("%d boards in all, bound %d", boards, bounds)
	assert.GreaterOrEqual(t, boards, bounds)
	assert.LessOrEqual(t, float64(boards), 1.1*float64(bounds))
}
