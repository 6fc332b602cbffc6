package wood

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// Wood Handbook (FPL-GTR-282), Table 4-2, cells as printed; 70 °F/40 % and
// 70 °F/65 % from memory. The equation does not round to every printed cell.
func TestEquilibriumMoistureAgainstTheHandbooksTable(t *testing.T) {
	for _, c := range []struct{ f, humidity, want float64 }{
		{70, 5, 1.3}, {70, 30, 6.2}, {70, 50, 9.2}, {70, 75, 14.4}, {70, 85, 17.9}, {70, 95, 23.9},
		{30, 75, 14.9}, {30, 95, 24.3}, {100, 50, 8.7}, {100, 90, 19.5},
		{70, 40, 7.7}, {70, 65, 12.0},
	} {
		got, err := EquilibriumMoisture((c.f-32)/1.8, c.humidity)
		require.NoError(t, err)
		assert.InDelta(t, c.want, got, 0.07, "%g °F, %g %%", c.f, c.humidity)
	}
	for _, bad := range [][2]float64{{21, -5}, {21, 0}, {21, 100}, {-40, 50}, {200, 50}} {
		_, err := EquilibriumMoisture(bad[0], bad[1])
		assert.ErrorContains(t, err, "outside")
	}
}

func TestHumidityForIsEquilibriumMoistureTheOtherWay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tempC := rapid.Float64Range(0, 60).Draw(t, "°C")
		humidity := rapid.Float64Range(6, 94).Draw(t, "%")
		m, err := EquilibriumMoisture(tempC, humidity)
		require.NoError(t, err)
		got, err := HumidityFor(tempC, m)
		require.NoError(t, err)
		require.InDelta(t, humidity, got, 0.01)
	})
	_, err := HumidityFor(21, 40)
	assert.ErrorContains(t, err, "not 40 %")
}

// Wood Handbook (FPL-GTR-190), chapter 13, worked example: 232 mm of white fir
// (coefficient .00245, from memory) from 8 to 11 % widens by 1.7 mm. The others
// are worked out by hand from the same formula and table.
func TestMovement(t *testing.T) {
	fir, err := Shrinkage{CT: 0.00245}.Across(232*Millimetre, FlatSawn, 8, 11)
	require.NoError(t, err)
	assert.InDelta(t, 1.7, fir.Millimetres(), 0.05)
	for _, c := range []struct {
		width    Length
		species  string
		cut      Cut
		from, to float64
		inches   float64
	}{
		{12 * Inch, "white-oak", FlatSawn, 7, 11, 0.1752},
		{24 * Inch, "cherry", FlatSawn, 6, 9, 0.1786},
		{24 * Inch, "cherry", QuarterSawn, 6, 9, 0.0907},
		{10 * Inch, "cherry", Mixed, 12, 5, -0.1730},
		{10 * Inch, "cherry", FlatSawn, 30, 0, -0.7100}, // the whole shrinkage
	} {
		got, err := Movement(c.width, c.species, c.cut, c.from, c.to)
		require.NoError(t, err)
		assert.InDelta(t, c.inches, float64(got)/float64(Inch), 0.0005, "%+v", c)
	}
	for _, c := range []struct {
		species  string
		cut      Cut
		from, to float64
		says     string
	}{
		{"granite", FlatSawn, 8, 9, `"granite"`},
		{"oak", FlatSawn, -1, 9, "-1 %"},
		{"oak", FlatSawn, 8, 31, "31 %"},
		{"oak", "diagonal", 8, 9, `"diagonal"`},
	} {
		_, err := Movement(Inch, c.species, c.cut, c.from, c.to)
		assert.ErrorContains(t, err, c.says)
	}
}

func TestSeasonalMovementOfAPanel(t *testing.T) {
	got, err := SeasonalMovement(300*Millimetre, "oak")
	require.NoError(t, err)
	assert.InDelta(t, 300*0.00369*(10.95-6.17), got.Millimetres(), 0.1)
	_, err = SeasonalMovement(300*Millimetre, "plywood")
	assert.Error(t, err)
}

// American Hardwood Export Council, "Measurement": 2 in × 6¼ in × 8 ft is a
// surface measure of 4 and 8 board feet. gophuongdong.com: 8 in × 12 ft → 8, and
// 10 in × 13 ft → 11.
func TestBoardMeasure(t *testing.T) {
	assert.Equal(t, 4, SurfaceMeasure(8*Foot, 6*Inch+Inch/4))
	assert.Equal(t, 8.0, Tally(8*Foot, 6*Inch+Inch/4, 2*Inch))
	assert.Equal(t, 8, SurfaceMeasure(12*Foot, 8*Inch))
	assert.Equal(t, 11, SurfaceMeasure(13*Foot, 10*Inch))
	assert.Equal(t, 4, SurfaceMeasure(8*Foot, 6*Inch+Inch/2))
	assert.Equal(t, 4, SurfaceMeasure(8*Foot+11*Inch, 6*Inch), "a fraction of a foot is dropped")
	assert.InDelta(t, 8.0+1.0/3, BoardFeet(8*Foot, 6*Inch+Inch/4, 2*Inch), 1e-9)
	assert.InDelta(t, 1.0, BoardFeet(Foot, 12*Inch, Inch/2), 1e-9, "under 1 inch counts as 1 inch")
}

// Engineering ToolBox, "Hardwood Lumber Dimensions".
func TestStockFor(t *testing.T) {
	for _, c := range []struct {
		finished Length
		want     string
	}{
		{3 * Inch / 4, "4/4"}, {13 * Inch / 16, "4/4"}, {13*Inch/16 + 1, "5/4"}, {22 * Millimetre, "5/4"},
		{28 * Millimetre, "6/4"}, {Inch + 3*Inch/4, "8/4"}, {45 * Millimetre, "10/4"}, {60 * Millimetre, "12/4"}, {95 * Millimetre, "16/4"},
	} {
		q, err := StockFor(c.finished)
		require.NoError(t, err)
		assert.Equal(t, c.want, q.Name, c.finished.Format(Millimetres, 0))
	}
	_, err := StockFor(4 * Inch)
	assert.ErrorContains(t, err, `4" is more than 16/4 gives (3 3/4")`)
	_, err = StockFor(0)
	assert.ErrorContains(t, err, "more than 0")
}

// WOOD magazine, September 2021: a joint 1 in by 25 in at 150 psi needs 3750 lb:
// 9 clamps of about 417 lb, or 8 of about 469 lb.
func TestClamps(t *testing.T) {
	const poundForce = 4.4482216152605 // newtons
	area := 25.4 * 25.4 * 25
	for force, want := range map[float64]int{417: 9, 469: 8} {
		n, err := ClampsForForce(area, 150*megapascalPerPSI, force*poundForce)
		require.NoError(t, err)
		assert.Equal(t, want, n)
	}
	assert.Equal(t, 8*Inch, ClampSpacing(3*Inch, Inch))
	n, err := ClampsForSpacing(48*Inch, 8*Inch)
	require.NoError(t, err)
	assert.Equal(t, 6, n)
	n, err = ClampsForSpacing(2*Inch, 8*Inch)
	require.NoError(t, err)
	assert.Equal(t, 2, n)
	_, err = ClampsForSpacing(Inch, 0)
	assert.Error(t, err)
	_, err = ClampsForForce(0, 1, 1)
	assert.Error(t, err)
	for d, psi := range map[Density][2]float64{Light: {100, 150}, Medium: {125, 175}, Dense: {175, 250}} {
		p, err := JointPressure(d)
		require.NoError(t, err)
		assert.InDelta(t, (psi[0]+psi[1])/2*megapascalPerPSI, p, 1e-9)
	}
	_, err = JointPressure("heavy")
	assert.ErrorContains(t, err, `"heavy"`)
}

func TestDryingFactor(t *testing.T) {
	for tempC, want := range map[float64]float64{21: 1, 18.4: 1, 18.2: 2, 14: 2} {
		got, err := DryingFactor(tempC, 13)
		require.NoError(t, err)
		assert.Equal(t, want, got, tempC)
	}
	_, err := DryingFactor(12, 13)
	assert.ErrorContains(t, err, "at least 13 °C; the shop is at 12 °C")
	_, err = DryingFactor(500, 13)
	assert.Error(t, err)
	assert.True(t, TooDampForOil(71))
	assert.False(t, TooDampForOil(70))
}

func TestAcclimatise(t *testing.T) {
	assert.Equal(t, Days{}, Acclimatise(Inch, 8.5, 8))
	assert.Equal(t, Days{Least: 4, Greatest: 14}, Acclimatise(Inch, 12, 8))
	assert.Equal(t, Days{Least: 7, Greatest: 28}, Acclimatise(2*Inch, 12, 8))
}
