package wood

import (
	"testing"

	_ "faceside/models/testrig/sameseed"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// Both printed rules of thumb lie inside the range: a week at least for 1 in from 13
// to 9 %, and one per cent a week.
func TestAcclimatiseHoldsThePrintedRules(t *testing.T) {
	d, err := Acclimatise(Inch, 13, 9)
	require.NoError(t, err)
	assert.Equal(t, Days{Least: 6, Most: 23}, d)
	assert.LessOrEqual(t, d.Least, 7)
	d, err = Acclimatise(Inch, 15, 10)
	require.NoError(t, err)
	assert.LessOrEqual(t, d.Least, 35-7)
	assert.GreaterOrEqual(t, d.Most, 35-10, "within a per cent: four of the five weeks")
	d, err = Acclimatise(Inch, 8, 8)
	require.NoError(t, err)
	assert.Equal(t, Days{Least: 0, Most: 3}, d)
}

func TestAcclimatiseGrowsWithThicknessAndGap(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		thin := Length(rapid.Int64Range(1, 100).Draw(t, "mm")) * Millimetre
		thick := thin + Length(rapid.Int64Range(0, 50).Draw(t, "more"))*Millimetre
		to := rapid.Float64Range(5, 12).Draw(t, "to")
		near := rapid.Float64Range(0, 8).Draw(t, "gap")
		far := near + rapid.Float64Range(0, 8).Draw(t, "further")
		a, err := Acclimatise(thin, to+near, to)
		require.NoError(t, err)
		b, err := Acclimatise(thick, to+far, to)
		require.NoError(t, err)
		require.LessOrEqual(t, a.Least, a.Most)
		require.LessOrEqual(t, a.Least, b.Least)
		require.LessOrEqual(t, a.Most, b.Most)
		back, err := Acclimatise(thin, to, to+near)
		require.NoError(t, err)
		require.Equal(t, a, back, "wetting takes what drying takes")
	})
	_, err := Acclimatise(0, 12, 8)
	require.ErrorContains(t, err, "The thickness, 0 mm, must lie between 1 mm and 150 mm.")
	_, err = Acclimatise(Inch, 45, 8)
	require.ErrorContains(t, err, "The moisture content, 45 %")
	_, err = Acclimatise(Inch, 12, -8)
	require.ErrorContains(t, err, "The moisture content, -8 %")
}
