package models

import (
	"fmt"
	"maps"
	"math"
	"slices"
)

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
