package sequence

import (
	"cmp"
	"slices"
)

// usage is a rise or fall in the use of a resource.
type usage struct {
	at     int
	amount int // negative: given back
	task   string
}

// checkCapacities adds up, minute by minute, what the plan uses of each resource.
func (c *checker) checkCapacities() {
	changes := map[string][]usage{}
	hold := func(task, resource string, from, to, amount int) {
		if from < to {
			changes[resource] = append(changes[resource], usage{from, amount, task}, usage{to, -amount, task})
		}
	}
	for i := range c.p.Tasks {
		t := &c.p.Tasks[i]
		c.holdUses(t, c.placed[t.ID], hold)
		if t.Setup != nil {
			c.holdStation(t, c.placed[t.ID], hold)
		}
	}
	for i := range c.p.Resources {
		c.checkCapacity(&c.p.Resources[i], changes[c.p.Resources[i].ID])
	}
}

type holder func(task, resource string, from, to, amount int)

// holdUses holds what the task lists in its uses, the station of its setup
// aside. In attended time a resource with a calendar is given back while the
// task is cut; one without is kept.
func (c *checker) holdUses(t *Task, pt PlanTask, hold holder) {
	for _, u := range t.Uses {
		if t.Setup != nil && t.Setup.Resource == u.Resource {
			continue
		}
		if u.During != Unattended {
			pieces := []Window{{pt.Start, pt.AttendedEnd}}
			if c.resources[u.Resource].Calendar != "" {
				pieces = c.attendedHours(t).within(pt.Start, pt.AttendedEnd)
			}
			for _, piece := range pieces {
				hold(t.ID, u.Resource, piece[0], piece[1], u.Amount)
			}
		}
		if u.During != Attended {
			hold(t.ID, u.Resource, pt.AttendedEnd, pt.End, u.Amount)
		}
	}
}

// holdStation holds the station of the task's setup from setup_start to A without
// a gap, whether it is listed in the uses or not, to E where it is listed so, and
// the hands of the setup in the minutes in which the setup runs.
func (c *checker) holdStation(t *Task, pt PlanTask, hold holder) {
	station := t.Setup.Resource
	attended, unattended := 0, 0
	for _, u := range t.Uses {
		if u.Resource == station && u.During != Unattended {
			attended += u.Amount
		}
		if u.Resource == station && u.During != Attended {
			unattended += u.Amount
		}
	}
	hold(t.ID, station, pt.SetupStart, pt.AttendedEnd, max(1, attended))
	hold(t.ID, station, pt.AttendedEnd, pt.End, unattended)
	if hands := c.resources[station].Setups.Hands; hands != nil {
		for _, piece := range c.setupHours(station).within(pt.SetupStart, pt.Start) {
			hold(t.ID, hands.Resource, piece[0], piece[1], hands.Amount)
		}
	}
}

// checkCapacity names the first minute in which more is used than there is. In
// one minute what is given back comes first.
func (c *checker) checkCapacity(r *Resource, changes []usage) {
	slices.SortStableFunc(changes, func(a, b usage) int { return cmp.Or(cmp.Compare(a.at, b.at), cmp.Compare(a.amount, b.amount)) })
	used := 0
	for _, u := range changes {
		if used += u.amount; used > r.Capacity {
			c.fail("capacity: %d of %q are used at %d, when task %q begins to use it, but there are %d", used, r.ID, u.at, u.task, r.Capacity)
			return
		}
	}
}
