package planner

import (
	"time"

	"faceside/models"
	"faceside/models/phrase"
)

// Gives is what has to give where a step is put off too far, and that is no promise: a
// step that is pinned, the greatest time between two steps, or somebody's time off.
// All fields are zero where it is not known.
type Gives struct {
	StepID models.ID // what starts too late then
	Off    models.ID // who is off
	At     time.Time // when the step is pinned to, or the time off begins
	After  models.ID // the step after which it has to start
	From   string    // from which point of it the time counts
	Within int       // minutes
}

// gives finds what has to give first where a leg is put off by so many working minutes.
func (c *course) gives(l *leg, minutes int) Gives {
	s := c.slip(l, minutes)
	defer s.free()
	for _, g := range c.q.lags {
		link := c.q.Links[g.index]
		before, after := c.byTask[link.Before], c.byTask[link.After]
		if link.Max != nil && s.of(after).Start > s.point(before, link.From)+*link.Max {
			return Gives{StepID: g.AfterID, After: g.BeforeID, From: g.From, Within: *g.MaxLag}
		}
	}
	for _, other := range c.legs {
		if other == l || !other.immovable || s.of(other).Start == other.PlanTask.Start {
			continue
		}
		if kind, person := named(other.Task.ID); kind == "away" {
			return Gives{Off: person, At: c.line.time(other.PlanTask.Start)}
		}
		id, _ := stepOf(other.Task.ID)
		if st := c.q.snap.Step(id); st != nil && st.PinnedAt != nil {
			return Gives{StepID: id, At: *st.PinnedAt}
		}
	}
	return Gives{}
}

// keeps is the reason to do something before that has to give; empty where it is not
// known what does.
func (g Gives) keeps(snap *models.Snapshot, at time.Time, loc *time.Location) phrase.Phrase {
	st, before := snap.Step(g.StepID), snap.Step(g.After)
	who := snap.Person(g.Off)
	switch {
	case who != nil:
		return phrase.Of("so that the work does not run into the time off of %[1]s, %[2]s", phrase.Name(who.Name), clockWords(g.At, at, loc))
	case st != nil && before != nil:
		return phrase.Of("so that %[1]s starts within %[2]s of %[3]s", quoted(st), minuteWords(g.Within), g.Point(before))
	case st != nil:
		return phrase.Of("so that %[1]s can start when it is pinned, %[2]s", quoted(st), clockWords(g.At, at, loc))
	}
	return phrase.Phrase{}
}

// Point says from when the greatest time counts.
func (g Gives) Point(before *models.Step) phrase.Phrase {
	switch g.From {
	case models.FromStart:
		return phrase.Of("the start of “%s”", before.Name)
	case models.FromAttended:
		return phrase.Of("the work on “%s”", before.Name)
	}
	return phrase.Of("the end of “%s”", before.Name)
}
