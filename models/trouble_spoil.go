package models

import (
	"fmt"
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

// comeback adds the steps that come back, and their links.
type comeback struct {
	*editor
	snap  *Snapshot
	step  *Step // in which the parts were spoiled
	lost  *loss
	again map[ID]*workAgain // by the step that is done again
	came  map[ID]ID         // by that step, the one that came back
}

func (b *comeback) add(all []workAgain) error {
	for i := range all {
		w := &all[i]
		b.again[w.of.ID] = w
		if err := b.addStep(w, b.editor.step(b.step.ID).Position-1); err != nil {
			return err
		}
		if err := b.read(); err != nil {
			return err
		}
	}
	after := b.reach(b.step.ID)
	for _, id := range slices.Sorted(maps.Keys(b.again)) {
		if err := b.link(id, after); err != nil {
			return err
		}
	}
	if err := b.begin(); err != nil {
		return err
	}
	for id := range b.next(b.step.ID) {
		if came := b.came[id]; came != 0 { // done ahead of the step, and so once more
			if err := b.addLink(plainLink(b.step.ID, came, whyAgain)); err != nil {
				return err
			}
		}
	}
	return nil
}

// begin puts those that nothing comes before behind the work that they do again.
func (b *comeback) begin() error {
	if err := b.read(); err != nil {
		return err
	}
	for _, id := range slices.Sorted(maps.Keys(b.came)) {
		if len(b.before(b.came[id])) > 0 {
			continue
		}
		if err := b.addLink(Link{BeforeID: id, AfterID: b.came[id], From: FromAttended, Why: whyAgain}); err != nil {
			return err
		}
	}
	return nil
}

// whyAgain is the reason of the links of what comes back.
const whyAgain = "made again for what was spoiled"

// addStep adds one step that comes back, behind a place in the list.
func (b *comeback) addStep(w *workAgain, behind int) error {
	row := *w.of
	var err error
	if row.Key, err = b.againKey(w.of); err != nil {
		return err
	}
	row.Name, row.Attended, row.FirstAttended = b.againName(w.of), w.minutes(), 0
	row.OpenTime = int(math.Ceil(float64(w.of.OpenTime) * w.share))
	row.AgainOf, row.MakesID = &w.of.ID, nil // what it makes is counted once, with the first
	if err := b.insert(&row, behind); err != nil {
		return err
	}
	b.came[w.of.ID] = row.ID
	clamps := map[ID]int{}
	for _, u := range b.snap.ClampsOf(w.of.ID) {
		clamps[u.ClampClassID] = int(math.Ceil(float64(u.Count) * w.share))
	}
	if err := b.saveClamps(row.ID, clamps); err != nil {
		return err
	}
	return b.saveUses(row.PieceID, row.ID, w.parts, w.assemblies)
}

// againMark stands behind the keys of steps that came back.
const againMark = "-again"

// againKey is a free key that says "again".
func (b *comeback) againKey(of *Step) (string, error) {
	base := of.FirstKey() + againMark
	gone, err := b.removed()
	if err != nil {
		return "", err
	}
	taken := slices.ContainsFunc(b.steps, func(s Step) bool { return s.Key == base }) ||
		slices.ContainsFunc(gone, func(r RemovedStep) bool { return r.Key == base })
	if !taken {
		return base, nil
	}
	return b.newKey(base)
}

// againName is a step's name with "again" behind it, counted from the second time on.
func (b *comeback) againName(of *Step) string {
	name := of.Name + " (again)"
	for n := 2; slices.ContainsFunc(b.steps, func(s Step) bool { return s.PieceID == of.PieceID && s.Name == name }); n++ {
		name = fmt.Sprintf("%s (again, %d)", of.Name, n)
	}
	return name
}

// link keeps one step that came back in the order in which its work was done:
// before what follows it among those that came back, before what is still to be
// done on the same parts, and before the step they were spoiled in.
func (b *comeback) link(of ID, after map[ID]bool) error {
	leads := after[of]
	for _, id := range slices.Sorted(maps.Keys(b.next(of))) {
		to := id
		if came := b.came[id]; came != 0 {
			to = came
		}
		leads = leads || id == b.step.ID || b.again[id] != nil && !after[id] || b.reach(id)[b.step.ID]
		if err := b.follow(of, id, b.came[of], to); err != nil {
			return err
		}
	}
	if leads {
		return nil
	}
	return b.addLink(plainLink(b.came[of], b.step.ID, whyAgain))
}

// follow links two steps as the two that they stand for are linked, or plainly.
func (b *comeback) follow(of, id, before, after ID) error {
	linked := false
	for _, l := range b.links {
		if l.BeforeID == of && l.AfterID == id {
			l.BeforeID, l.AfterID, linked = before, after, true
			if err := b.addLink(l); err != nil {
				return err
			}
		}
	}
	if linked {
		return nil
	}
	return b.addLink(plainLink(before, after, whyAgain))
}

// next finds the steps that follow one next, among those that matter to the lost
// parts.
func (b *comeback) next(from ID) map[ID]bool {
	found, seen := map[ID]bool{}, map[ID]bool{from: true}
	for open := []ID{from}; len(open) > 0; open = open[1:] {
		for _, l := range b.after(open[0]) {
			switch id := l.AfterID; {
			case seen[id]:
			case b.matters(id):
				seen[id], found[id] = true, true
			default:
				seen[id] = true
				open = append(open, id)
			}
		}
	}
	return found
}

// matters says whether a step is one whose work is done again, the one in
// trouble, or has the lost parts still before it.
func (b *comeback) matters(id ID) bool {
	if id == b.step.ID || b.again[id] != nil {
		return true
	}
	st := b.snap.Step(id)
	return st != nil && st.AgainOf == nil && (st.State == Todo || st.State == PutDown) && b.snap.shareIn(st, b.lost) > 0
}
