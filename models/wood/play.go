package wood

// What a joint must leave so that wide wood can move: common practice, no source for
// the working clearances; the movement itself is that of movement.go. Sizes come out
// exact; a pattern rounds them up to what a maker can set.

// Clearances that have nothing to do with moisture. Common practice, no source.
const (
	leastHold    = 3 * Millimetre // a panel's tongue that must stay in its groove
	screwFree    = Millimetre / 2 // so that a screw slides in its slot
	drawerSlides = Millimetre     // so that a drawer runs at its widest
)

// PanelFit is how a loose panel sits in the grooves of a frame, at each of its two edges.
type PanelFit struct {
	Gap    Length // between the panel's edge and the groove's bottom, when it is made
	Tongue Length // least part of the panel inside the groove, when it is made
	Groove Length // depth of the groove: the two together
}

// PanelFit shares a panel's swing between its two edges: room to swell, and enough
// tongue that the driest week does not show its edge. The panel is not glued, or only
// at its middle.
func (s Swing) PanelFit() PanelFit {
	gap, tongue := half(s.Swells), half(s.Shrinks)+leastHold
	return PanelFit{Gap: gap, Tongue: tongue, Groove: gap + tongue}
}

// Slot is the slot for a screw that holds wide wood and lets it move. The slot is in
// the part that stays (a rail, a batten); the screw goes into the wide wood.
type Slot struct {
	Length      Length // whole length of the slot, along the movement
	FromOutside Length // from the slot's end away from the fixed edge to the screw's middle
}

// Slot is the slot for a screw of a diameter, where s is the swing of the wood between
// the fixed edge (or the middle, if that is fixed) and the screw.
func (s Swing) Slot(screw Length) (Slot, error) {
	if err := sound("screw", screw); err != nil {
		return Slot{}, err
	}
	return Slot{Length: screw + s.Whole() + 2*screwFree, FromOutside: s.Swells + screw/2 + screwFree}, nil
}

// DrawerPlay is the gap to leave above a drawer whose sides or front have this swing
// across their height, when it is made: what it may swell, and what it needs to run.
func (s Swing) DrawerPlay() Length { return s.Swells + drawerSlides }

// half is half a length that is not negative, rounded up.
func half(l Length) Length { return (l + 1) / 2 }
