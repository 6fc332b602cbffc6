package wood

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// The surfaced thickness (S2S) of each quarter: Engineering ToolBox, "Hardwood lumber
// dimensions" (d_1462), and renovation-headquarters.com, "Hardwood boards"; 10/4 from
// memory.
func TestQuartersAsPrinted(t *testing.T) {
	for name, printed := range map[string][2]string{
		"4/4": {"1", "13/16"}, "5/4": {"1 1/4", "1 1/16"}, "6/4": {"1 1/2", "1 5/16"}, "7/4": {"1 3/4", "1 1/2"},
		"8/4": {"2", "1 3/4"}, "10/4": {"2 1/2", "2 1/4"}, "12/4": {"3", "2 3/4"}, "16/4": {"4", "3 3/4"},
	} {
		i := slices.IndexFunc(Quarters, func(q Quarter) bool { return q.Name == name })
		require.GreaterOrEqual(t, i, 0, name)
		assert.Equal(t, printed[0]+`"`, Quarters[i].Rough.Format(Inches, 64), name)
		assert.Equal(t, printed[1]+`"`, Quarters[i].Surfaced.Format(Inches, 64), name)
		assert.Equal(t, name == "10/4", Quarters[i].Mark == Memory, name)
	}
}

func TestStockFor(t *testing.T) {
	for _, q := range Quarters {
		got, err := StockFor(q.Surfaced)
		require.NoError(t, err)
		if !q.Rare {
			assert.Equal(t, q, got)
		}
		assert.Equal(t, Length(q.Quarters)*Inch/4, q.Rough, q.Name)
	}
	for _, c := range []struct {
		finished Length
		want     string
	}{
		{3 * Inch / 4, "4/4"}, {13 * Inch / 16, "4/4"}, {13*Inch/16 + 1, "5/4"}, {22 * Millimetre, "5/4"}, {Inch + Inch/16, "5/4"},
		{28 * Millimetre, "6/4"}, {Inch + Inch/2, "8/4"}, {Inch + 3*Inch/4, "8/4"}, {45 * Millimetre, "10/4"}, {60 * Millimetre, "12/4"}, {95 * Millimetre, "16/4"},
	} {
		q, err := StockFor(c.finished)
		require.NoError(t, err)
		assert.Equal(t, c.want, q.Name, c.finished.Format(Millimetres, 0))
	}
	_, err := StockFor(4 * Inch)
	assert.ErrorContains(t, err, `The finished thickness, 4", is more than 16/4 stock leaves (3 3/4"); glue it up from thinner stock.`)
	_, err = StockFor(0)
	assert.ErrorContains(t, err, "must be more than 0")
}

func TestStockForMilling(t *testing.T) {
	q, err := StockForMilling(3*Inch/4, 3*Inch/16) // a scant 4/4 just does
	require.NoError(t, err)
	assert.Equal(t, "4/4", q.Name)
	q, err = StockForMilling(13*Inch/16, 3*Inch/16)
	require.NoError(t, err)
	assert.Equal(t, "5/4", q.Name)
	_, err = StockForMilling(Inch, -1)
	assert.ErrorContains(t, err, "loss in milling")
	_, err = StockForMilling(4*Inch, 0)
	assert.ErrorContains(t, err, `more than 16/4 stock leaves (3 15/16")`)
	rapid.Check(t, func(t *rapid.T) {
		thin := Length(rapid.Int64Range(1, int64(3*Inch)).Draw(t, "finished"))
		thick := thin + Length(rapid.Int64Range(0, int64(Inch/2)).Draw(t, "more"))
		a, err := StockForMilling(thin, Inch/8)
		require.NoError(t, err)
		b, err := StockForMilling(thick, Inch/8)
		require.NoError(t, err)
		require.LessOrEqual(t, a.Quarters, b.Quarters)
		require.GreaterOrEqual(t, a.Rough, thin+Inch/8+Scant)
	})
}
