package planner

import (
	"sort"
	"time"

	"faceside/models"
)

// Rack is the clamps of the shop as they are: a class in each entry, in the shop's
// order. Clamps hang free until a step that takes them is in hand, and are out until
// a person says that it is out of them, however long its time has been over.
type Rack []RackClass

// RackClass is the clamps of one class.
type RackClass struct {
	*models.ClampClass
	Free int // that hang on the rack
	Out  []ClampsOut
}

// ClampsOut is so many clamps on one step.
type ClampsOut struct {
	Step  *models.Step
	Count int
	Until time.Time // when they come back by the clock; zero while the step is in hand
	Over  bool      // that time has passed, and nobody has taken them off
}

// RackOf returns the rack at a time. O(steps + uses of clamps).
func RackOf(snap *models.Snapshot, at time.Time) Rack {
	var rack Rack
	place, day := map[models.ID]int{}, localCalendar(snap).Date(at)
	for i := range snap.Clamps {
		c := &snap.Clamps[i]
		place[c.ID] = len(rack)
		rack = append(rack, RackClass{ClampClass: c, Free: max(0, c.Count+snap.Borrowed(c.ID, day))})
	}
	for i := range snap.Steps {
		st := &snap.Steps[i]
		resting := st.State == models.AtRest && st.RestEndsAt != nil
		if st.State != models.InHand && !resting {
			continue
		}
		for _, use := range snap.ClampsOf(st.ID) {
			k, known := place[use.ClampClassID]
			if !known || use.Count <= 0 {
				continue
			}
			out := ClampsOut{Step: st, Count: use.Count}
			if resting {
				out.Until, out.Over = *st.RestEndsAt, !st.RestEndsAt.After(at)
			}
			rack[k].Free = max(0, rack[k].Free-use.Count)
			rack[k].Out = append(rack[k].Out, out)
		}
	}
	for i := range rack {
		rack[i].sort()
	}
	return rack
}

// sort puts what comes back first in front; what is in hand comes last.
func (c *RackClass) sort() {
	sort.SliceStable(c.Out, func(a, b int) bool {
		x, y := c.Out[a].Until, c.Out[b].Until
		return !x.IsZero() && (y.IsZero() || x.Before(y))
	})
}

// ClampsAsked is the clamps of one class that a step takes.
type ClampsAsked struct {
	Class *models.ClampClass
	Takes int
	Free  int
	// Where fewer are free than it takes: the step whose clamps it waits for, and
	// when they are free by the clock; zero where that step is in hand.
	Waits *models.Step
	Until time.Time
	Over  bool // their time is over: they only have to be taken off
}

// needs says of each class of clamps that a step takes whether it could have them.
// What it holds itself already counts as free for it.
func (r Rack) needs(snap *models.Snapshot, st *models.Step) []ClampsAsked {
	var all []ClampsAsked
	for _, use := range snap.ClampsOf(st.ID) {
		for i := range r {
			if r[i].ID == use.ClampClassID && use.Count > 0 {
				all = append(all, r[i].need(st, use.Count))
			}
		}
	}
	return all
}

func (c *RackClass) need(st *models.Step, takes int) ClampsAsked {
	n := ClampsAsked{Class: c.ClampClass, Takes: takes, Free: c.Free}
	for _, o := range c.Out {
		if o.Step == st {
			n.Free += o.Count
		}
	}
	back := n.Free
	for _, o := range c.Out {
		if back >= takes {
			break
		}
		if o.Step != st {
			back += o.Count
			n.Waits, n.Until, n.Over = o.Step, o.Until, o.Over
		}
	}
	return n
}
