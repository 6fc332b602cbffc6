package planner

import (
	"container/heap"
	"fmt"
	"slices"
	"strings"

	"faceside/models"
	"faceside/models/pattern"
	"faceside/models/phrase"
)

// PieceOrder reads the order of work of a piece back from its records, as they
// are now: what PieceRecords wrote, and what was edited since. Links to steps of
// other pieces are left out. It takes time in proportion to steps and links.
func PieceOrder(snap *models.Snapshot, piece models.ID) (*pattern.Built, error) {
	return pieceOrder(snap, piece, func(*models.Step) bool { return true })
}

// WorkOrder is PieceOrder without what was done again for spoiled parts: that is
// no part of how such a piece is made.
func WorkOrder(snap *models.Snapshot, piece models.ID) (*pattern.Built, error) {
	return pieceOrder(snap, piece, func(st *models.Step) bool { return st.AgainOf == nil })
}

// pieceOrder reads the steps that counts says.
func pieceOrder(snap *models.Snapshot, piece models.ID, counts func(*models.Step) bool) (*pattern.Built, error) {
	p := snap.Piece(piece)
	if p == nil {
		return nil, &models.Error{Code: models.NotFound, Field: "piece", Value: fmt.Sprint(piece), Sentence: phrase.Of("There is no piece with number %d.", piece)}
	}
	f, err := readFacts(p)
	if err != nil {
		return nil, err
	}
	o := orderReader{snap: snap, facts: f, counts: counts, built: &pattern.Built{Pattern: p.Pattern, Title: p.Name, Measures: f.Measures, Choices: f.Choices}}
	if f.Title != "" {
		o.built.Title = f.Title
	}
	o.parts(p.ID)
	o.assemblies(p.ID)
	if err := o.steps(p); err != nil {
		return nil, err
	}
	return o.built, nil
}

// orderReader carries one PieceOrder through.
type orderReader struct {
	snap   *models.Snapshot
	facts  facts
	counts func(*models.Step) bool
	built  *pattern.Built
}

func (o *orderReader) parts(piece models.ID) {
	for _, p := range o.snap.Parts {
		if p.PieceID != piece {
			continue
		}
		o.built.Parts = append(o.built.Parts, pattern.Part{Key: p.Key, Name: p.Name, Quantity: p.Quantity,
			Finished: pattern.Size{Length: p.Length, Width: p.Width, Thickness: p.Thickness},
			Rough:    pattern.Size{Length: p.RoughLength, Width: p.RoughWidth, Thickness: p.RoughThickness},
			Species:  p.Species, Grain: p.Grain, Note: p.Note})
	}
}

func (o *orderReader) assemblies(piece models.ID) {
	parts, inner := map[models.ID][]pattern.PartUse{}, map[models.ID][]string{}
	for _, u := range o.snap.AssemblyParts {
		if p := o.snap.Part(u.PartID); p != nil {
			parts[u.AssemblyID] = append(parts[u.AssemblyID], pattern.PartUse{Part: p.Key, Quantity: u.Quantity})
		}
	}
	for _, u := range o.snap.AssemblyAssemblies {
		if a := o.snap.Assembly(u.InnerID); a != nil {
			inner[u.AssemblyID] = append(inner[u.AssemblyID], a.Key)
		}
	}
	for _, a := range o.snap.Assemblies {
		if a.PieceID != piece {
			continue
		}
		known := o.facts.Assemblies[a.Key]
		o.built.Assemblies = append(o.built.Assemblies, pattern.Assembly{Key: a.Key, Name: a.Name, Size: known.Size, Loose: known.Loose,
			Parts: asWritten(parts[a.ID], known.Parts), Assemblies: inner[a.ID]})
	}
}

// asWritten gives uses of parts in the order and groups in which the pattern
// wrote them, where they are still the same.
func asWritten(uses, written []pattern.PartUse) []pattern.PartUse {
	now, then := map[string]int{}, map[string]int{}
	for _, u := range uses {
		now[u.Part] += u.Quantity
	}
	for _, u := range written {
		then[u.Part] += u.Quantity
	}
	if len(now) != len(then) {
		return uses
	}
	for key, n := range now {
		if then[key] != n {
			return uses
		}
	}
	return written
}

// steps reads the steps in an order that respects the links.
func (o *orderReader) steps(p *models.Piece) error {
	var steps []*models.Step
	key := map[models.ID]string{}
	for _, st := range o.snap.StepsOf(p.CommissionID) {
		if st.PieceID == p.ID && o.counts(st) {
			steps = append(steps, st)
			key[st.ID] = st.Key
		}
	}
	var links []models.Link
	for _, l := range o.snap.Links {
		if key[l.BeforeID] != "" && key[l.AfterID] != "" {
			links = append(links, l)
			o.built.Links = append(o.built.Links, pattern.Link{Before: key[l.BeforeID], After: key[l.AfterID],
				From: pattern.LinkFrom(l.From), Min: l.MinLag, Max: l.MaxLag, Why: l.Why})
		}
	}
	sorted := inOrder(steps, links)
	if len(sorted) < len(steps) {
		return fmt.Errorf("the order of work of %q goes in a circle", p.Name)
	}
	for _, st := range sorted {
		o.built.Steps = append(o.built.Steps, o.step(st))
	}
	return nil
}

func (o *orderReader) step(st *models.Step) pattern.Step {
	out := pattern.Step{Key: st.Key, Name: st.Name, Kind: st.Kind, Phase: pattern.Phase(st.Phase), Verb: st.Verb, Attended: st.Attended,
		Unattended: st.Unattended, Rest: pattern.Rest(st.Rest), Interruptible: st.Interruptible, Hands: st.Hands, Dusty: st.Dusty, Wet: st.Wet,
		OpenTime: st.OpenTime, Cautions: st.Cautions, Note: st.Note}
	if s := o.snap.Station(st.StationID); s != nil {
		out.Station = s.Key
	}
	if s := o.snap.SetupOf(st); s != nil {
		out.Setup = &pattern.Setup{Family: s.Family, State: s.State, Instruction: s.Instruction}
	}
	known := o.facts.step(st, out.Station, out.Setup)
	out.With, out.KeepsFaces = known.With, known.KeepsFaces
	if known.Setup != nil && strings.HasSuffix(st.Note, known.Setup.Instruction) {
		out.Setup = known.Setup
		out.Note = strings.TrimSuffix(strings.TrimSuffix(st.Note, known.Setup.Instruction), " ")
	}
	o.uses(st, &out, known)
	return out
}

// uses reads what a step works on and with.
func (o *orderReader) uses(st *models.Step, out *pattern.Step, known stepFacts) {
	for _, u := range o.snap.PartsOf(st.ID) {
		if p := o.snap.Part(u.PartID); p != nil {
			out.Parts = append(out.Parts, pattern.PartUse{Part: p.Key, Quantity: u.Quantity})
		}
	}
	out.Parts = asWritten(out.Parts, known.Parts)
	for _, u := range o.snap.AssembliesOf(st.ID) {
		if a := o.snap.Assembly(u.AssemblyID); a != nil {
			out.Assemblies = append(out.Assemblies, a.Key)
		}
	}
	for _, u := range o.snap.ClampsOf(st.ID) {
		if c := o.snap.Clamp(u.ClampClassID); c != nil {
			out.Clamps = append(out.Clamps, pattern.ClampUse{Class: c.Key, Count: u.Count})
		}
	}
	if st.MakesID != nil {
		if a := o.snap.Assembly(*st.MakesID); a != nil {
			out.Makes = a.Key
		}
	}
	if st.GlueID != nil {
		if g := o.snap.Glue(*st.GlueID); g != nil {
			out.Glue = g.Key
		}
	}
	if st.FinishID != nil {
		if f := o.snap.Finish(*st.FinishID); f != nil {
			out.Finish = f.Key
		}
	}
}

// inOrder sorts steps so that links lead forward, as near to the given order as
// that allows; fewer come back where links go in a circle.
func inOrder(steps []*models.Step, links []models.Link) []*models.Step {
	place, left, after := map[models.ID]int{}, make([]int, len(steps)), make([][]int, len(steps))
	for i, st := range steps {
		place[st.ID] = i
	}
	for _, l := range links {
		before, later := place[l.BeforeID], place[l.AfterID]
		left[later]++
		after[before] = append(after[before], later)
	}
	var free places
	for i, n := range left {
		if n == 0 {
			free = append(free, i) // rising: a heap already
		}
	}
	var out []*models.Step
	for len(free) > 0 {
		i := heap.Pop(&free).(int)
		out = append(out, steps[i])
		for _, later := range after[i] {
			if left[later]--; left[later] == 0 {
				heap.Push(&free, later)
			}
		}
	}
	return out
}

// places is a heap of places in a list, the least first.
type places []int

func (p places) Len() int           { return len(p) }
func (p places) Less(a, b int) bool { return p[a] < p[b] }
func (p places) Swap(a, b int)      { p[a], p[b] = p[b], p[a] }
func (p *places) Push(x any)        { *p = append(*p, x.(int)) }
func (p *places) Pop() any {
	last := (*p)[len(*p)-1]
	*p = slices.Delete(*p, len(*p)-1, len(*p))
	return last
}

// OrderEdit is the edit that makes the order of work of a piece what built says.
// It refuses what PieceRecords refuses.
func OrderEdit(built *pattern.Built, piece models.ID, snap *models.Snapshot) (models.Edit, error) {
	p := snap.Piece(piece)
	if p == nil {
		return nil, &models.Error{Code: models.NotFound, Field: "piece", Value: fmt.Sprint(piece), Sentence: phrase.Of("There is no piece with number %d.", piece)}
	}
	order, err := PieceRecords(built, p.Name, pattern.Input{Pattern: p.Pattern, Measures: p.Measures, Choices: p.Choices}, snap)
	if err != nil {
		return nil, err
	}
	return models.Rework{PieceID: piece, Order: order}, nil
}
