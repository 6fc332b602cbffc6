package models

import (
	"fmt"
	"time"

	"faceside/models/phrase"
)

// mayTap refuses a tap of a kind that the step's state, its commission or the
// steps before it do not allow.
func (t *tapper) mayTap(step *Step, kind TapKind) error {
	commission, err := get[Commission](t.tx, "commission", step.CommissionID)
	if err != nil {
		return err
	}
	if err := t.inState(step, kind); err != nil {
		return err
	}
	switch commission.State {
	case Delivered, Dropped:
		return t.notWorkedOn(commission)
	case Held:
		if kind == TapStart {
			return t.notWorkedOn(commission)
		}
	}
	if kind != TapStart {
		return nil
	}
	return t.mayStart(step)
}

func (t *tapper) notWorkedOn(c *Commission) error {
	return conflict("commission", c.Name, "The commission “%s” is %s: no work is done on it.", c.Name, c.State.Words())
}

// inState refuses a tap whose kind does not fit the step's state.
func (t *tapper) inState(step *Step, kind TapKind) error {
	if step.Progress().canTake(kind) {
		return nil
	}
	switch {
	case step.State == InHand:
		return t.whoHas(step)
	case kind == TapStart && step.State == InTrouble:
		return conflict("step", step.Name, "“%s” is in trouble%s: settle that first.", step.Name, colon(step.Trouble))
	case kind == TapStart:
		return conflict("step", step.Name, "“%s” is finished already.", step.Name)
	}
	return conflict("step", step.Name, "“%s” is %s: it cannot be %s.", step.Name, stateWords[step.State].Of(), kindWords[kind].Of())
}

// stateWords and kindWords complete "it is ..." and "it cannot be ...".
var (
	stateWords = map[StepState]phrase.Key{
		Todo: "not started", InHand: "in hand", PutDown: "put down", AtRest: "finished and resting", Done: "done", InTrouble: "in trouble",
	}
	kindWords = map[TapKind]phrase.Key{
		TapStart: "started", TapPutDown: "put down", TapFinish: "finished", TapOut: "taken out", TapTrouble: "reported", TapSettled: "settled",
		TapHelp: "helped with", TapManage: "managed alone",
	}
)

// whoHas says who has a step in hand, and since when.
func (t *tapper) whoHas(step *Step) error {
	holder, err := get[Person](t.tx, "person", idOf(step.PersonID))
	if err != nil {
		return err
	}
	return conflict("step", step.Name, "%s has “%s” in hand since %s.", holder.Name, step.Name, t.clock(*step.TakenAt))
}

// mayStart refuses a start while the person has something else in hand, the
// station is out of order, or something before the step is not ready for it.
func (t *tapper) mayStart(step *Step) error {
	run := "" // what is in hand within the run that is joined does not count
	if t.request.Kind == TapJoinRun {
		run = t.request.Run
	}
	if err := t.handsFree(t.request.PersonID, run); err != nil {
		return err
	}
	station, err := get[Station](t.tx, "station", step.StationID)
	if err != nil {
		return err
	}
	if station.Down {
		return conflict("station", station.Name, "%s is out of order: “%s” cannot be started on it.", station.Name, step.Name)
	}
	waits, err := t.waitsFor(step)
	if err != nil || len(waits) == 0 {
		return err
	}
	var why phrase.Phrase
	for _, w := range waits {
		why = why.Then(w.Sentence)
	}
	return conflict("step", step.Name, "“%s” is not ready. %s", step.Name, why)
}

// handsFree refuses a second thing in the hands of one person, or one beside what
// they help with; what is in hand within the given run does not count.
func (t *tapper) handsFree(person ID, run string) error {
	// One after the other by its own index: with OR between them SQLite reads all steps.
	has, err := one[Step](t.tx.Where(`id IN (
		SELECT id FROM steps WHERE state = 'in hand' AND person_id = ? AND (run = '' OR run <> ?)
		UNION ALL
		SELECT s.id FROM steps s, json_each(s.helpers) h WHERE s.helpers IS NOT NULL AND h.value ->> 'PersonID' = ?)`, person, run, person).
		Order("id"))
	if err != nil {
		return fmt.Errorf("look what person %d has in hand: %w", person, err)
	}
	if has == nil {
		return nil
	}
	holder, err := get[Person](t.tx, "person", person)
	if err != nil {
		return err
	}
	if has.Progress().helps(person) {
		return conflict("person", holder.Name, "%s helps with “%s”: tap first that it is managed without.", holder.Name, has.Name)
	}
	return conflict("person", holder.Name, "%s has “%s” in hand: finish it or put it down first.", holder.Name, has.Name)
}

// waitsFor asks the links of one step, as Snapshot.WaitsFor does.
func (t *tapper) waitsFor(step *Step) ([]Waiting, error) {
	near := Snapshot{At: t.now, Shop: Shop{TimeZone: t.zone.String()}, Steps: []Step{*step}}
	if err := t.tx.Where("after_id = ?", step.ID).Order("id").Find(&near.Links).Error; err != nil {
		return nil, fmt.Errorf("read the links of step %d: %w", step.ID, err)
	}
	if len(near.Links) == 0 {
		return nil, nil
	}
	ids := make([]ID, len(near.Links))
	for i, l := range near.Links {
		ids[i] = l.BeforeID
	}
	var before []Step
	if err := t.tx.Where("id IN ?", ids).Find(&before).Error; err != nil {
		return nil, fmt.Errorf("read what comes before step %d: %w", step.ID, err)
	}
	near.Steps = append(near.Steps, before...)
	var hold []ID
	for i := range before {
		if before[i].State == InHand {
			hold = append(hold, idOf(before[i].PersonID))
		}
	}
	if len(hold) > 0 {
		if err := t.tx.Where("id IN ?", hold).Find(&near.People).Error; err != nil {
			return nil, fmt.Errorf("read who has what comes before step %d in hand: %w", step.ID, err)
		}
	}
	return near.WaitsFor(step.ID, t.now), nil
}

// clock is a time as people at the bench say it.
func (t *tapper) clock(at time.Time) phrase.Phrase { return clockTime(at, t.now, t.zone) }

// colon sets what was said behind a colon, if anything was.
func colon(s string) string {
	if s == "" {
		return ""
	}
	return " (" + s + ")"
}
