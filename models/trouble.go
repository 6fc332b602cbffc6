package models

import (
	"encoding/json"
	"fmt"
	"slices"
	"time"

	"gorm.io/gorm"
)

// TroubleKind says what is wrong with a step.
type TroubleKind string

// The kinds of trouble. One without a kind is told by its note alone, and holds
// the step until it is settled.
const (
	TroubleSpoiled  TroubleKind = "spoiled"  // parts of it: what was done to them is done again for others
	TroubleOrder    TroubleKind = "order"    // another step has to come first
	TroubleMissing  TroubleKind = "missing"  // hardware or stock: held until it is settled
	TroubleHelp     TroubleKind = "help"     // one more pair of hands for the rest of it: laid aside until two are free
	TroubleHand     TroubleKind = "hand"     // the same, and it stays in hand: somebody is called
	TroubleEstimate TroubleKind = "estimate" // it takes another time than was thought
)

// TroubleKinds are those that change more than where the step stands, and
// missing, in the order in which a bench meets them. Hand is asked for with Help.
func TroubleKinds() []TroubleKind {
	return []TroubleKind{TroubleSpoiled, TroubleMissing, TroubleHelp, TroubleHand, TroubleEstimate, TroubleOrder}
}

// Hands tells whether more hands are asked for.
func (k TroubleKind) Hands() bool { return k == TroubleHelp || k == TroubleHand }

// Trouble is what is said of trouble with a step. Which fields count hangs on
// the kind.
type Trouble struct {
	Kind       TroubleKind
	Parts      map[ID]int `json:",omitempty"` // spoiled: part → how many
	Assemblies []ID       `json:",omitempty"` // spoiled: with all that is in them
	FirstID    ID         `json:",omitempty"` // order: the step that has to come first
	ExpectedOn string     `json:",omitempty"` // missing: YYYY-MM-DD, or ""
	HelperID   ID         `json:",omitempty"` // help and hand: whose hands, 0 for anybody's
	Left       int        `json:",omitempty"` // estimate: minutes still to do
}

// TroubleDetails is what a row of the journal keeps of trouble: what was said,
// and what became of the records by it.
type TroubleDetails struct {
	Trouble
	Lost   map[ID]int `json:",omitempty"` // all parts that are spoiled, those in assemblies too
	Uncut  map[ID]int `json:",omitempty"` // of these, how many were booked as cut
	Effect Effect
}

// kind is the trouble's kind, "" for none.
func (tr *Trouble) kind() TroubleKind {
	if tr == nil {
		return ""
	}
	return tr.Kind
}

// check refuses what no state of the records could make right.
func (tr *Trouble) check(of TapKind) error {
	if tr == nil {
		return nil
	}
	if of != TapTrouble {
		return invalid("trouble", tr.Kind, "The tap (%s) is no trouble.", of)
	}
	if err := oneOf("trouble", tr.Kind, TroubleKinds()...); err != nil {
		return err
	}
	switch tr.Kind {
	case TroubleSpoiled:
		if len(tr.Parts)+len(tr.Assemblies) == 0 {
			return invalid("parts", 0, "Say which parts are spoiled, and how many of them.")
		}
	case TroubleOrder:
		if tr.FirstID == 0 {
			return invalid("first", 0, "Say which step has to come first.")
		}
	case TroubleMissing:
		if tr.ExpectedOn != "" {
			return dateGiven("expected day", tr.ExpectedOn)
		}
	case TroubleEstimate:
		return leftBetween(tr.Left)
	}
	return nil
}

// mostAttended is the most minutes that a step may be estimated at.
const mostAttended = 100_000

func leftBetween(minutes int) error {
	if minutes >= 1 && minutes <= mostAttended {
		return nil
	}
	return invalid("left", minutes, "What is left, %d minutes, is not between 1 and %d.", minutes, mostAttended)
}

// trouble is a tap that says what is wrong with a step: the journal's row, and in
// the same transaction what follows from it for the order of work.
func (t *tapper) trouble() (TapResult, error) {
	step, err := get[Step](t.tx, "step", t.request.StepID)
	if err != nil {
		return TapResult{}, err
	}
	if err := first(t.mayTap(step, TapTrouble), t.mayReport(step)); err != nil {
		return TapResult{}, err
	}
	if _, err := t.countRun(step.Run, step); err != nil {
		return TapResult{}, err
	}
	if err := saveProgress(t.tx, step, step.Progress()); err != nil { // what was worked says what is lost
		return TapResult{}, err
	}
	said := TroubleDetails{Trouble: *t.request.Trouble}
	if err := t.change(step, &said); err != nil {
		return TapResult{}, err
	}
	row := t.row()
	row.StepID, row.Trouble, row.ExpectedOn = &step.ID, said.Kind, said.ExpectedOn
	if row.Details, err = said.stored(); err != nil {
		return TapResult{}, err
	}
	if row.PlanID, err = currentPlanID(t.tx); err != nil {
		return TapResult{}, err
	}
	if err := t.add(&row); err != nil {
		return TapResult{}, err
	}
	if err := t.move(step, row); err != nil {
		return TapResult{}, err
	}
	if step, err = get[Step](t.tx, "step", step.ID); err != nil {
		return TapResult{}, err
	}
	return TapResult{Tap: row, Step: step}, nil
}

// mayReport refuses trouble that a step cannot have where it stands.
func (t *tapper) mayReport(step *Step) error {
	tr := t.request.Trouble
	switch tr.Kind {
	case TroubleOrder, TroubleHelp, TroubleHand, TroubleEstimate:
		if step.State == AtRest {
			return conflict("step", step.Name, "The work on “%s” is finished and it rests: only that something is spoiled or missing can be said of it.", step.Name)
		}
	case TroubleMissing:
		if today := t.now.In(t.zone).Format(time.DateOnly); tr.ExpectedOn != "" && tr.ExpectedOn < today {
			return invalid("expected day", tr.ExpectedOn, "The day %s, on which it is expected, is past.", tr.ExpectedOn)
		}
	}
	return nil
}

// change changes the order of work as the trouble asks, and notes what it changed.
func (t *tapper) change(step *Step, said *TroubleDetails) error {
	e, err := t.editorOf(step.CommissionID)
	if err != nil {
		return err
	}
	was := e.rows()
	switch said.Kind {
	case TroubleSpoiled:
		err = t.spoil(e, step, said)
	case TroubleOrder:
		err = comeFirst(e, step, said.FirstID)
	case TroubleHelp, TroubleHand:
		err = t.help(step)
	case TroubleEstimate:
		err = t.estimate(step)
	}
	if err != nil {
		return err
	}
	if err := first(e.read(), e.noCircle()); err != nil {
		return err
	}
	off := said.Effect.Unticked
	said.Effect = effectOf(was, e.rows())
	ordered := !said.Effect.none()
	said.Effect.Unticked = off
	if !ordered {
		return nil
	}
	return e.countOn()
}

// editorOf opens a commission as it stands.
func (t *tapper) editorOf(commission ID) (*editor, error) {
	c, err := get[Commission](t.tx, "commission", commission)
	if err != nil {
		return nil, err
	}
	e := &editor{store: t.store, tx: t.tx}
	return e, e.open(c.ID, c.Edition)
}

// help gives a step one more pair of hands.
func (t *tapper) help(step *Step) error {
	var people int64
	if err := t.tx.Model(&Person{}).Where("active").Count(&people).Error; err != nil {
		return fmt.Errorf("count the people: %w", err)
	}
	if step.Hands >= int(people) {
		return conflict("hands", step.Hands+1, "“%s” would take %d people; %d work here.", step.Name, step.Hands+1, people)
	}
	if id := t.request.Trouble.HelperID; id != 0 {
		helper, err := get[Person](t.tx, "person", id)
		switch {
		case err != nil:
			return err
		case !helper.Active:
			return invalid("helper", helper.Name, "%s is not among those who work here now.", helper.Name)
		case helper.ID == t.request.PersonID:
			return invalid("helper", helper.Name, "%s cannot be the second pair of hands: that is who asks.", helper.Name)
		}
	}
	return setWork(t.tx, step, Work{Attended: step.Attended, Hands: step.Hands + 1, FirstAttended: step.FirstAttended})
}

// estimate writes what a step takes in all by what is said to be left of it.
// What was worked on one that is not in hand and must not be interrupted does not
// count: it is done from the beginning.
func (t *tapper) estimate(step *Step) error {
	all := t.request.Trouble.Left
	if step.State == InHand || step.Interruptible {
		all += (t.worked(step) + 59) / 60
	}
	if err := leftBetween(all); err != nil {
		return err
	}
	return setWork(t.tx, step, Work{Attended: all, Hands: step.Hands, FirstAttended: step.FirstAttended}.after(step))
}

// worked is the seconds that were worked on a step up to the tap.
func (t *tapper) worked(step *Step) int { return step.Progress().letGo(t.at).Worked }

// Work is what a step is thought to take.
type Work struct{ Attended, Hands, FirstAttended int }

func (s *Step) work() Work {
	return Work{Attended: s.Attended, Hands: s.Hands, FirstAttended: s.FirstAttended}
}

// after keeps what was estimated first.
func (w Work) after(step *Step) Work {
	if w.FirstAttended == 0 && w.Attended != step.Attended {
		w.FirstAttended = step.Attended
	}
	return w
}

func setWork(tx *gorm.DB, step *Step, w Work) error {
	err := tx.Model(&Step{}).Where("id = ?", step.ID).
		UpdateColumns(map[string]any{"attended": w.Attended, "hands": w.Hands, "first_attended": w.FirstAttended}).Error
	if err != nil {
		return fmt.Errorf("say what step %d takes: %w", step.ID, err)
	}
	return nil
}

// comeFirst has another step come before one: where that one follows, it is put
// before it with what it waits for; else it is linked.
func comeFirst(e *editor, step *Step, id ID) error {
	other, err := e.known("first", id)
	switch {
	case err != nil:
		return err
	case other.ID == step.ID:
		return invalid("first", other.Name, "“%s” cannot come before itself.", other.Name)
	case other.begun():
		return conflict("first", other.Name, "“%s” is begun already: nothing is to be put before “%s”.", other.Name, step.Name)
	case e.reach(other.ID)[step.ID]:
		return conflict("first", other.Name, "“%s” comes before “%s” already.", other.Name, step.Name)
	case !e.reach(step.ID)[other.ID]:
		return e.addLink(plainLink(other.ID, step.ID, "put before it by hand"))
	}
	m := MoveStep{StepID: other.ID, OtherID: step.ID}
	if err := first(m.letGo(e, other, step), e.read()); err != nil {
		return err
	}
	return first(m.before(e, e.step(other.ID), e.step(step.ID)), m.reposition(e, other, step))
}

// stored writes the details for the journal.
func (d *TroubleDetails) stored() (string, error) {
	text, err := json.Marshal(d)
	if err != nil {
		return "", fmt.Errorf("write down the trouble: %w", err)
	}
	return string(text), nil
}

// Told returns what a row of the journal says of trouble; nil where it says no
// kind.
func (t *Tap) Told() (*TroubleDetails, error) {
	if t.Details == "" {
		return nil, nil
	}
	var d TroubleDetails
	if err := json.Unmarshal([]byte(t.Details), &d); err != nil {
		return nil, fmt.Errorf("read the trouble of tap %d: %w", t.Seq, err)
	}
	return &d, nil
}

// CanReport lists the kinds of trouble that can be said of a step as it stands.
func (s *Step) CanReport() []TroubleKind {
	switch {
	case !slices.Contains(possible[TapTrouble], s.State):
		return nil
	case s.State == AtRest:
		return []TroubleKind{TroubleSpoiled, TroubleMissing}
	}
	return TroubleKinds()
}
