package models

import (
	"fmt"

	"gorm.io/gorm"
)

// undo takes the newest tap of a step, or of a station, back. What stood
// before it is read from the journal.
func (t *tapper) undo() (TapResult, error) {
	back, err := t.tapBySeq(t.request.Undoes)
	if err != nil {
		return TapResult{}, err
	}
	if back.Kind == TapUndo {
		return TapResult{}, invalid("undoes", back.Seq, "An undo is not taken back: tap again what was meant.")
	}
	row := t.row()
	row.Undoes, row.StepID, row.StationID = &back.Seq, back.StepID, back.StationID
	if back.StepID == nil {
		return t.undoSet(back, row)
	}
	return t.undoStep(back, row)
}

func (t *tapper) tapBySeq(seq int64) (*Tap, error) {
	var rows []Tap
	if err := t.tx.Where("seq = ?", seq).Limit(1).Find(&rows).Error; err != nil {
		return nil, fmt.Errorf("read tap %d: %w", seq, err)
	}
	if len(rows) == 0 {
		return nil, notFound("tap", seq)
	}
	return &rows[0], nil
}

// undoStep takes back a tap on a step.
func (t *tapper) undoStep(back *Tap, row Tap) (TapResult, error) {
	step, err := get[Step](t.tx, "step", *back.StepID)
	if err != nil {
		return TapResult{}, err
	}
	var taps []Tap
	if err := t.tx.Where("step_id = ?", step.ID).Order("seq").Find(&taps).Error; err != nil {
		return TapResult{}, fmt.Errorf("read the taps of step %d: %w", step.ID, err)
	}
	if err := newest(back, Effective(taps), "“"+step.Name+"”"); err != nil {
		return TapResult{}, err
	}
	before, err := Replay(append(taps, row), map[ID]int{step.ID: step.Unattended})
	if err != nil {
		return TapResult{}, fmt.Errorf("replay step %d: %w", step.ID, err)
	}
	if err := t.mayUndo(back, step, before.Steps[step.ID]); err != nil {
		return TapResult{}, err
	}
	if err := t.add(&row); err != nil {
		return TapResult{}, err
	}
	if err := saveProgress(t.tx, step, before.Steps[step.ID]); err != nil {
		return TapResult{}, err
	}
	if back.StationID != nil {
		if err := t.resetStation(*back.StationID); err != nil {
			return TapResult{}, err
		}
	}
	return TapResult{Tap: row, Step: step}, nil
}

// newest refuses to take back anything but the last tap that counts.
func newest(back *Tap, effective []Tap, of string) error {
	if len(effective) > 0 && effective[len(effective)-1].Seq == back.Seq {
		return nil
	}
	for _, e := range effective {
		if e.Seq == back.Seq {
			return conflict("undoes", back.Seq, "Something else was tapped for %s since: take that back first.", of)
		}
	}
	return conflict("undoes", back.Seq, "That tap for %s was taken back already.", of)
}

// mayUndo refuses when a following step was started since, when the step would
// come back into hands that are full, and when the commission is closed.
func (t *tapper) mayUndo(back *Tap, step *Step, to Progress) error {
	commission, err := get[Commission](t.tx, "commission", step.CommissionID)
	if err != nil {
		return err
	}
	if commission.State == Delivered || commission.State == Dropped {
		return t.notWorkedOn(commission)
	}
	following, err := startedSince(t.tx, step.ID, back.Seq)
	if err != nil {
		return err
	}
	if following != nil {
		return conflict("undoes", back.Seq, "“%s” follows “%s” and was started since: take that back first.", following.Name, step.Name)
	}
	if to.State == InHand {
		return t.handsFree(*to.PersonID, step.ID)
	}
	return nil
}

// startedSince finds a step that follows and has a start in the journal, one
// that counts, after the given tap.
func startedSince(tx *gorm.DB, step ID, seq int64) (*Step, error) {
	var rows []Step
	err := tx.Where(`id IN (SELECT l.after_id FROM links l JOIN taps t ON t.step_id = l.after_id
		WHERE l.before_id = ? AND t.kind = ? AND t.seq > ?
		AND NOT EXISTS (SELECT 1 FROM taps u WHERE u.undoes = t.seq))`, step, TapStart, seq).
		Order("position").Limit(1).Find(&rows).Error
	if err != nil {
		return nil, fmt.Errorf("look what follows step %d: %w", step, err)
	}
	if len(rows) == 0 {
		return nil, nil
	}
	return &rows[0], nil
}

// undoSet takes back a tap that set a station.
func (t *tapper) undoSet(back *Tap, row Tap) (TapResult, error) {
	station, err := get[Station](t.tx, "station", *back.StationID)
	if err != nil {
		return TapResult{}, err
	}
	last, err := t.lastSet(station.ID)
	if err != nil {
		return TapResult{}, err
	}
	if err := t.mayUndoSet(back, last, station); err != nil {
		return TapResult{}, err
	}
	if err := t.add(&row); err != nil {
		return TapResult{}, err
	}
	return TapResult{Tap: row}, t.resetStation(station.ID)
}

// mayUndoSet refuses to take back anything but the last setting that counts.
func (t *tapper) mayUndoSet(back, last *Tap, station *Station) error {
	switch {
	case last != nil && last.Seq == back.Seq:
		return nil
	case last != nil && last.Seq > back.Seq:
		return conflict("undoes", back.Seq, "%s was set again since, at %s.", station.Name, t.clock(last.At))
	}
	return conflict("undoes", back.Seq, "That tap for %s was taken back already.", station.Name)
}

// resetStation writes what the journal says a station is set to.
func (t *tapper) resetStation(station ID) error {
	last, err := t.lastSet(station)
	if err != nil {
		return err
	}
	var setup *ID
	if last != nil {
		setup = last.SetupID
	}
	return saveSetup(t.tx, station, setup)
}

// lastSet finds the newest row that counts and says how a station is set; nil
// if there is none.
func (t *tapper) lastSet(station ID) (*Tap, error) {
	var rows []Tap
	err := t.tx.Where("station_id = ? AND kind <> ?", station, TapUndo).
		Where("NOT EXISTS (SELECT 1 FROM taps u WHERE u.undoes = taps.seq)").
		Order("seq DESC").Limit(1).Find(&rows).Error
	if err != nil {
		return nil, fmt.Errorf("read how station %d was set: %w", station, err)
	}
	if len(rows) == 0 {
		return nil, nil
	}
	return &rows[0], nil
}
