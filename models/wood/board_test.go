package wood

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// American Hardwood Export Council, "Measurement": 2 in × 6¼ in × 8 ft is 4 1/6, a
// surface measure of 4 and 8 board feet; 5¼ in × 8½ ft is tallied as 5 in × 8 ft; halves
// go up and down by turns. gophuongdong.com, lumber measurement: 8 in × 12 ft is 8;
// 10 in × 13 ft is 10 10/12, 11; 6½ in × 8 ft is 4 1/3, 4. ncwoodworker.net, grading
// basics: 7 in × 8 ft is 4.67, 5.
func TestBoardMeasureAsPublished(t *testing.T) {
	count := func(y Yard, boards ...Board) []float64 {
		c, err := y.Count(boards...)
		require.NoError(t, err)
		return c.Each
	}
	assert.Equal(t, []float64{8, 8, 11, 4, 5}, count(BySurface,
		Board{8 * Foot, 6*Inch + Inch/4, 2 * Inch}, Board{12 * Foot, 8 * Inch, Inch}, Board{13 * Foot, 10 * Inch, Inch},
		Board{8 * Foot, 6*Inch + Inch/2, Inch}, Board{8 * Foot, 7 * Inch, Inch}))
	assert.Equal(t, []float64{5 * 8 / 12.0}, count(ByWholeInch, Board{8*Foot + Foot/2, 5*Inch + Inch/4, Inch}))
	half := Board{12 * Foot, 5*Inch + Inch/2, Inch}
	assert.Equal(t, []float64{6, 5, 6, 5}, count(BySurface, half, half, half, half))
	assert.Equal(t, []float64{6, 5, 6, 5}, count(ByWholeInch, half, half, half, half))

	// tpub.com/engbas/6-3: less than 1 in thick counts as 1 in.
	thin := Board{12 * Foot, 8 * Inch, Inch / 2}
	assert.Equal(t, []float64{8}, count(BySurface, thin))
	assert.Equal(t, []float64{8}, count(ByWholeInch, thin))
	assert.Equal(t, []float64{8}, count(ByRoundingUp, thin))
	assert.Equal(t, []float64{4}, count(AsMeasured, thin))

	// woodworkingtalk.com: some yards round width and length up and bill 5/4 as 6/4.
	assert.Equal(t, []float64{9 * 6 * 1.5 / 12}, count(ByRoundingUp, Board{8*Foot + Inch, 5*Inch + Inch/4, 5 * Inch / 4}))
	assert.Equal(t, []float64{8 * 6 * 1.0 / 12}, count(ByRoundingUp, Board{8 * Foot, 6 * Inch, Inch}))
}

// The unrounded rule, W·L·T/12: 8⅓ for the council's first board; and 1 in × 6 in × 96
// in is 4 board feet, 5/4 × 6 in × 72 in is 540/144 (mikestools.com, powershardwoods.com).
func TestBoardFeet(t *testing.T) {
	assert.InDelta(t, 8+1.0/3, BoardFeet(8*Foot, 6*Inch+Inch/4, 2*Inch), 1e-9)
	assert.InDelta(t, 4, BoardFeet(96*Inch, 6*Inch, Inch), 1e-9)
	assert.InDelta(t, 540.0/144, BoardFeet(72*Inch, 6*Inch, 5*Inch/4), 1e-9)
	assert.InDelta(t, 1, BoardFeet(Foot, 12*Inch, Inch/2), 1e-9)
	assert.Equal(t, 4, SurfaceMeasure(8*Foot+11*Inch, 6*Inch))
	assert.Equal(t, 6, SurfaceMeasure(12*Foot, 5*Inch+Inch/2), "a half alone goes up")
}

func TestCountProperties(t *testing.T) {
	board := rapid.Custom(func(t *rapid.T) Board {
		return Board{
			Length:    Length(rapid.Int64Range(4*12*8, 20*12*8).Draw(t, "length")) * (Inch / 8),
			Width:     Length(rapid.Int64Range(3*8, 20*8).Draw(t, "width")) * (Inch / 8),
			Thickness: rapid.SampledFrom(Quarters).Draw(t, "quarter").Rough,
		}
	})
	rapid.Check(t, func(t *rapid.T) {
		boards := rapid.SliceOfN(board, 1, 30).Draw(t, "boards")
		counts := map[Yard]Count{}
		for _, y := range []Yard{BySurface, ByWholeInch, ByRoundingUp, AsMeasured} {
			c, err := y.Count(boards...)
			require.NoError(t, err)
			sum := 0.0
			for _, feet := range c.Each {
				sum += feet
			}
			require.InDelta(t, sum, c.Total, 1e-6)
			counts[y] = c
		}
		for i, b := range boards {
			exact := counts[AsMeasured].Each[i]
			require.InDelta(t, BoardFeet(b.Length, b.Width, b.Thickness), exact, 1e-9)
			require.GreaterOrEqual(t, counts[ByRoundingUp].Each[i], exact-1e-9)
			thick := inches(b.Thickness)
			sm := counts[BySurface].Each[i] / thick
			require.Equal(t, math.Trunc(sm), sm, "a surface measure is whole")
			shorter := inches(b.Width) * math.Floor(inches(b.Length)/12) / 12
			require.InDelta(t, shorter, sm, 0.5+1e-9)
			require.InDelta(t, shorter*thick, counts[ByWholeInch].Each[i], 0.5*20/12*thick+1e-9)
		}
	})
}

func TestCountRefusesAndSaysWhy(t *testing.T) {
	_, err := BySurface.Count(Board{8 * Foot, 6 * Inch, Inch}, Board{8 * Foot, 0, Inch})
	assert.ErrorContains(t, err, "board 2: The width, 0 mm, must be more than 0")
	_, err = Yard("by eye").Count(Board{8 * Foot, 6 * Inch, Inch})
	var refused *Error
	require.ErrorAs(t, err, &refused)
	assert.Equal(t, "yard", refused.Field)
	assert.ErrorContains(t, err, `"by eye" is none of surface measure`)
}
