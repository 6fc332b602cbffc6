package pattern

import (
	"fmt"
	"slices"

	"faceside/models/wood"
)

// The functions of expressions about wood that moves. All are exact; a pattern
// rounds to what a maker can set. Sources are in models/wood.

// sheetGoods are the species that do not move across a grain. Any other that the
// tables of woods do not know is an error, so that no panel is made without play
// for want of a figure.
var sheetGoods = []string{"plywood"}

// movement is the whole play of a flat-sawn board over the year of a heated house.
func movement(a []any) any {
	key, _ := a[1].(string)
	if slices.Contains(sheetGoods, key) {
		return length{}
	}
	room, err := wood.SeasonalMovement(length{size(a[0])}.wood(), key)
	if err != nil {
		return err
	}
	return fromWood(room)
}

// swing is how far a flat-sawn board goes over that year from what it is when it
// is made; width, species and moisture in per cent are the arguments a.
func swing(width, species, moisture any) (wood.Swing, error) {
	key, _ := species.(string)
	if slices.Contains(sheetGoods, key) {
		return wood.Swing{}, nil
	}
	s, err := wood.SafeSpeciesOf(key)
	if err != nil {
		return wood.Swing{}, err
	}
	return s.Swing(length{size(width)}.wood(), wood.FlatSawn, num(moisture), wood.HeatedHome)
}

// fromSwing is a function of width, species and moisture.
func fromSwing(gives func(wood.Swing) wood.Length) func([]any) any {
	return func(a []any) any {
		s, err := swing(a[0], a[1], a[2])
		if err != nil {
			return err
		}
		return fromWood(gives(s))
	}
}

var (
	// panelGroove is the depth of the groove for one edge of a loose panel.
	panelGroove = fromSwing(func(s wood.Swing) wood.Length { return s.PanelFit().Groove })
	// panelGap is what stays free in that groove when the panel is made.
	panelGap = fromSwing(func(s wood.Swing) wood.Length { return s.PanelFit().Gap })
	// drawerPlay is the gap above a drawer of that height when it is made.
	drawerPlay = fromSwing(wood.Swing.DrawerPlay)
)

// screwSlot is the length of the slot for a screw: distance from what is fixed, species,
// diameter, moisture.
func screwSlot(a []any) any {
	s, err := swing(a[0], a[1], a[3])
	if err != nil {
		return err
	}
	made, err := s.Slot(length{size(a[2])}.wood())
	if err != nil {
		return err
	}
	return fromWood(made.Length)
}

// moistureOf is the moisture in per cent that wood has when it is made in a shop.
// Colder than freezing or drier and damper than the published table is counted as
// its end.
func moistureOf(shop Shop) (float64, error) {
	pct, err := wood.Equilibrium(min(max(shop.TemperatureC, 0), 60), min(max(shop.HumidityPct, 5), 95))
	if err != nil {
		return 0, fmt.Errorf("the moisture of wood in the shop: %w", err)
	}
	return pct, nil
}
