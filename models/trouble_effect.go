package models

import (
	"fmt"
	"reflect"
	"slices"
)

// Effect is what a trouble changed in the steps and links of its commission, and of
// what was tapped off: all that an undo needs to put them back.
type Effect struct {
	Came     []Came      `json:",omitempty"` // steps that were added
	Work     []WorkSaid  `json:",omitempty"` // other minutes or hands
	Places   []Place     `json:",omitempty"` // other places in the list
	Added    []Link      `json:",omitempty"`
	Dropped  []Link      `json:",omitempty"` // a link that was changed is dropped and added
	Unticked []StepPiece `json:",omitempty"` // pieces that were tapped off
}

// Came is a step that came back.
type Came struct {
	ID   ID
	Name string
}

// WorkSaid is what a step was thought to take, and is.
type WorkSaid struct {
	StepID  ID
	Was, Is Work
}

// Place is where a step stood in its piece's list, and stands.
type Place struct {
	StepID  ID
	Was, Is int
}

func (f *Effect) none() bool { return reflect.DeepEqual(*f, Effect{}) }

// orderRows are the steps and links of a commission at one moment.
type orderRows struct {
	steps []Step
	links []Link
}

func (e *editor) rows() orderRows {
	return orderRows{steps: slices.Clone(e.steps), links: slices.Clone(e.links)}
}

// effectOf says how two states of an order of work differ. Steps are only added.
func effectOf(was, is orderRows) Effect {
	var f Effect
	old := map[ID]*Step{}
	for i := range was.steps {
		old[was.steps[i].ID] = &was.steps[i]
	}
	for i := range is.steps {
		now := &is.steps[i]
		before := old[now.ID]
		if before == nil {
			f.Came = append(f.Came, Came{ID: now.ID, Name: now.Name})
			continue
		}
		if before.work() != now.work() {
			f.Work = append(f.Work, WorkSaid{StepID: now.ID, Was: before.work(), Is: now.work()})
		}
		if before.Position != now.Position {
			f.Places = append(f.Places, Place{StepID: now.ID, Was: before.Position, Is: now.Position})
		}
	}
	f.Added, f.Dropped = linksBeyond(is.links, was.links), linksBeyond(was.links, is.links)
	return f
}

// linksBeyond lists the links of one list that another has not, or has otherwise.
func linksBeyond(all, others []Link) []Link {
	var out []Link
	for _, l := range all {
		if !slices.ContainsFunc(others, func(o Link) bool { return reflect.DeepEqual(o, l) }) {
			out = append(out, l)
		}
	}
	return out
}

// undoTrouble puts back what a trouble changed. It is refused where a step that
// came back was tapped, and where the order was changed there by hand since.
func (t *tapper) undoTrouble(back *Tap, step *Step) error {
	said, err := back.Told()
	if err != nil || said == nil || said.Effect.none() {
		return err
	}
	if err := t.tickAgain(said.Effect.Unticked, back.ID); err != nil {
		return err
	}
	e, err := t.editorOf(step.CommissionID)
	if err != nil {
		return err
	}
	f := &said.Effect
	if err := f.mayUndo(e); err != nil {
		return err
	}
	for _, put := range []func(*editor) error{f.takeAway, f.putLinks, f.putWork, f.putPlaces, (*editor).read, (*editor).noCircle} {
		if err := put(e); err != nil {
			return err
		}
	}
	return e.countOn()
}

func (f *Effect) mayUndo(e *editor) error {
	for _, c := range f.Came {
		s := e.step(c.ID)
		if s == nil {
			continue // taken out by hand
		}
		if s.begun() {
			return conflict("undoes", s.Name, "“%s” came back for what was spoiled and is begun: the trouble cannot be taken back any more.", s.Name)
		}
		if err := first(e.neverTapped(s), e.noNotes(s)); err != nil {
			return err
		}
		here := slices.Concat(e.before(c.ID), e.after(c.ID))
		if len(linksBeyond(here, f.Added)) > 0 {
			return conflict("undoes", s.Name, "The order of work around “%s” was changed by hand since: take that step out there instead.", s.Name)
		}
	}
	for _, w := range f.Work {
		if s := e.step(w.StepID); s != nil && s.work() != w.Is {
			return conflict("undoes", s.Name, "The minutes or the hands of “%s” were changed by hand since: change them back there.", s.Name)
		}
	}
	return nil
}

// takeAway removes the steps that came back, with their links.
func (f *Effect) takeAway(e *editor) error {
	for _, c := range f.Came {
		if s := e.step(c.ID); s != nil {
			if err := e.remove(s); err != nil {
				return err
			}
		}
	}
	return e.read()
}

// putLinks removes the links that were added and puts those dropped back, as far
// as nobody has linked the same points since.
func (f *Effect) putLinks(e *editor) error {
	for _, l := range f.Added {
		if slices.ContainsFunc(e.links, func(now Link) bool { return reflect.DeepEqual(now, l) }) {
			if err := e.dropLink(l); err != nil {
				return err
			}
		}
	}
	if err := e.read(); err != nil {
		return err
	}
	for _, l := range f.Dropped {
		same := func(now Link) bool {
			return now.BeforeID == l.BeforeID && now.AfterID == l.AfterID && now.From == l.From
		}
		if e.step(l.BeforeID) == nil || e.step(l.AfterID) == nil || slices.ContainsFunc(e.links, same) {
			continue
		}
		if l.CommissionID = e.commission.ID; slices.ContainsFunc(e.links, func(now Link) bool { return now.ID == l.ID }) {
			l.ID = 0 // its number was given again
		}
		if err := create(e.tx, "link", []*Link{&l}); err != nil {
			return err
		}
	}
	return nil
}

func (f *Effect) putWork(e *editor) error {
	for _, w := range f.Work {
		if s := e.step(w.StepID); s != nil {
			if err := setWork(e.tx, s, w.Was); err != nil {
				return err
			}
		}
	}
	return nil
}

// putPlaces lists the steps as they were, where nobody has listed them otherwise.
func (f *Effect) putPlaces(e *editor) error {
	for _, p := range f.Places {
		if s := e.step(p.StepID); s == nil || s.Position != p.Is {
			return nil
		}
	}
	for _, p := range f.Places {
		if err := e.tx.Model(&Step{}).Where("id = ?", p.StepID).UpdateColumn("position", p.Was).Error; err != nil {
			return fmt.Errorf("list step %d as before: %w", p.StepID, err)
		}
	}
	return nil
}
