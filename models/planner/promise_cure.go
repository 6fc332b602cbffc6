package planner

import (
	"math"

	"faceside/models"
	"faceside/models/wood"
)

// cure is a rest whose length is drawn. Nobody takes anything out of clamps, or works on
// a coat, before the time that is planned for it, which is the shop's own for that glue
// or finish; in a cold or damp week it takes longer, up to the most that is printed for
// the class (the sources stand in models/wood), and all that is glued or finished with
// it takes longer together.
type cure struct {
	task     int
	material int     // of those in the problem
	planned  int     // minutes
	most     float64 // times the planned
}

// mostSlow is the most that a cure takes times what is planned. The range of a class
// holds formulas from quick to slow, and a shop has one of them on its shelf: common
// practice, no source.
const mostSlow = 1.3

// takes is the minutes a cure takes in a play in which its material is so slow, from 0 to 1.
func (c *cure) takes(slow float64) int {
	return int(math.Round(float64(c.planned) * (1 + slow*(c.most-1))))
}

// findCures lists the rests to come of the classes of glue and finish that sources print
// a range for.
func (w *weeks) findCures(q *posed) {
	materials := map[string]int{}
	for t := range q.Tasks {
		id, ok := stepOf(q.Tasks[t].ID)
		if !ok || q.Tasks[t].Unattended == 0 || q.byStep[id].stand == atRest {
			continue
		}
		if key, most := slowest(q.snap, q.byStep[id].Step); most > 1 {
			w.cures = append(w.cures, cure{task: t, material: number(materials, &w.materials, key), planned: q.Tasks[t].Unattended, most: min(most, mostSlow)})
		}
	}
}

// slowest names what a step rests for, and says how much longer than the shop plans with
// its class takes at most; not above 1 where nothing is printed of it.
func slowest(snap *models.Snapshot, st *models.Step) (key string, most float64) {
	switch {
	case st.Rest == string(models.StandsInClamps) && st.GlueID != nil:
		g := snap.Glue(*st.GlueID)
		for _, class := range wood.GlueClasses {
			if g != nil && class.Key == g.Key && g.ClampMin > 0 {
				return "glue " + g.Key, float64(class.Clamp.Most) / float64(g.ClampMin)
			}
		}
	case st.Rest == string(models.StandsDrying) && st.FinishID != nil:
		f := snap.Finish(*st.FinishID)
		for _, class := range wood.FinishClasses {
			if f != nil && class.Key == f.Key && f.DryMin > 0 {
				return "finish " + f.Key, float64(class.Dry.Most) / float64(f.DryMin)
			}
		}
	}
	return "", 0
}
