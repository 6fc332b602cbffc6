package models

import (
	"fmt"
	"slices"

	"github.com/google/uuid"
)

// A step that is to be done once more for spoiled parts has as many pieces fewer
// that it is done with. Nobody says which piece of a part is spoiled: those tapped
// off last are taken for it, since one that is looked at again costs a tap, and one
// that is passed over costs the part.

// StepPiece is one piece of a part in a step.
type StepPiece struct {
	StepID, PartID ID
	Number         int
}

// untick takes the ticks of as many pieces as are lost off a step, and off the others
// of its piece that are begun and not finished, and returns which.
func (t *tapper) untick(e *editor, step *Step, lost map[ID]int) ([]StepPiece, error) {
	var steps []ID
	for i := range e.steps {
		s := &e.steps[i]
		again := s.PieceID == step.PieceID && s.StartedAt != nil && s.FinishedAt == nil && s.AgainOf == nil
		if s.ID == step.ID || again {
			steps = append(steps, s.ID)
		}
	}
	rows, err := newestTicks(t.tx, steps)
	if err != nil {
		return nil, err
	}
	var off []StepPiece
	taken := map[StepPiece]int{} // by step and part
	for _, r := range rows {
		of := StepPiece{StepID: r.StepID, PartID: r.PartID}
		if !r.Done || taken[of] >= lost[r.PartID] {
			continue
		}
		taken[of]++
		off = append(off, StepPiece{StepID: r.StepID, PartID: r.PartID, Number: r.Number})
	}
	return off, t.tickAll(off, t.request.ID, false)
}

// tickAll ticks pieces, or takes their ticks off, for a tap.
func (t *tapper) tickAll(pieces []StepPiece, tap string, done bool) error {
	for _, p := range pieces {
		row := PartTick{ID: p.tickID(tap, done), StepID: p.StepID, PartID: p.PartID, Number: p.Number, Done: done,
			PersonID: t.request.PersonID, Tablet: t.request.Tablet, At: t.now}
		if err := t.tx.Create(&row).Error; err != nil {
			return fmt.Errorf("store tick %s: %w", row.ID, err)
		}
	}
	return nil
}

// tickID is the id of the row that a tap writes for a piece.
func (p StepPiece) tickID(tap string, done bool) string {
	return uuid.NewSHA1(uuid.NameSpaceOID, fmt.Appendf(nil, "%s, step %d, part %d, piece %d, %t", tap, p.StepID, p.PartID, p.Number, done)).String()
}

// tickAgain puts the ticks back that a trouble took off, where nobody has tapped the
// piece since.
func (t *tapper) tickAgain(off []StepPiece, trouble string) error {
	if len(off) == 0 {
		return nil
	}
	steps := make([]ID, len(off))
	for i, p := range off {
		steps[i] = p.StepID
	}
	rows, err := newestTicks(t.tx, steps)
	if err != nil {
		return err
	}
	still := slices.DeleteFunc(slices.Clone(off), func(p StepPiece) bool {
		return !slices.ContainsFunc(rows, func(r PartTick) bool { return r.ID == p.tickID(trouble, false) })
	})
	return t.tickAll(still, t.request.ID, true)
}
