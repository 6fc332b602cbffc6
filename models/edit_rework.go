package models

import (
	"fmt"
	"maps"
	"reflect"
	"slices"
)

// Rework makes the order of work of a piece what another says: steps, links,
// parts and assemblies are told apart by their keys. What is new is added and
// what differs is changed, where it is not begun; no step, part or assembly is
// taken out. The piece itself stays what it is, but for its facts.
type Rework struct {
	PieceID ID
	Order   NewPiece
}

func (r Rework) apply(e *editor) error {
	piece, err := get[Piece](e.tx, "piece", r.PieceID)
	if err != nil {
		return err
	}
	if piece.CommissionID != e.commission.ID {
		return notFound("piece", r.PieceID)
	}
	order := r.Order
	order.Name, order.Pattern = piece.Name, piece.Pattern
	if err := order.check(); err != nil {
		return err
	}
	w := reworker{editor: e, t: taker{tx: e.tx, commission: e.commission.ID, piece: order}}
	w.t.piece.Piece = *piece
	if order.Facts != "" && order.Facts != piece.Facts {
		if err := e.tx.Model(piece).UpdateColumn("facts", order.Facts).Error; err != nil {
			return fmt.Errorf("change the facts of the piece: %w", err)
		}
	}
	for _, stage := range []func() error{w.parts, w.assemblies, w.steps, w.links} {
		if err := stage(); err != nil {
			return err
		}
	}
	return nil
}

// reworker carries a rework through; its taker remembers numbers by key.
type reworker struct {
	*editor
	t taker
}

// parts changes and adds parts.
func (w *reworker) parts() error {
	var rows []Part
	if err := w.tx.Where("piece_id = ?", w.t.piece.ID).Find(&rows).Error; err != nil {
		return fmt.Errorf("read the parts: %w", err)
	}
	old := byKey(rows, func(p *Part) string { return p.Key })
	w.t.parts = map[string]ID{}
	for i := range w.t.piece.Parts {
		p := w.t.piece.Parts[i]
		p.CommissionID, p.PieceID = w.commission.ID, w.t.piece.ID
		if was := old[p.Key]; was == nil {
			if err := create(w.tx, "part", []*Part{&p}); err != nil {
				return err
			}
		} else if p.ID, p.Together = was.ID, was.Together; p != *was {
			if err := first(w.partNotBegun(was), w.partNotCut(was), w.tx.Select("*").Updates(&p).Error); err != nil {
				return err
			}
		}
		w.t.parts[p.Key] = p.ID
	}
	return nil
}

// partNotBegun refuses to change a part that somebody has worked on.
func (w *reworker) partNotBegun(p *Part) error {
	for i := range w.editor.steps {
		s := &w.editor.steps[i]
		if !s.begun() {
			continue
		}
		var uses int64
		if err := w.tx.Model(&StepPart{}).Where("step_id = ? AND part_id = ?", s.ID, p.ID).Count(&uses).Error; err != nil {
			return fmt.Errorf("look who works on part %d: %w", p.ID, err)
		}
		if uses > 0 {
			return conflict("part", p.Name, "“%s” is begun: the size of %s is not changed any more.", s.Name, p.Name)
		}
	}
	return nil
}

// partNotCut refuses to change a part that was booked as cut.
func (w *reworker) partNotCut(p *Part) error {
	cut, err := cutOf(w.tx, p.ID)
	if err == nil && cut > 0 {
		return conflict("part", p.Name, "Of “%s”, %d of %d are booked as cut: undo that cutting first, under Stock, or leave the part as it is.", p.Name, cut, p.Quantity)
	}
	return err
}

// assemblies renames and adds assemblies, and writes anew what is in them.
func (w *reworker) assemblies() error {
	var rows []Assembly
	if err := w.tx.Where("piece_id = ?", w.t.piece.ID).Find(&rows).Error; err != nil {
		return fmt.Errorf("read the assemblies: %w", err)
	}
	old := byKey(rows, func(a *Assembly) string { return a.Key })
	w.t.assemblies = map[string]ID{}
	for _, n := range w.t.piece.Assemblies {
		a := Assembly{CommissionID: w.commission.ID, PieceID: w.t.piece.ID, Key: n.Key, Name: n.Name}
		was := old[n.Key]
		if was == nil {
			if err := create(w.tx, "assembly", []*Assembly{&a}); err != nil {
				return err
			}
		} else if a.ID = was.ID; a != *was {
			if err := w.tx.Model(&a).Update("name", a.Name).Error; err != nil {
				return fmt.Errorf("rename the assembly %q: %w", a.Key, err)
			}
		}
		w.t.assemblies[a.Key] = a.ID
	}
	for _, n := range w.t.piece.Assemblies {
		if err := w.fill(n); err != nil {
			return err
		}
	}
	return nil
}

// fill writes what is in an assembly.
func (w *reworker) fill(n NewAssembly) error {
	id := w.t.assemblies[n.Key]
	var parts []*AssemblyPart
	for _, key := range sortedKeys(n.Parts) {
		parts = append(parts, &AssemblyPart{AssemblyID: id, PartID: w.t.parts[key], Quantity: n.Parts[key]})
	}
	var inner []*AssemblyAssembly
	for _, key := range n.Inner {
		inner = append(inner, &AssemblyAssembly{AssemblyID: id, InnerID: w.t.assemblies[key]})
	}
	for _, rows := range []any{&AssemblyPart{}, &AssemblyAssembly{}} {
		if err := w.tx.Where("assembly_id = ?", id).Delete(rows).Error; err != nil {
			return fmt.Errorf("empty the assembly %q: %w", n.Key, err)
		}
	}
	return first(create(w.tx, "parts of assemblies", parts), create(w.tx, "assemblies in assemblies", inner))
}

// steps changes and adds steps, and lists all in the new order.
func (w *reworker) steps() error {
	old := map[string]*Step{}
	for i := range w.editor.steps {
		if s := &w.editor.steps[i]; s.PieceID == w.t.piece.ID {
			old[s.Key] = s
		}
	}
	w.t.steps = map[string]ID{}
	for i := range w.t.piece.Steps {
		n := &w.t.piece.Steps[i]
		was := old[n.Key]
		delete(old, n.Key)
		id, err := w.step(n, was)
		if err != nil {
			return err
		}
		w.t.steps[n.Key] = id
		if err := w.tx.Model(&Step{}).Where("id = ?", id).UpdateColumn("position", i).Error; err != nil {
			return fmt.Errorf("list step %d: %w", id, err)
		}
	}
	for _, key := range slices.Sorted(maps.Keys(old)) {
		return conflict("step", old[key].Name, "“%s” would be taken out: take it out by itself.", old[key].Name)
	}
	return nil
}

// step stores one step, where it differs from what it was.
func (w *reworker) step(n *NewStep, was *Step) (ID, error) {
	row, err := w.row(n)
	if err != nil {
		return 0, err
	}
	if was == nil {
		if err := shopHas(w.tx, n); err != nil {
			return 0, err
		}
		if row.ID, err = nextStepID(w.tx); err != nil {
			return 0, err
		}
		row.put(untouched)
		if err := create(w.tx, "step", []*Step{row}); err != nil {
			return 0, err
		}
		return row.ID, w.use(row.ID, n)
	}
	row.ID, row.Position, row.AgainOf, row.FirstAttended = was.ID, was.Position, was.AgainOf, was.FirstAttended
	row.put(was.Progress())
	same, err := w.sameUses(was.ID, n)
	if err != nil || same && reflect.DeepEqual(row, was) {
		return was.ID, err
	}
	if err := first(was.mayChange(), shopHas(w.tx, n), w.saveStep(row, n.Clamps)); err != nil {
		return 0, err
	}
	for _, rows := range []any{&StepPart{}, &StepAssembly{}} {
		if err := w.tx.Where("step_id = ?", was.ID).Delete(rows).Error; err != nil {
			return 0, fmt.Errorf("clear what step %d works on: %w", was.ID, err)
		}
	}
	return was.ID, w.use(was.ID, n)
}

// row is the step's row, without its number and where it stands.
func (w *reworker) row(n *NewStep) (*Step, error) {
	row := n.Step
	if err := setUp(w.tx, &row, n.Setup); err != nil {
		return nil, err
	}
	row.CommissionID, row.PieceID, row.MakesID = w.commission.ID, w.t.piece.ID, nil
	if n.Makes != "" {
		makes := w.t.assemblies[n.Makes]
		row.MakesID = &makes
	}
	if row.Cautions == nil {
		row.Cautions = []string{}
	}
	return &row, nil
}

// use stores what a step works on and with.
func (w *reworker) use(id ID, n *NewStep) error {
	parts := map[ID]int{}
	for key, count := range n.Parts {
		parts[w.t.parts[key]] = count
	}
	var works []ID
	for _, key := range n.Assemblies {
		works = append(works, w.t.assemblies[key])
	}
	return first(w.saveClamps(id, n.Clamps), w.saveUses(w.t.piece.ID, id, parts, works))
}

// sameUses says whether a step works on and with what it did.
func (w *reworker) sameUses(id ID, n *NewStep) (bool, error) {
	parts, assemblies, clamps, err := w.uses(id)
	if err != nil {
		return false, err
	}
	if len(parts) != len(n.Parts) || len(assemblies) != len(n.Assemblies) || len(clamps) != len(n.Clamps) {
		return false, nil
	}
	for key, count := range n.Parts {
		if !slices.ContainsFunc(parts, func(u StepPart) bool { return u.PartID == w.t.parts[key] && u.Quantity == count }) {
			return false, nil
		}
	}
	for _, key := range n.Assemblies {
		if !slices.ContainsFunc(assemblies, func(u StepAssembly) bool { return u.AssemblyID == w.t.assemblies[key] }) {
			return false, nil
		}
	}
	for _, u := range clamps {
		if n.Clamps[u.ClampClassID] != u.Count {
			return false, nil
		}
	}
	return true, nil
}

// links removes, changes and adds links within the piece.
func (w *reworker) links() error {
	type points struct {
		before, after ID
		from          string
	}
	old := map[points]Link{}
	for _, l := range w.editor.links {
		before, after := w.editor.step(l.BeforeID), w.editor.step(l.AfterID)
		if before.PieceID == w.t.piece.ID && after.PieceID == w.t.piece.ID {
			old[points{l.BeforeID, l.AfterID, l.From}] = l
		}
	}
	for _, n := range w.t.piece.Links {
		l := n.Link
		l.ID, l.CommissionID, l.BeforeID, l.AfterID = 0, w.commission.ID, w.t.steps[n.Before], w.t.steps[n.After]
		at := points{l.BeforeID, l.AfterID, l.From}
		was, there := old[at]
		delete(old, at)
		var err error
		switch {
		case !there:
			err = first(w.mayWait(l.AfterID), create(w.tx, "link", []*Link{&l}))
		case was.MinLag != l.MinLag || !reflect.DeepEqual(was.MaxLag, l.MaxLag) || was.Why != l.Why:
			l.ID = was.ID
			err = first(w.mayWait(l.AfterID), w.saveLink(&l))
		}
		if err != nil {
			return err
		}
	}
	for _, l := range old {
		if err := first(w.mayWait(l.AfterID), w.dropLink(l)); err != nil {
			return err
		}
	}
	return nil
}

// mayWait refuses to change what a begun step waits for.
func (w *reworker) mayWait(id ID) error {
	if s := w.editor.step(id); s != nil {
		return s.mayChange()
	}
	return nil // just added
}

func byKey[T any](rows []T, key func(*T) string) map[string]*T {
	m := make(map[string]*T, len(rows))
	for i := range rows {
		m[key(&rows[i])] = &rows[i]
	}
	return m
}
