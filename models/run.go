package models

import (
	"fmt"
	"slices"
	"time"

	"github.com/google/uuid"
	"gorm.io/gorm"
)

// A run is several steps at one station under one setup, from any commission,
// that one person takes in hand together and taps off one after another. In the
// journal it is a Start of each step, written by one tap and bearing its id as
// their act: they are taken back together. What is tapped later of a step of
// the run (done, put down, in trouble, by whomever) is of that step alone, and
// the rest stays in hand. A ready step can join a run in hand: its Start bears the
// same act, and is taken back alone. Where a single step is in hand, what is taken
// along makes a run of both: beside its Start the same tap writes a Gather of that
// step, which keeps the time it had to itself.
//
// Nobody knows which of the steps a minute went into. So the time between two
// taps on steps of a run is shared among those then in hand, in proportion to
// their estimates when the run was taken (Tap.Share). The shares of all add up
// to the whole seconds that the run was in hand.

// runLimit is how many steps one run may have.
const runLimit = 50

// shareTime counts the time of a run up to a moment into its steps in hand,
// which must come in the order of their numbers. What is less than a second is
// counted with the next tap. A tap that comes late, or under a clock set back,
// counts none: the time up to the one before it is counted already.
func shareTime(members []*Progress, at time.Time) {
	if len(members) == 0 {
		return
	}
	counted := *members[0].CountedAt
	elapsed := max(0, int64(at.Sub(counted)/time.Second))
	until := counted.Add(time.Duration(elapsed) * time.Second)
	var all, passed int64
	for _, p := range members {
		all += int64(p.RunShare)
	}
	for _, p := range members {
		before := elapsed * passed / all
		passed += int64(p.RunShare)
		p.Worked += int(elapsed*passed/all - before) // rounded so that the sum is exact
		p.CountedAt = &until
	}
}

// runs are the steps in hand within runs, by run, while a journal is replayed.
type runs map[string][]ID

// count shares out the time of the run that a tap is of, and returns up to when:
// nil where nothing of it is in hand.
func (r *Replayed) count(all runs, t Tap) *time.Time {
	ids := all[t.runOf(r.Steps[*t.StepID].Run)]
	members := make([]*Progress, len(ids))
	for i, id := range ids {
		p := r.Steps[id]
		members[i] = &p
	}
	shareTime(members, t.At)
	for i, id := range ids {
		r.book(r.Steps[id], *members[i], t.At)
		r.Steps[id] = *members[i]
	}
	return countedAt(members)
}

// runOf is the run whose time a tap ends a stretch of: the one that its step is in
// hand with, or joins.
func (t *Tap) runOf(step string) string {
	if t.Joined {
		return t.Act
	}
	return step
}

func countedAt(members []*Progress) *time.Time {
	if len(members) == 0 {
		return nil
	}
	return members[0].CountedAt
}

// move notes that a step came into a run, or left one.
func (r runs) move(step ID, was, is Progress) {
	if was.Run != "" {
		r[was.Run] = slices.DeleteFunc(r[was.Run], func(id ID) bool { return id == step })
	}
	if is.Run != "" {
		at, _ := slices.BinarySearch(r[is.Run], step)
		r[is.Run] = slices.Insert(r[is.Run], at, step)
	}
}

// countRun shares out the time of a run and stores it for its steps other than the
// given one. It returns up to when: nil where nothing of the run is in hand.
func (t *tapper) countRun(run string, step *Step) (*time.Time, error) {
	if run == "" {
		return nil, nil
	}
	members, err := inRun(t.tx, run)
	if err != nil {
		return nil, err
	}
	all := make([]*Progress, len(members))
	for i := range members {
		p := members[i].Progress()
		all[i] = &p
	}
	shareTime(all, t.at)
	for i := range members {
		if members[i].ID == step.ID {
			step.put(*all[i])
		} else if err := saveProgress(t.tx, &members[i], *all[i]); err != nil {
			return nil, err
		}
	}
	return countedAt(all), nil
}

// inRun reads the steps of a run that are still in hand, by number.
func inRun(tx *gorm.DB, run string) ([]Step, error) {
	var steps []Step
	if err := tx.Where("run <> '' AND run = ?", run).Order("id").Find(&steps).Error; err != nil {
		return nil, fmt.Errorf("read the steps of the run %s: %w", run, err)
	}
	return steps, nil
}

// startRun takes several steps in hand together. A run of one step is that step.
func (t *tapper) startRun() (TapResult, error) {
	steps := make([]*Step, len(t.request.Steps))
	for i, id := range t.request.Steps {
		step, err := get[Step](t.tx, "step", id)
		if err != nil {
			return TapResult{}, err
		}
		steps[i] = step
	}
	if err := t.oneSetup(steps); err != nil {
		return TapResult{}, err
	}
	for _, step := range steps {
		if err := t.mayTap(step, TapStart); err != nil {
			return TapResult{}, err
		}
	}
	rows := make([]Tap, len(steps))
	for i, step := range steps {
		rows[i] = t.actRow(i, TapStart, len(steps) > 1)
		rows[i].takes(step)
	}
	if err := t.addAll(rows, steps); err != nil {
		return TapResult{}, err
	}
	return TapResult{Tap: rows[0], Step: steps[0]}, saveSetup(t.tx, steps[0].StationID, steps[0].SetupID)
}

// takes says of a row that it takes a step in hand: in a run with its share, and with
// what the station was set to for it.
func (t *Tap) takes(step *Step) {
	t.StepID, t.StationID, t.SetupID = &step.ID, &step.StationID, step.SetupID
	if t.Act != "" {
		t.Share = step.Attended
	}
}

// joinRun takes one more step along with what the person has in hand.
func (t *tapper) joinRun() (TapResult, error) {
	members, err := t.mayJoin()
	if err != nil {
		return TapResult{}, err
	}
	step, err := get[Step](t.tx, "step", t.request.StepID)
	if err != nil {
		return TapResult{}, err
	}
	if t.request.Run = members[0].Run; t.request.Run == "" {
		return t.gather(&members[0], step)
	}
	if err := t.mayTap(step, TapStart); err != nil {
		return TapResult{}, err
	}
	if err := t.oneSetup([]*Step{&members[0], step}); err != nil {
		return TapResult{}, err
	}
	row := t.row()
	row.Kind, row.Act, row.Joined = TapStart, t.request.Run, true
	row.takes(step)
	if err := t.add(&row); err != nil {
		return TapResult{}, err
	}
	if err := t.move(step, row); err != nil {
		return TapResult{}, err
	}
	return TapResult{Tap: row, Step: step}, saveSetup(t.tx, step.StationID, step.SetupID)
}

// gather makes a run of the step in hand and one that is taken along with it.
func (t *tapper) gather(inHand, along *Step) (TapResult, error) {
	steps := []*Step{inHand, along}
	if err := t.oneSetup(steps); err != nil {
		return TapResult{}, err
	}
	rows := []Tap{t.actRow(0, TapGather, true), t.actRow(1, TapStart, true)}
	for i := range rows {
		rows[i].takes(steps[i])
	}
	if err := t.addAll(rows[:1], steps[:1]); err != nil {
		return TapResult{}, err
	}
	t.request.Run = rows[0].Act // what is in hand in it does not keep the other from being taken
	if err := t.mayTap(along, TapStart); err != nil {
		return TapResult{}, err
	}
	if err := t.addAll(rows[1:], steps[1:]); err != nil {
		return TapResult{}, err
	}
	return TapResult{Tap: rows[0], Step: inHand}, saveSetup(t.tx, along.StationID, along.SetupID)
}

// inHand reads what the person who taps has in hand, by number: a step, or those of a
// run.
func (t *tapper) inHand() ([]Step, error) {
	var steps []Step
	if err := t.tx.Where("state = ? AND person_id = ?", InHand, t.request.PersonID).Order("id").Find(&steps).Error; err != nil {
		return nil, fmt.Errorf("read what person %d has in hand: %w", t.request.PersonID, err)
	}
	return steps, nil
}

// mayJoin reads what is in hand of the run to join, and refuses a run that is not
// the person's own. Where the tap names no run it is what the person has in hand.
func (t *tapper) mayJoin() ([]Step, error) {
	read := func() ([]Step, error) { return inRun(t.tx, t.request.Run) }
	if t.request.Run == "" {
		read = t.inHand
	}
	members, err := read()
	switch {
	case err != nil:
		return nil, err
	case len(members) == 0 && t.request.Run == "":
		return nil, conflict("person", t.person.Name, "%s has nothing in hand any more with which it could be taken along.", t.person.Name)
	case len(members) == 0:
		return nil, noMoreOf(t.request.Run)
	case len(members) >= runLimit:
		return nil, invalid("steps", len(members)+1, "A run is of 1 to %d steps, not %d.", runLimit, len(members)+1)
	case idOf(members[0].PersonID) != t.request.PersonID:
		return nil, t.whoHas(&members[0])
	}
	return members, nil
}

func noMoreOf(run string) error {
	return conflict("run", run, "Nothing of that run is in hand any more.")
}

// oneSetup refuses steps that do not stand at one station under one setup.
func (t *tapper) oneSetup(steps []*Step) error {
	for _, step := range steps {
		if step.SetupID == nil {
			return invalid("steps", step.Name, "“%s” needs no setup: it is taken by itself, not in a run.", step.Name)
		}
	}
	first, err := get[Setup](t.tx, "setup", *steps[0].SetupID)
	if err != nil {
		return err
	}
	for _, step := range steps[1:] {
		if *step.SetupID == first.ID {
			continue
		}
		other, err := get[Setup](t.tx, "setup", *step.SetupID)
		if err != nil {
			return err
		}
		return invalid("steps", step.Name, "A run is of one setup: “%s” wants “%s”, and “%s” wants “%s”.",
			steps[0].Name, first.State, step.Name, other.State)
	}
	return nil
}

// putDownRun lays aside what of a run is still in hand.
func (t *tapper) putDownRun() (TapResult, error) {
	members, err := inRun(t.tx, t.request.Run)
	if err != nil {
		return TapResult{}, err
	}
	if len(members) == 0 {
		return TapResult{}, noMoreOf(t.request.Run)
	}
	steps, rows := make([]*Step, len(members)), make([]Tap, len(members))
	for i := range members {
		steps[i], rows[i] = &members[i], t.actRow(i, TapPutDown, len(members) > 1)
		rows[i].StepID = &steps[i].ID
	}
	if err := t.addAll(rows, steps); err != nil {
		return TapResult{}, err
	}
	return TapResult{Tap: rows[0], Step: steps[0]}, nil
}

// actRow is the row with that number among those of one act, or the only one.
// The first bears the tap's own id; those of the others follow from it, so that
// the same tap again finds them all.
func (t *tapper) actRow(n int, kind TapKind, together bool) Tap {
	row := t.row()
	row.Kind = kind
	if together {
		row.Act = t.request.ID
	}
	if n > 0 {
		row.Queue, row.TabletSeq = nil, nil // the tablet has numbered the tap, not its rows
		row.ID = uuid.NewSHA1(uuid.NameSpaceOID, fmt.Appendf(nil, "%s, row %d", t.request.ID, n)).String()
	}
	return row
}

// addAll adds the rows of one act, each of the step beside it, and moves the
// steps on.
func (t *tapper) addAll(rows []Tap, steps []*Step) error {
	for i, step := range steps {
		if err := t.add(&rows[i]); err != nil {
			return err
		}
		again, err := get[Step](t.tx, "step", step.ID) // its run may have been counted since
		if err != nil {
			return err
		}
		*step = *again
		if err := t.move(step, rows[i]); err != nil {
			return err
		}
	}
	return nil
}

// move counts the run of a step and lets one row of the journal take effect on it.
func (t *tapper) move(step *Step, row Tap) error {
	counted, err := t.countRun(row.runOf(step.Run), step)
	if err != nil {
		return err
	}
	after, err := step.Progress().After(row, step.Unattended)
	if err != nil {
		return err
	}
	if row.Joined && counted != nil {
		after.CountedAt = counted // the run's time is shared from there on
	}
	return saveProgress(t.tx, step, after)
}

// rowsOf reads the rows that a tap wrote: its own, and those of its act.
func rowsOf(tx *gorm.DB, row Tap) ([]Tap, error) {
	if row.Act == "" || row.Joined {
		return []Tap{row}, nil
	}
	var rows []Tap
	if err := tx.Where("act <> '' AND act = ? AND NOT joined", row.Act).Order("seq").Find(&rows).Error; err != nil {
		return nil, fmt.Errorf("read the rows of the act %s: %w", row.Act, err)
	}
	return rows, nil
}

// Run is several steps that are, or some of which still are, in hand together.
type Run struct {
	ID        string // its act
	PersonID  ID
	StationID ID
	SetupID   ID
	TakenAt   time.Time
	Steps     []ID // all that were taken, in the order in which they were; those that joined come last
}

// intoRun are the kinds of row that bring a step into a run.
var intoRun = []TapKind{TapStart, TapGather}

// readRuns reads the runs of which something is in hand.
func (s *Snapshot) readRuns(tx *gorm.DB) error {
	var rows []Tap
	err := tx.Where("kind IN ? AND act <> '' AND act IN (SELECT run FROM steps WHERE run <> '')", intoRun).
		Where("NOT EXISTS (SELECT 1 FROM taps u WHERE u.undoes = taps.seq)").Order("seq").Find(&rows).Error
	if err != nil {
		return fmt.Errorf("read the runs in hand: %w", err)
	}
	for _, t := range rows {
		run := s.Run(t.Act)
		if run == nil {
			s.Runs = append(s.Runs, Run{ID: t.Act, PersonID: t.PersonID, StationID: idOf(t.StationID), SetupID: idOf(t.SetupID), TakenAt: t.At})
			run = &s.Runs[len(s.Runs)-1]
		}
		if !slices.Contains(run.Steps, *t.StepID) { // it was laid aside, and joined again
			run.Steps = append(run.Steps, *t.StepID)
		}
	}
	return nil
}

// Run returns the run with that id of which something is in hand, or nil.
func (s *Snapshot) Run(id string) *Run {
	for i := range s.Runs {
		if id != "" && s.Runs[i].ID == id {
			return &s.Runs[i]
		}
	}
	return nil
}

// RunInHand returns the run that a person has in hand, or nil.
func (s *Snapshot) RunInHand(person ID) *Run {
	for i := range s.Runs {
		for _, id := range s.Runs[i].Steps {
			if st := s.Step(id); st != nil && st.Run == s.Runs[i].ID && idOf(st.PersonID) == person {
				return &s.Runs[i]
			}
		}
	}
	return nil
}

// Running returns since when a step's time in hand is not in Worked yet, and
// which part of that time is its own: all of it, or in a run the part of its
// estimate among those still in hand. False where it is not in hand.
func (s *Snapshot) Running(st *Step) (since time.Time, part float64, ok bool) {
	switch {
	case st.State != InHand || st.TakenAt == nil:
		return time.Time{}, 0, false
	case st.CountedAt == nil:
		return *st.TakenAt, 1, true
	}
	all := st.RunShare
	if run := s.Run(st.Run); run != nil {
		for _, id := range run.Steps {
			if other := s.Step(id); other != nil && id != st.ID && other.Run == st.Run {
				all += other.RunShare
			}
		}
	}
	return *st.CountedAt, float64(st.RunShare) / float64(max(1, all)), true
}

// WorkedBy returns the seconds of attended time of a step up to a moment, those
// of its turn in hand included.
func (s *Snapshot) WorkedBy(st *Step, at time.Time) int {
	since, part, ok := s.Running(st)
	if !ok || !at.After(since) {
		return st.Worked
	}
	return st.Worked + int(part*float64(at.Sub(since)/time.Second))
}
