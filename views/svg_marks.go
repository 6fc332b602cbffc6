package views

import (
	"fmt"
	"slices"
	"strings"
)

// State is where a step stands, as the drawings know it.
type State string

// The states a drawing can show. Each has a shape of its own beside its word.
const (
	StateWaiting   State = "waiting"
	StateReady     State = "ready"
	StateInHand    State = "in hand"
	StatePutDown   State = "put down"
	StateInClamps  State = "in clamps"
	StateDrying    State = "drying"
	StateResting   State = "resting"
	StateDone      State = "done"
	StateInTrouble State = "in trouble"
)

// States lists every state in the order a step meets them.
func States() []State {
	return []State{StateWaiting, StateReady, StateInHand, StatePutDown, StateInClamps, StateDrying, StateResting, StateDone, StateInTrouble}
}

// stateClass is the class that a state's outline and mark are styled by.
func stateClass(s State) string {
	if !slices.Contains(States(), s) {
		s = StateWaiting
	}
	return "is-" + strings.ReplaceAll(string(s), " ", "-")
}

// pin draws a pin, head up, in a space of 9 by 14 pixels with its corner at
// (x, y): what it stands on starts where a maker pinned it.
func (d *svg) pin(x, y int) {
	d.line("pin-needle", x+4, y+8, x+4, y+14)
	d.path("pin-head", (&outline{}).move(x, y+4).add("a", 4, 4, 0, 1, 1, 8, 0).add("a", 4, 4, 0, 1, 1, -8, 0).shut())
}

// mark draws a state's shape in a square of 12 pixels with its corner at (x, y).
func (d *svg) mark(s State, x, y int) {
	p, class := &outline{}, "mark-full"
	switch s {
	case StateReady: // a triangle that points onward
		p.move(x+2, y).to(x+12, y+6).to(x+2, y+12).shut()
	case StateInHand: // a full disc
		p.move(x, y+6).add("a", 6, 6, 0, 1, 1, 12, 0).add("a", 6, 6, 0, 1, 1, -12, 0).shut()
	case StatePutDown: // two bars, as on a machine that was paused
		p.move(x+1, y).to(x+5, y).to(x+5, y+12).to(x+1, y+12).shut().
			move(x+7, y).to(x+11, y).to(x+11, y+12).to(x+7, y+12).shut()
	case StateInClamps: // a bar clamp: two jaws on a bar
		p.move(x, y+1).to(x+3, y+1).to(x+3, y+8).to(x+9, y+8).to(x+9, y+1).to(x+12, y+1).
			to(x+12, y+12).to(x, y+12).shut()
	case StateDrying: // a drop
		p.move(x+6, y).add("C", x+8, y+4, x+10, y+6, x+10, y+8).
			add("C", x+10, y+13, x+2, y+13, x+2, y+8).add("C", x+2, y+6, x+4, y+4, x+6, y).shut()
	case StateResting: // an hourglass
		p.move(x+1, y).to(x+11, y).to(x+7, y+6).to(x+11, y+12).to(x+1, y+12).to(x+5, y+6).shut()
	case StateDone: // a tick
		class = "mark-line"
		p.move(x+1, y+6).to(x+5, y+11).to(x+12, y+1)
	case StateInTrouble: // a stroke over a dot
		p.move(x+4, y).to(x+8, y).to(x+7, y+8).to(x+5, y+8).shut().
			move(x+4, y+10).to(x+8, y+10).to(x+8, y+12).to(x+4, y+12).shut()
	default: // an empty ring
		class = "mark-line"
		p.move(x+1, y+6).add("a", 5, 5, 0, 1, 1, 10, 0).add("a", 5, 5, 0, 1, 1, -10, 0).shut()
	}
	d.path(class, p)
}

// markScaled draws a state's shape larger, for those who stand farther away.
func (d *svg) markScaled(state State, x, y int, by string) {
	d.begin("g", "transform", fmt.Sprintf("translate(%d %d) scale(%s)", x, y, by))
	d.mark(state, 0, 0)
	d.end()
}
