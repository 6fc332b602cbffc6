package models

import (
	"fmt"
	"reflect"
	"strings"
	"time"
)

// Progress is where the journal says a step stands: the last columns of Step.
type Progress struct {
	State      StepState
	PersonID   *ID
	StartedAt  *time.Time
	TakenAt    *time.Time
	Worked     int       // seconds
	Helpers    []Helping `gorm:"serializer:json"`
	Helped     int       // seconds
	Run        string
	RunShare   int
	CountedAt  *time.Time
	FinishedAt *time.Time
	RestEndsAt *time.Time
	DoneAt     *time.Time
	Trouble    string

	TroubleKind TroubleKind
	ExpectedOn  string
}

// untouched is a step that nothing was tapped for.
var untouched = Progress{State: Todo}

// possible lists, for each kind of tap on a step, the states it can come in.
var possible = map[TapKind][]StepState{
	TapStart:   {Todo, PutDown},
	TapPutDown: {InHand},
	TapFinish:  {InHand},
	TapOut:     {AtRest},
	TapTrouble: {Todo, InHand, PutDown, AtRest},
	TapSettled: {InTrouble},
	TapHelp:    {InHand},
	TapManage:  {InHand},
	TapGather:  {InHand},
}

// canTake says whether a tap of that kind can come in this state.
func (p Progress) canTake(kind TapKind) bool {
	for _, s := range possible[kind] {
		if s == p.State {
			return true
		}
	}
	return false
}

// After returns the progress after one more tap on the step. unattended is the
// step's unattended time in minutes. A tap that cannot come in this state is
// an error. It changes nothing. Of a run, the time up to the tap must have been
// shared out before: see shareTime.
func (p Progress) After(t Tap, unattended int) (Progress, error) {
	if !p.canTake(t.Kind) {
		return p, fmt.Errorf("tap %d (%s) on a step that is %s", t.Seq, t.Kind, p.State)
	}
	at := t.At
	switch t.Kind {
	case TapStart:
		person := t.PersonID
		p.State, p.PersonID, p.TakenAt = InHand, &person, &at
		if p.StartedAt == nil {
			p.StartedAt = &at
		}
		if t.Act != "" {
			p = p.inRun(t)
		}
	case TapGather:
		if p.Run != "" {
			return p, fmt.Errorf("tap %d (%s) on a step that is in a run", t.Seq, t.Kind)
		}
		p.Worked += seconds(*p.TakenAt, at)
		p = p.inRun(t)
	case TapPutDown:
		p = p.letGo(at)
		p.State = PutDown
	case TapFinish:
		p = p.letGo(at)
		p.FinishedAt = &at
		if unattended > 0 {
			ends := at.Add(time.Duration(unattended) * time.Minute)
			p.State, p.RestEndsAt = AtRest, &ends
		} else {
			p.State, p.DoneAt = Done, &at
		}
	case TapOut:
		p.State, p.DoneAt = Done, &at
	case TapTrouble:
		p = p.troubled(t)
	case TapSettled:
		p.Trouble, p.TroubleKind, p.ExpectedOn = "", "", ""
		p = p.laidAside()
	case TapHelp:
		p = p.helpedBy(*t.HelperID, at)
	case TapManage:
		p = p.managed(*t.HelperID, at)
	}
	return p, nil
}

// inRun is the progress within the run that a row brings the step into: from there on
// it has a share of the run's time.
func (p Progress) inRun(t Tap) Progress {
	p.Run, p.RunShare, p.CountedAt = t.Act, t.Share, &t.At
	return p
}

// troubled is the progress after trouble: where work cannot go on until somebody
// says so the step is in trouble; else it is laid aside. With a new estimate, or once
// another pair of hands is asked for, it goes on.
func (p Progress) troubled(t Tap) Progress {
	if t.Trouble == TroubleEstimate || t.Trouble == TroubleHand {
		return p
	}
	p = p.letGo(t.At)
	p.FinishedAt, p.RestEndsAt = nil, nil
	if t.Trouble == "" || t.Trouble == TroubleMissing {
		p.State, p.Trouble, p.TroubleKind, p.ExpectedOn = InTrouble, t.Note, t.Trouble, t.ExpectedOn
		return p
	}
	return p.laidAside()
}

// laidAside is put down, or not begun where it never was.
func (p Progress) laidAside() Progress {
	p.State = Todo
	if p.StartedAt != nil {
		p.State = PutDown
	}
	return p
}

// letGo counts the time the step was in hand, and that of further hands on it.
func (p Progress) letGo(at time.Time) Progress {
	from := p.TakenAt
	if p.CountedAt != nil {
		from = p.CountedAt
	}
	if from != nil {
		p.Worked += seconds(*from, at)
	}
	for _, h := range p.Helpers {
		p.Helped += seconds(h.Since, at)
	}
	p.Helpers = nil
	p.TakenAt, p.Run, p.RunShare, p.CountedAt = nil, "", 0, nil
	return p
}

// seconds is the whole seconds from one time to another. A clock set back counts none.
func seconds(from, to time.Time) int { return max(0, int(to.Sub(from)/time.Second)) }

// Progress returns where the step stands by the journal.
func (s *Step) Progress() Progress {
	return Progress{State: s.State, PersonID: s.PersonID, StartedAt: s.StartedAt, TakenAt: s.TakenAt, Worked: s.Worked, Helpers: s.Helpers, Helped: s.Helped,
		Run: s.Run, RunShare: s.RunShare, CountedAt: s.CountedAt, FinishedAt: s.FinishedAt, RestEndsAt: s.RestEndsAt, DoneAt: s.DoneAt, Trouble: s.Trouble,
		TroubleKind: s.TroubleKind, ExpectedOn: s.ExpectedOn}
}

// put writes a progress into the step.
func (s *Step) put(p Progress) {
	s.State, s.PersonID, s.StartedAt, s.TakenAt, s.Worked = p.State, p.PersonID, p.StartedAt, p.TakenAt, p.Worked
	s.Helpers, s.Helped = p.Helpers, p.Helped
	s.Run, s.RunShare, s.CountedAt = p.Run, p.RunShare, p.CountedAt
	s.FinishedAt, s.RestEndsAt, s.DoneAt, s.Trouble = p.FinishedAt, p.RestEndsAt, p.DoneAt, p.Trouble
	s.TroubleKind, s.ExpectedOn = p.TroubleKind, p.ExpectedOn
}

// Replayed is what a journal says: of each step that was tapped where it
// stands, of each station that was set its setup (nil: unknown), of each that
// was ever tapped out of order or in order, whether it is down, and of each
// person the time that is booked.
type Replayed struct {
	Steps  map[ID]Progress
	Setups map[ID]*ID    // by station
	Down   map[ID]bool   // by station
	Hours  map[ID]Booked // by person
	from   time.Time     // time that was booked before is not among the hours
	to     time.Time     // nor what was booked then or later; zero: all is
}

// Replay reads taps in the order of their Seq, leaving out what was taken back.
// unattended gives the unattended minutes of steps. It takes time linear in the
// taps. A journal that holds an impossible tap is an error.
func Replay(taps []Tap, unattended map[ID]int) (Replayed, error) {
	return replay(taps, unattended, time.Time{}, time.Time{})
}

// replay is Replay with the hours that were booked from one time to another.
func replay(taps []Tap, unattended map[ID]int, from, to time.Time) (Replayed, error) {
	r := Replayed{Steps: map[ID]Progress{}, Setups: map[ID]*ID{}, Down: map[ID]bool{}, Hours: map[ID]Booked{}, from: from, to: to}
	for _, t := range taps { // what was undone stands where it stood before the first tap
		r.before(t)
	}
	runs := runs{}
	for _, t := range Effective(taps) {
		switch {
		case t.Kind == TapDown || t.Kind == TapUp:
			r.Down[*t.StationID] = t.Kind == TapDown
		case t.StationID != nil:
			r.Setups[*t.StationID] = t.SetupID
		}
		if t.StepID == nil {
			continue
		}
		counted := r.count(runs, t)
		was := r.Steps[*t.StepID]
		p, err := was.After(t, unattended[*t.StepID])
		if err != nil {
			return r, err
		}
		if t.Joined && counted != nil {
			p.CountedAt = counted
		}
		r.book(was, p, t.At)
		runs.move(*t.StepID, was, p)
		r.Steps[*t.StepID] = p
	}
	return r, nil
}

// before notes what a tap is of, as it stood before anything was tapped for it.
// A station goes out of order only where it was in order, and the reverse.
func (r *Replayed) before(t Tap) {
	if t.StepID != nil {
		r.Steps[*t.StepID] = untouched
	}
	switch {
	case t.StationID == nil:
	case t.Kind == TapDown || t.Kind == TapUp:
		if _, known := r.Down[*t.StationID]; !known {
			r.Down[*t.StationID] = t.Kind == TapUp
		}
	case t.Kind != TapUndo:
		r.Setups[*t.StationID] = nil
	}
}

// Astray says which step or station does not stand as the journal, read from its
// beginning, says; nil where all do.
func (s *Snapshot) Astray(journal []Tap) error {
	unattended := map[ID]int{}
	for i := range s.Steps {
		unattended[s.Steps[i].ID] = s.Steps[i].Unattended
	}
	says, err := Replay(journal, unattended)
	if err != nil {
		return err
	}
	for i := range s.Steps {
		st := &s.Steps[i]
		want, tapped := says.Steps[st.ID]
		if !tapped {
			want = untouched
		}
		if other := differing(st.Progress(), want); len(other) > 0 {
			return fmt.Errorf("step %d (%s) does not stand as its taps say: %s", st.ID, st.Key, strings.Join(other, ", "))
		}
	}
	for i := range s.Stations {
		st := &s.Stations[i]
		if setup := says.Setups[st.ID]; !reflect.DeepEqual(st.SetupID, setup) {
			return fmt.Errorf("station %d (%s) is not set as its taps say: to %d, not %d", st.ID, st.Key, idOf(st.SetupID), idOf(setup))
		}
		if st.Down != says.Down[st.ID] {
			return fmt.Errorf("station %d (%s) is not as its taps say: down %t, not %t", st.ID, st.Key, st.Down, says.Down[st.ID])
		}
	}
	return nil
}

// differing names the fields in which two progresses differ.
func differing(a, b Progress) []string {
	var names []string
	one, other := reflect.ValueOf(a), reflect.ValueOf(b)
	for i := range one.NumField() {
		if !reflect.DeepEqual(one.Field(i).Interface(), other.Field(i).Interface()) {
			names = append(names, one.Type().Field(i).Name)
		}
	}
	return names
}

// Effective returns the taps that count: no undos, and nothing taken back.
func Effective(taps []Tap) []Tap {
	undone := map[int64]bool{}
	for _, t := range taps {
		if t.Undoes != nil {
			undone[*t.Undoes] = true
		}
	}
	var all []Tap
	for _, t := range taps {
		if t.Kind != TapUndo && !undone[t.Seq] {
			all = append(all, t)
		}
	}
	return all
}

// Move moves this copy of the step on as a tap would; nothing is recorded. It is
// for views of what would come next.
func (s *Step) Move(t Tap) error {
	p, err := s.Progress().After(t, s.Unattended)
	if err != nil {
		return err
	}
	s.put(p)
	return nil
}
