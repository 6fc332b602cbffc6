package models

import "fmt"

// AddStep adds a step to a piece.
type AddStep struct {
	StepWork
	PieceID    ID
	AfterID    ID         // the step it follows; 0: none
	BeforeID   ID         // a step that waits for it; 0: none
	Parts      map[ID]int // part → quantity worked on
	Assemblies []ID       // assemblies worked on
}

func (a AddStep) apply(e *editor) error {
	if err := first(a.check(), a.shopHasFor(e.tx)); err != nil {
		return err
	}
	piece, err := get[Piece](e.tx, "piece", a.PieceID)
	if err != nil {
		return err
	}
	if piece.CommissionID != e.commission.ID {
		return notFound("piece", a.PieceID)
	}
	behind, err := a.place(e)
	if err != nil {
		return err
	}
	base := "own"
	if a.Kind != "" {
		base = a.Kind
	}
	row := Step{PieceID: piece.ID}
	if row.Key, err = e.newKey(base); err != nil {
		return err
	}
	if err := a.put(e.tx, &row); err != nil {
		return err
	}
	if err := e.insert(&row, behind); err != nil {
		return err
	}
	if err := first(e.saveClamps(row.ID, a.Clamps), e.saveUses(piece.ID, row.ID, a.Parts, a.Assemblies)); err != nil {
		return err
	}
	return a.link(e, row.ID)
}

// place is the position behind which the step comes in its piece.
func (a AddStep) place(e *editor) (int, error) {
	if a.AfterID != 0 && a.AfterID == a.BeforeID {
		return 0, invalid("before", a.BeforeID, "A step cannot come both before and after the same one.")
	}
	last := -1
	for i := range e.steps {
		if e.steps[i].PieceID == a.PieceID {
			last = max(last, e.steps[i].Position)
		}
	}
	if a.BeforeID != 0 {
		s, err := e.known("before", a.BeforeID)
		if err != nil {
			return 0, err
		}
		if s.PieceID == a.PieceID {
			last = s.Position - 1
		}
	}
	if a.AfterID != 0 {
		s, err := e.known("after", a.AfterID)
		if err != nil {
			return 0, err
		}
		if s.PieceID == a.PieceID && (a.BeforeID == 0 || s.Position <= last) {
			last = s.Position
		}
	}
	return last, nil
}

func (a AddStep) link(e *editor, id ID) error {
	why := "where “" + a.Name + "” was put in"
	if a.AfterID != 0 {
		if err := e.addLink(plainLink(a.AfterID, id, why)); err != nil {
			return err
		}
	}
	if a.BeforeID != 0 {
		return e.addLink(plainLink(id, a.BeforeID, why))
	}
	return nil
}

// saveUses stores which parts and assemblies of its piece a step works on.
func (e *editor) saveUses(piece, step ID, uses map[ID]int, works []ID) error {
	var parts []*StepPart
	for _, id := range sortedKeys(uses) {
		p, err := get[Part](e.tx, "part", id)
		if err != nil {
			return err
		}
		if p.PieceID != piece {
			return notFound("part", id)
		}
		if err := between("parts", uses[id], 1, p.Quantity, ""); err != nil {
			return invalid("parts", uses[id], "There are %d of %s; the step cannot work on %d.", p.Quantity, p.Name, uses[id])
		}
		parts = append(parts, &StepPart{StepID: step, PartID: id, Quantity: uses[id]})
	}
	var assemblies []*StepAssembly
	for _, id := range works {
		a, err := get[Assembly](e.tx, "assembly", id)
		if err != nil {
			return err
		}
		if a.PieceID != piece {
			return notFound("assembly", id)
		}
		assemblies = append(assemblies, &StepAssembly{StepID: step, AssemblyID: id})
	}
	return first(create(e.tx, "parts of the step", parts), create(e.tx, "assemblies of the step", assemblies))
}

// uses reads which parts and assemblies a step works on.
func (e *editor) uses(step ID) (parts []StepPart, assemblies []StepAssembly, clamps []StepClamp, err error) {
	for _, t := range []any{&parts, &assemblies, &clamps} {
		if err := e.tx.Where("step_id = ?", step).Order("id").Find(t).Error; err != nil {
			return nil, nil, nil, fmt.Errorf("read what step %d works on: %w", step, err)
		}
	}
	return parts, assemblies, clamps, nil
}
