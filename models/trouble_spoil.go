package models

import (
	"maps"
	"math"
	"slices"
)

// Parts are spoiled in a step. What was done to them before is done again for as
// many others: each finished step that worked on them comes back for just those,
// with its share of the time, in the same order among themselves; the step waits
// for them. What was done stays done in the journal and the time book.

// leastAgain is the least minutes that work which is done again takes, however
// few the parts: to fetch the stock, look up the measures and set a stop.
// Common practice, no source. A step that took less altogether takes that.
const leastAgain = 5

// loss is what was spoiled: so many of parts, and of assemblies a share, 1 for
// the whole.
type loss struct {
	parts      map[ID]int
	assemblies map[ID]float64
}

// workAgain is work that comes back.
type workAgain struct {
	of         *Step
	share      float64 // of the step's own work, more than 0 and at most 1
	parts      map[ID]int
	assemblies []ID
}

// spoil adds the steps that come back, and has the step wait for them.
func (t *tapper) spoil(e *editor, step *Step, said *TroubleDetails) error {
	snap, err := e.snapshot()
	if err != nil {
		return err
	}
	lost, err := snap.lossOf(step, said.Trouble)
	if err != nil {
		return err
	}
	said.Lost = maps.Clone(lost.parts)
	if said.Uncut, err = t.uncut(lost); err != nil {
		return err
	}
	if said.Effect.Unticked, err = t.untick(e, step, lost.parts); err != nil {
		return err
	}
	again := snap.worksAgain(step, lost)
	if err := t.redo(step, snap.shareIn(step, lost)); err != nil {
		return err
	}
	b := comeback{editor: e, snap: snap, step: step, lost: lost, again: map[ID]*workAgain{}, came: map[ID]ID{}}
	return b.add(again)
}

// uncut counts how many of the lost parts were booked as cut: they are to be cut again.
func (t *tapper) uncut(lost *loss) (map[ID]int, error) {
	out := map[ID]int{}
	for _, id := range sortedKeys(lost.parts) {
		cut, err := cutOf(t.tx, id)
		if err != nil {
			return nil, err
		}
		if n := min(cut, lost.parts[id]); n > 0 {
			out[id] = n
		}
	}
	return out, nil
}

// redo adds to a step that is begun what of its own work is lost with the parts:
// their share of it, as far as it was done.
func (t *tapper) redo(step *Step, share float64) error {
	worked, whole := t.worked(step), step.Attended*60
	if !step.Interruptible || worked == 0 {
		return nil // it is done from the beginning anyway
	}
	all := worked + max(0, whole-worked) + min(worked, int(float64(whole)*share))
	if step.State == AtRest { // its work was done, however long it took
		all = worked + int(float64(whole)*share)
	}
	minutes := min((all+59)/60, mostAttended)
	return setWork(t.tx, step, Work{Attended: minutes, Hands: step.Hands, FirstAttended: step.FirstAttended}.after(step))
}

// lossOf reads what is lost, and refuses what the step does not work on.
func (s *Snapshot) lossOf(step *Step, tr Trouble) (*loss, error) {
	lost := &loss{parts: map[ID]int{}, assemblies: map[ID]float64{}}
	for _, id := range sortedKeys(tr.Parts) {
		uses := s.PartsOf(step.ID)
		i := slices.IndexFunc(uses, func(u StepPart) bool { return u.PartID == id })
		part := s.Part(id)
		if i < 0 || part == nil {
			return nil, invalid("parts", id, "“%s” does not work on the part with number %d.", step.Name, id)
		}
		if n := tr.Parts[id]; n < 1 || n > uses[i].Quantity {
			return nil, invalid("parts", n, "“%s” works on %d of %s: %d of them cannot be spoiled.", step.Name, uses[i].Quantity, part.Name, n)
		}
		lost.parts[id] = tr.Parts[id]
	}
	for _, id := range tr.Assemblies {
		switch {
		case slices.ContainsFunc(s.AssembliesOf(step.ID), func(u StepAssembly) bool { return u.AssemblyID == id }):
			s.loseAssembly(lost, id)
		case step.begun() && idOf(step.MakesID) == id:
			s.loseAll(lost, step)
		default:
			return nil, invalid("assemblies", id, "“%s” has no assembly with number %d that could be spoiled.", step.Name, id)
		}
	}
	return lost, nil
}

// loseAll loses all that a step works on.
func (s *Snapshot) loseAll(lost *loss, step *Step) {
	for _, u := range s.PartsOf(step.ID) {
		lost.parts[u.PartID] = u.Quantity
	}
	for _, u := range s.AssembliesOf(step.ID) {
		s.loseAssembly(lost, u.AssemblyID)
	}
}

// loseAssembly loses an assembly with all that is in it.
func (s *Snapshot) loseAssembly(lost *loss, id ID) {
	if lost.assemblies[id] == 1 {
		return
	}
	lost.assemblies[id] = 1
	for _, u := range s.AssemblyParts {
		if p := s.Part(u.PartID); u.AssemblyID == id && p != nil {
			lost.parts[u.PartID] = min(p.Quantity, lost.parts[u.PartID]+u.Quantity)
		}
	}
	for _, in := range s.AssemblyAssemblies {
		if in.AssemblyID == id {
			s.loseAssembly(lost, in.InnerID)
		}
	}
}

// shareIn is which share of what a step works on is lost.
func (s *Snapshot) shareIn(st *Step, lost *loss) float64 {
	var gone, all float64
	for _, u := range s.PartsOf(st.ID) {
		all += float64(u.Quantity)
		gone += float64(min(lost.parts[u.PartID], u.Quantity))
	}
	for _, u := range s.AssembliesOf(st.ID) {
		all++
		gone += lost.assemblies[u.AssemblyID]
	}
	if all == 0 {
		return 0
	}
	return gone / all
}

// worksAgain finds the finished steps of the piece whose work is lost, in the
// order of the list. What a lost part was put into is lost in its share, and so
// is what was done to that. What was done again already is the same work: it
// comes back once.
func (s *Snapshot) worksAgain(step *Step, lost *loss) []workAgain {
	var done []*Step
	for _, st := range s.StepsOf(step.CommissionID) {
		if st.ID != step.ID && st.PieceID == step.PieceID && st.FinishedAt != nil && st.AgainOf == nil && s.before(st, step) {
			done = append(done, st)
		}
	}
	for changed := true; changed; {
		changed = false
		for _, st := range done {
			if share := s.shareIn(st, lost); st.MakesID != nil && share > lost.assemblies[*st.MakesID] {
				lost.assemblies[*st.MakesID], changed = share, true
			}
		}
	}
	var all []workAgain
	for _, st := range done {
		share := s.shareIn(st, lost)
		if share == 0 {
			continue
		}
		w := workAgain{of: st, share: share, parts: map[ID]int{}}
		for _, u := range s.PartsOf(st.ID) {
			if n := min(lost.parts[u.PartID], u.Quantity); n > 0 {
				w.parts[u.PartID] = n
			}
		}
		for _, u := range s.AssembliesOf(st.ID) {
			if lost.assemblies[u.AssemblyID] > 0 {
				w.assemblies = append(w.assemblies, u.AssemblyID)
			}
		}
		all = append(all, w)
	}
	return all
}

// before says whether work that is finished comes before a step: for one that is
// itself done again, what follows the first of it is still to come again too.
func (s *Snapshot) before(done, step *Step) bool {
	if step.AgainOf == nil {
		return true
	}
	seen := map[ID]bool{*step.AgainOf: true}
	for open := []ID{*step.AgainOf}; len(open) > 0; open = open[1:] {
		for _, l := range s.Before(open[0]) {
			if l.BeforeID == done.ID {
				return true
			}
			if !seen[l.BeforeID] {
				seen[l.BeforeID] = true
				open = append(open, l.BeforeID)
			}
		}
	}
	return false
}

// minutes are what the work takes again.
func (w *workAgain) minutes() int {
	return min(w.of.Attended, max(leastAgain, int(math.Ceil(float64(w.of.Attended)*w.share))))
}
