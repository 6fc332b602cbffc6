package models

import (
	"cmp"
	"fmt"
	"maps"
	"reflect"
	"slices"

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
	t.reorders = slices.Contains(reordering, back.Kind)
	row := t.row()
	row.Undoes, row.StationID = &back.Seq, back.StationID
	switch {
	case back.Kind == TapDown || back.Kind == TapUp:
		return t.undoOrder(back, row)
	case back.StepID == nil:
		return t.undoSet(back, row)
	}
	return t.undoStep(back)
}

func (t *tapper) tapBySeq(seq int64) (*Tap, error) {
	row, err := one[Tap](t.tx.Where("seq = ?", seq))
	if err != nil {
		return nil, fmt.Errorf("read tap %d: %w", seq, err)
	}
	if row == nil {
		return nil, notFound("tap", seq)
	}
	return row, nil
}

// undoStep takes back what a tap did to a step, and to all steps of the same act.
func (t *tapper) undoStep(back *Tap) (TapResult, error) {
	act, err := rowsOf(t.tx, *back)
	if err != nil {
		return TapResult{}, err
	}
	past, err := t.past(&act[0])
	if err != nil {
		return TapResult{}, err
	}
	rows := make([]Tap, len(act))
	for i, a := range act {
		rows[i] = t.actRow(i, TapUndo, len(act) > 1)
		rows[i].Undoes, rows[i].StepID, rows[i].StationID = &a.Seq, a.StepID, a.StationID
	}
	before, err := t.mayUndoAll(act, past, rows)
	if err != nil {
		return TapResult{}, err
	}
	for i := range rows {
		if err := t.add(&rows[i]); err != nil {
			return TapResult{}, err
		}
	}
	if err := past.put(t.tx, before); err != nil {
		return TapResult{}, err
	}
	if back.Trouble != "" {
		if err := t.undoTrouble(back, past.steps[*back.StepID]); err != nil {
			return TapResult{}, err
		}
	}
	if act[0].StationID != nil {
		if err := t.resetStation(*act[0].StationID); err != nil {
			return TapResult{}, err
		}
	}
	return TapResult{Tap: rows[0], Step: past.steps[*act[0].StepID]}, nil
}

// mayUndoAll refuses to take an act back where one of its rows cannot be, and
// returns where the steps stood before it.
func (t *tapper) mayUndoAll(act []Tap, past *past, undos []Tap) (Replayed, error) {
	for i := range act {
		step := past.steps[*act[i].StepID]
		if err := newest(&act[i], Effective(past.of(step.ID)), "“"+step.Name+"”"); err != nil {
			return Replayed{}, err
		}
	}
	if act[0].Act != "" && !act[0].Joined && slices.Contains(intoRun, act[0].Kind) {
		if err := past.nothingJoined(act[0].Act); err != nil {
			return Replayed{}, err
		}
	}
	before, err := past.replay(undos)
	if err != nil {
		return before, err
	}
	for i := range act {
		step := past.steps[*act[i].StepID]
		if err := t.mayUndo(&act[i], step, before.Steps[step.ID]); err != nil {
			return before, err
		}
	}
	return before, nil
}

// past is the journal of steps whose attended time hangs together: those that
// were ever in one run, and in a run with one of these, and so on. Of a step that
// never was in a run it may begin with the tap that is taken back: the row says
// where the step stood before.
type past struct {
	steps map[ID]*Step
	taps  []Tap
	was   *Progress // before the first of the taps; nil: these are all
}

// past reads the journal of a tap's step and of those it hangs together with.
func (t *tapper) past(back *Tap) (*past, error) {
	p := &past{steps: map[ID]*Step{}}
	var steps []Step
	err := t.tx.Raw(`WITH RECURSIVE near (id) AS (SELECT ? UNION SELECT o.step_id FROM near
		JOIN taps t ON t.step_id = near.id AND t.kind IN ? AND t.act <> '' JOIN taps o ON o.act = t.act AND o.act <> '' AND o.kind IN ?)
		SELECT * FROM steps WHERE id IN (SELECT id FROM near) ORDER BY id`, *back.StepID, intoRun, intoRun).Scan(&steps).Error
	if err != nil {
		return nil, fmt.Errorf("look what was in a run with step %d: %w", *back.StepID, err)
	}
	ids := make([]ID, len(steps))
	for i := range steps {
		ids[i], p.steps[steps[i].ID] = steps[i].ID, &steps[i]
	}
	rows := t.tx.Where("step_id IN ?", ids).Order("seq")
	if back.Was != nil && len(steps) == 1 {
		p.was, rows = back.Was, rows.Where("seq >= ?", back.Seq)
	}
	if err := rows.Find(&p.taps).Error; err != nil {
		return nil, fmt.Errorf("read the taps of step %d: %w", *back.StepID, err)
	}
	return p, nil
}

// of returns the taps of one of the steps.
func (p *past) of(step ID) []Tap {
	return slices.DeleteFunc(slices.Clone(p.taps), func(t Tap) bool { return *t.StepID != step })
}

// replay reads the journal with rows that are to come.
func (p *past) replay(rows []Tap) (Replayed, error) {
	if p.was != nil {
		return Replayed{Steps: map[ID]Progress{*rows[0].StepID: *p.was}}, nil
	}
	unattended := map[ID]int{}
	for id, step := range p.steps {
		unattended[id] = step.Unattended
	}
	r, err := Replay(slices.Concat(p.taps, rows), unattended)
	if err != nil {
		return r, fmt.Errorf("replay %d steps: %w", len(p.steps), err)
	}
	return r, nil
}

// put stores where the steps stand then: first those that leave a hand, so that
// nobody has two things in hand in between.
func (p *past) put(tx *gorm.DB, to Replayed) error {
	ids := slices.Sorted(maps.Keys(p.steps))
	slices.SortStableFunc(ids, func(a, b ID) int {
		return cmp.Compare(toHand(to.Steps[a]), toHand(to.Steps[b]))
	})
	for _, id := range ids {
		if step := p.steps[id]; !reflect.DeepEqual(step.Progress(), to.Steps[id]) {
			if err := saveProgress(tx, step, to.Steps[id]); err != nil {
				return err
			}
		}
	}
	return nil
}

// toHand puts what comes to stand in a hand last.
func toHand(p Progress) int {
	if p.State == InHand {
		return 1
	}
	return 0
}

// nothingJoined refuses to take a run back that another step joined since.
func (p *past) nothingJoined(run string) error {
	for _, t := range Effective(p.taps) {
		if t.Joined && t.Act == run {
			return conflict("undoes", run, "“%s” was taken along in this run since: take that back first.", p.steps[*t.StepID].Name)
		}
	}
	return nil
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
	if to.State == InHand && step.State != InHand {
		if err := t.handsFree(*to.PersonID, to.Run); err != nil {
			return err
		}
	}
	for _, h := range to.Helpers {
		if !step.Progress().helps(h.PersonID) {
			if err := t.handsFree(h.PersonID, ""); err != nil {
				return err
			}
		}
	}
	return nil
}

// startedSince finds a step that follows and has a start in the journal, one
// that counts, after the given tap.
func startedSince(tx *gorm.DB, step ID, seq int64) (*Step, error) {
	row, err := one[Step](tx.Where(`id IN (SELECT l.after_id FROM links l JOIN taps t ON t.step_id = l.after_id
		WHERE l.before_id = ? AND t.kind = ? AND t.seq > ?
		AND NOT EXISTS (SELECT 1 FROM taps u WHERE u.undoes = t.seq))`, step, TapStart, seq).
		Order("position"))
	if err != nil {
		return nil, fmt.Errorf("look what follows step %d: %w", step, err)
	}
	return row, nil
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
	row, err := one[Tap](t.tx.Where("station_id = ? AND kind IN ?", station, []TapKind{TapSet, TapStart, TapGather}).
		Where("NOT EXISTS (SELECT 1 FROM taps u WHERE u.undoes = taps.seq)").
		Order("seq DESC"))
	if err != nil {
		return nil, fmt.Errorf("read how station %d was set: %w", station, err)
	}
	return row, nil
}
