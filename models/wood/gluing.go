package wood

import (
	"fmt"
	"math"
)

// Density is a class of wood by how hard a joint must be clamped.
type Density string

// The classes of density.
const (
	Light  Density = "light"
	Medium Density = "medium"
	Dense  Density = "dense"
)

// JointPressure is the pressure in megapascals that closes a joint with PVA: the
// middle of the range of the class.
//
// Source: WOOD magazine, September 2021: 100 to 150 psi for softwood, 175 to 250
// psi for dense hardwood; 125 to 175 psi for medium woods from memory. Makers
// differ; the glue's own sheet comes first.
func JointPressure(d Density) (float64, error) {
	psi := map[Density]float64{Light: 125, Medium: 150, Dense: 212.5}[d]
	if psi == 0 {
		return 0, fmt.Errorf("the density class %q is none of light, medium and dense", d)
	}
	return psi * megapascalPerPSI, nil
}

const megapascalPerPSI = 0.006894757293168 // exact to 12 figures (NIST SP 811)

// ClampsForForce is the least number of clamps that bring a joint of an area in
// square millimetres to a pressure in megapascals, each giving a force in
// newtons; at least 2.
func ClampsForForce(area, pressure, force float64) (int, error) {
	if !(area > 0 && pressure > 0 && force > 0) {
		return 0, fmt.Errorf("an area of %g mm², a pressure of %g MPa and a force of %g N must all be more than 0", area, pressure, force)
	}
	return max(2, int(math.Ceil(area*pressure/force-1e-9))), nil
}

// ClampSpacing is how far apart clamps may stand along a glue line: force spreads
// at about 45 degrees to each side, so twice the width of wood between the jaw
// and the joint, the caul's included.
//
// Common practice; the rule is from memory.
func ClampSpacing(board, caul Length) Length { return 2 * (board + caul) }

// ClampsForSpacing is how many clamps a glue line of a length needs at a spacing:
// the first stands half a spacing from the end; at least 2.
func ClampsForSpacing(line, spacing Length) (int, error) {
	if spacing <= 0 || line < 0 {
		return 0, fmt.Errorf("a glue line of %s with clamps every %s cannot be clamped", line.Format(Millimetres, 0), spacing.Format(Millimetres, 0))
	}
	return max(2, int((line+spacing-1)/spacing)), nil
}
