package models_test

import (
	"maps"
	"slices"
	"time"

	"faceside/models"
)

// plainShop is what a shop's records must be, kept as plainly as can be: lists and maps,
// and the rules of a tap as they are told at a bench. It uses nothing of the store's own
// rules or of its replay.
type plainShop struct {
	steps    map[models.ID]plainStep
	rows     []plainRow               // the journal
	last     map[string]int64         // how far each tablet's queue was answered
	returned map[string]plainReturned // by the tap's id
}

// plainStep is where a step stands.
type plainStep struct {
	state                                   models.StepState
	person                                  models.ID // who has it or had it last
	started, taken, finished, restEnd, done time.Time
	worked                                  int // seconds
	trouble                                 string
	missing                                 bool
	expected                                string
	attended, first, hands                  int
}

// plainRow is one row of the journal, with where its step stood before.
type plainRow struct {
	id, queue    string
	number       int64
	kind         models.TapKind
	step, person models.ID
	undoes       int64
	at           time.Time
	was          plainStep
}

// plainReturned is a tap that was refused and is kept.
type plainReturned struct {
	why        string
	open, left bool // somebody is asked about it; it was withdrawn
}

// outcome is what a tap is answered.
type outcome struct {
	seq       int64
	repeated  bool
	withdrawn string // the tap that an undo withdrew
	sendFrom  int64
	refused   bool
	why       string // where it was refused before
}

func (p *plainShop) copied() *plainShop {
	return &plainShop{steps: maps.Clone(p.steps), rows: slices.Clone(p.rows), last: maps.Clone(p.last), returned: maps.Clone(p.returned)}
}

// take does with the tap of a queue what must be done, and says the answer. Why it is
// refused for the first time only the store says: learn keeps that.
func (p *plainShop) take(m *machine, r models.TapRequest) outcome {
	q := r.Queued
	if i := p.row(r.ID); i >= 0 {
		return outcome{seq: int64(i + 1), repeated: true}
	}
	if back, there := p.returned[r.ID]; there {
		if q.Late && !back.left {
			back.open = true
			p.returned[r.ID] = back
		}
		return outcome{refused: true, why: back.why}
	}
	last := p.last[q.Queue]
	if q.Number <= last && r.Kind == models.TapUndo && p.returned[r.UndoesID].left {
		return outcome{withdrawn: r.UndoesID}
	}
	if q.Number > last+1 && !q.First {
		return outcome{sendFrom: last + 1}
	}
	p.last[q.Queue] = max(last, q.Number)
	if q.Number <= last {
		return p.giveBack(r)
	}
	if r.Kind == models.TapUndo {
		return p.undo(m, r)
	}
	st := p.steps[r.StepID]
	if !p.can(m, r, st) {
		return p.giveBack(r)
	}
	p.add(r, 0, st, m.clock.Now())
	p.steps[r.StepID] = st.after(r, m.taken(r.StepID), m.clock.Now())
	return outcome{seq: int64(len(p.rows))}
}

// learn keeps why a tap was refused.
func (p *plainShop) learn(id, why string) {
	back := p.returned[id]
	back.why = why
	p.returned[id] = back
}

func (p *plainShop) row(id string) int {
	return slices.IndexFunc(p.rows, func(r plainRow) bool { return r.id == id })
}

func (p *plainShop) giveBack(r models.TapRequest) outcome {
	p.returned[r.ID] = plainReturned{open: r.Queued.Late}
	return outcome{refused: true}
}

func (p *plainShop) add(r models.TapRequest, undoes int64, was plainStep, at time.Time) {
	step := r.StepID
	if undoes > 0 {
		step = p.rows[undoes-1].step
	}
	p.rows = append(p.rows, plainRow{id: r.ID, queue: r.Queued.Queue, number: r.Queued.Number, kind: r.Kind, step: step, person: r.PersonID, undoes: undoes, at: at, was: was})
}

// can says whether a tap can be.
func (p *plainShop) can(m *machine, r models.TapRequest, st plainStep) bool {
	fit := map[models.TapKind][]models.StepState{
		models.TapStart: {models.Todo, models.PutDown}, models.TapPutDown: {models.InHand}, models.TapFinish: {models.InHand}, models.TapOut: {models.AtRest},
		models.TapTrouble: {models.Todo, models.InHand, models.PutDown, models.AtRest}, models.TapSettled: {models.InTrouble},
	}
	switch {
	case !slices.Contains(fit[r.Kind], st.state):
		return false
	case r.Kind == models.TapStart:
		return p.free(r.PersonID) && p.ready(m, r.StepID)
	case r.Trouble == nil || r.Trouble.Kind == models.TroubleMissing:
		return true
	case r.Trouble.Kind == models.TroubleHand && st.hands == len(m.people):
		return false
	}
	return st.state != models.AtRest
}

// free says whether a person has nothing in hand.
func (p *plainShop) free(person models.ID) bool {
	for _, st := range p.steps {
		if st.state == models.InHand && st.person == person {
			return false
		}
	}
	return true
}

// ready says whether all before a step has ended, and its lags are over.
func (p *plainShop) ready(m *machine, step models.ID) bool {
	for _, l := range m.links {
		if l.AfterID != step {
			continue
		}
		before := p.steps[l.BeforeID]
		when := before.finished
		if l.From == models.FromEnd {
			when = before.ended()
		}
		if when.IsZero() || when.Add(time.Duration(l.MinLag)*time.Minute).After(m.clock.Now()) {
			return false
		}
	}
	return true
}

// ended is when a step's rest was over, or will be; taken out early, it ended then.
func (st plainStep) ended() time.Time {
	switch {
	case st.state == models.Done && (st.restEnd.IsZero() || st.done.Before(st.restEnd)):
		return st.done
	case st.state == models.Done || st.state == models.AtRest:
		return st.restEnd
	}
	return time.Time{}
}

// after is where a step stands after a tap that can be.
func (st plainStep) after(r models.TapRequest, step *models.Step, now time.Time) plainStep {
	switch r.Kind {
	case models.TapStart:
		st.state, st.person, st.taken = models.InHand, r.PersonID, now
		if st.started.IsZero() {
			st.started = now
		}
	case models.TapPutDown:
		st = st.aside(now)
		st.state = models.PutDown
	case models.TapFinish:
		st = st.aside(now)
		st.finished = now
		if st.state, st.done = models.Done, now; step.Unattended > 0 {
			st.state, st.done, st.restEnd = models.AtRest, time.Time{}, now.Add(time.Duration(step.Unattended)*time.Minute)
		}
	case models.TapOut:
		st.state, st.done = models.Done, now
	case models.TapSettled:
		st.trouble, st.missing, st.expected = "", false, ""
		if st.state = models.PutDown; st.started.IsZero() {
			st.state = models.Todo
		}
	case models.TapTrouble:
		st = st.troubled(r, step, now)
	}
	return st
}

// aside counts the time that a step was in hand.
func (st plainStep) aside(now time.Time) plainStep {
	if !st.taken.IsZero() {
		st.worked += int(now.Sub(st.taken).Seconds())
	}
	st.taken = time.Time{}
	return st
}

func (st plainStep) troubled(r models.TapRequest, step *models.Step, now time.Time) plainStep {
	switch tr := r.Trouble; {
	case tr != nil && tr.Kind == models.TroubleHand:
		st.hands++
		return st
	case tr != nil && tr.Kind == models.TroubleEstimate:
		all := tr.Left
		if st.state == models.InHand || step.Interruptible {
			all += (st.aside(now).worked + 59) / 60
		}
		if st.first == 0 && all != st.attended {
			st.first = st.attended
		}
		st.attended = all
		return st
	case tr != nil:
		st.missing, st.expected = true, tr.ExpectedOn
	}
	st = st.aside(now)
	st.state, st.trouble, st.finished, st.restEnd = models.InTrouble, r.Note, time.Time{}, time.Time{}
	return st
}

// undo takes the newest tap of a step back.
func (p *plainShop) undo(m *machine, r models.TapRequest) outcome {
	seq := r.Undoes
	if r.UndoesID != "" {
		if seq = int64(p.row(r.UndoesID) + 1); seq == 0 {
			back, there := p.returned[r.UndoesID]
			if !there {
				return p.giveBack(r)
			}
			back.open, back.left = false, true
			p.returned[r.UndoesID] = back
			return outcome{withdrawn: r.UndoesID}
		}
	}
	if seq > int64(len(p.rows)) || !p.mayUndo(m, seq) {
		return p.giveBack(r)
	}
	row := p.rows[seq-1]
	p.add(r, seq, p.steps[row.step], m.clock.Now())
	p.steps[row.step] = row.was
	return outcome{seq: int64(len(p.rows))}
}

// mayUndo: it is the newest that counts of its step, nothing that follows was started
// since, and who gets the step back in hand has no other.
func (p *plainShop) mayUndo(m *machine, seq int64) bool {
	row := p.rows[seq-1]
	if row.kind == models.TapUndo || p.undone(seq) {
		return false
	}
	for i, later := range p.rows[seq:] {
		counts := later.kind != models.TapUndo && !p.undone(seq+int64(i)+1)
		if counts && (later.step == row.step || later.kind == models.TapStart && m.follows(row.step, later.step)) {
			return false
		}
	}
	return row.was.state != models.InHand || p.steps[row.step].state == models.InHand || p.free(row.was.person)
}

func (p *plainShop) undone(seq int64) bool {
	return slices.ContainsFunc(p.rows, func(r plainRow) bool { return r.undoes == seq })
}
