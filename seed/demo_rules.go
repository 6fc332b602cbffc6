package seed

import (
	"slices"
	"time"

	"faceside/models"
)

// pick chooses what a maker takes next: what they put down, else what its links
// press for, else what the station is set up for, else what was promised first.
func (h *history) pick(m *maker, now, closes time.Time) *task {
	var can []*task
	for _, t := range h.todo {
		if t.by != nil && t.by != m && t.attended.IsZero() {
			continue // somebody else's
		}
		if h.canStart(t, now, closes) {
			can = append(can, t)
		}
	}
	if len(can) == 0 {
		return nil
	}
	return slices.MinFunc(can, func(a, b *task) int {
		if x, y := h.rank(a), h.rank(b); x != y {
			return x - y
		}
		if a.promised != b.promised {
			if a.promised < b.promised {
				return -1
			}
			return 1
		}
		return int(a.step.ID - b.step.ID)
	})
}

// rank orders what can start; less is sooner.
func (h *history) rank(t *task) int {
	switch {
	case t.begun:
		return 0
	case slices.ContainsFunc(t.before, func(l models.Link) bool { return l.MaxLag != nil }):
		return 1
	case t.step.SetupID != nil && h.setups[t.step.StationID] == *t.step.SetupID:
		return 2
	}
	return 3
}

// canStart says whether the shop's rules let a step start now.
func (h *history) canStart(t *task, now, closes time.Time) bool {
	if !t.attended.IsZero() {
		return false
	}
	if !t.step.Interruptible {
		longest := time.Duration(slowest * float64(t.step.Attended) * float64(time.Minute))
		if now.Add(h.setupTime(t) + longest).After(closes) {
			return false
		}
	}
	return h.handsFree() >= t.step.Hands && h.linksLet(t, now) && h.stationFree(t) && h.clampsFree(t, now) && h.airClear(t, now)
}

func (h *history) handsFree() int {
	free := 0
	for _, m := range h.makers {
		if m.at == nil {
			free++
		}
	}
	return free
}

// linksLet says whether everything a step waits for is done, for long enough.
func (h *history) linksLet(t *task, now time.Time) bool {
	for _, l := range t.before {
		b := h.all[l.BeforeID]
		from := b.ends
		switch l.From {
		case "start":
			from = b.started
		case "attended":
			from = b.attended
		}
		if from.IsZero() || now.Before(from.Add(time.Duration(l.MinLag)*time.Minute)) {
			return false
		}
	}
	return true
}

// inHand lists what is being worked on.
func (h *history) inHand() []*task {
	var at []*task
	for _, m := range h.makers {
		if m.at != nil && m.at.by == m {
			at = append(at, m.at)
		}
	}
	return at
}

func (h *history) stationFree(t *task) bool {
	used := 0
	for _, o := range h.inHand() {
		if o.step.StationID == t.step.StationID {
			used++
		}
	}
	return used < h.stations[t.step.StationID].Places
}

// resting says whether a step's rest is still on.
func resting(t *task, now time.Time) bool { return !t.attended.IsZero() && now.Before(t.ends) }

func (h *history) clampsFree(t *task, now time.Time) bool {
	held := map[models.ID]int{}
	for _, o := range h.all {
		if resting(o, now) || slices.Contains(h.inHand(), o) {
			for class, n := range o.clamps {
				held[class] += n
			}
		}
	}
	for class, n := range t.clamps {
		if held[class]+n > h.clamps[class] {
			return false
		}
	}
	return true
}

// airClear says that a step neither raises dust where something is wet nor the reverse.
func (h *history) airClear(t *task, now time.Time) bool {
	zone := h.stations[t.step.StationID].ZoneID
	if zone == nil {
		return true
	}
	shares := func(o *task) bool {
		z := h.stations[o.step.StationID].ZoneID
		return z != nil && *z == *zone
	}
	for _, o := range h.inHand() {
		if shares(o) && (o.step.Wet && t.step.Dusty || o.step.Dusty && t.step.Wet) {
			return false
		}
	}
	if !t.step.Dusty {
		return true
	}
	for _, o := range h.all {
		if o.step.Wet && resting(o, now) && shares(o) {
			return false
		}
	}
	return true
}
