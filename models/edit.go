package models

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"gorm.io/gorm"

	"faceside/models/phrase"
)

// An order of work is edited step by step and link by link, by the Edits in the
// files edit_*.go. All of them keep these rules:
//
//   - Only steps that are not begun change; a link belongs to its later step.
//   - A step that anything was ever tapped for is not taken out: the journal
//     points at it.
//   - No step waits for itself, and none that is begun for one that is not.

// Edit is one change of the steps and links of a commission: AddStep,
// ChangeStep, ChangeUses, SplitStep, RemoveStep, MoveStep, AddLink, ChangeLink,
// RemoveLink or Rework.
type Edit interface {
	apply(e *editor) error
}

// Judge is shown the commission as it was and as it would be. An error keeps
// the edit from being saved.
type Judge func(before, after *Snapshot) error

// EditCommission makes edits one after another, all or none, and counts the
// edition on. edition is the one the edits were thought out on; where the
// commission has another by now the refusal is Stale. judge, unless nil, is
// asked before the edits are saved; its refusal should be an *Error. It takes
// time in proportion to the steps and links of the commission for each edit.
func (s *Store) EditCommission(ctx context.Context, commission ID, edition int64, edits []Edit, judge Judge) error {
	return s.write(ctx, "change the steps", func(tx *gorm.DB) (*Change, error) {
		e := &editor{store: s, tx: tx}
		if err := e.open(commission, edition); err != nil {
			return nil, err
		}
		var before *Snapshot
		var err error
		if judge != nil {
			if before, err = e.snapshot(); err != nil {
				return nil, err
			}
		}
		for _, edit := range edits {
			if err := e.make(edit); err != nil {
				return nil, err
			}
		}
		if err := e.countOn(); err != nil {
			return nil, err
		}
		if judge != nil {
			after, err := e.snapshot()
			if err != nil {
				return nil, err
			}
			if err := judge(before, after); err != nil {
				return nil, err
			}
		}
		return &Change{Kind: ChangedCommission}, nil
	})
}

// countOn counts the edition of the commission that is edited on.
func (e *editor) countOn() error { return countEdition(e.tx, e.commission.ID) }

// countEdition counts a commission's edition on.
func countEdition(tx *gorm.DB, commission ID) error {
	err := tx.Model(&Commission{}).Where("id = ?", commission).UpdateColumn("edition", gorm.Expr("edition + 1")).Error
	if err != nil {
		return fmt.Errorf("count the edition: %w", err)
	}
	return nil
}

// editor carries edits through their transaction.
type editor struct {
	store      *Store
	tx         *gorm.DB
	commission *Commission

	// The order of work as the edits so far left it.
	steps []Step // by piece and position
	links []Link

	excused map[[2]ID]bool // steps that were begun ahead of one before them already
}

// open reads the commission and refuses one whose steps nobody works on.
func (e *editor) open(id ID, edition int64) error {
	var err error
	if e.commission, err = get[Commission](e.tx, "commission", id); err != nil {
		return err
	}
	if e.commission.State != Open && e.commission.State != Held {
		return conflict("commission", e.commission.Name, "The commission “%s” is %s: its steps are not changed any more.", e.commission.Name, e.commission.State.Words())
	}
	if e.commission.Edition != edition {
		return &Error{Code: Stale, Field: "edition", Value: fmt.Sprint(edition),
			Sentence: phrase.Of("The steps of “%s” were changed since you looked. Look again, then change what is still to be changed.", e.commission.Name)}
	}
	if err := e.read(); err != nil {
		return err
	}
	e.excused = map[[2]ID]bool{}
	for _, l := range e.links {
		if e.ahead(l) {
			e.excused[[2]ID{l.BeforeID, l.AfterID}] = true
		}
	}
	return nil
}

// read reads the order of work as it stands.
func (e *editor) read() error {
	e.steps, e.links = nil, nil
	if err := e.tx.Where("commission_id = ?", e.commission.ID).Order("piece_id, position, id").Find(&e.steps).Error; err != nil {
		return fmt.Errorf("read the steps: %w", err)
	}
	if err := e.tx.Where("commission_id = ?", e.commission.ID).Order("id").Find(&e.links).Error; err != nil {
		return fmt.Errorf("read the links: %w", err)
	}
	return nil
}

// make makes one edit and sees that what it leaves can be worked off.
func (e *editor) make(edit Edit) error {
	if err := edit.apply(e); err != nil {
		return err
	}
	if err := e.read(); err != nil {
		return err
	}
	if len(e.steps) == 0 {
		return conflict("steps", 0, "“%s” would have no step left: drop the commission instead.", e.commission.Name)
	}
	return first(e.noCircle(), e.nothingBegunWaits())
}

// noCircle refuses links that go in a circle, and names the steps.
func (e *editor) noCircle() error {
	nodes, names, edges := make([]string, len(e.steps)), map[string]string{}, map[string][]string{}
	for i := range e.steps {
		nodes[i] = fmt.Sprint(e.steps[i].ID)
		names[nodes[i]] = e.steps[i].Name
	}
	for _, l := range e.links {
		before := fmt.Sprint(l.BeforeID)
		edges[before] = append(edges[before], fmt.Sprint(l.AfterID))
	}
	ring := circle(nodes, edges)
	if ring == nil {
		return nil
	}
	words := make([]string, len(ring))
	for i, key := range ring {
		words[i] = names[key]
	}
	return invalid("links", strings.Join(words, " → "), "The steps would go in a circle: %s.", chain(ring, names))
}

// nothingBegunWaits refuses that a step in hand or done is made to wait for one
// that is not begun.
func (e *editor) nothingBegunWaits() error {
	for _, l := range e.links {
		before, after := e.step(l.BeforeID), e.step(l.AfterID)
		if e.ahead(l) && !e.excused[[2]ID{l.BeforeID, l.AfterID}] {
			return conflict("link", after.Name, "“%s” is begun already and cannot wait for “%s”.", after.Name, before.Name)
		}
	}
	return nil
}

// ahead says whether the later step of a link is begun and the earlier is not.
func (e *editor) ahead(l Link) bool {
	return e.step(l.AfterID).begun() && !e.step(l.BeforeID).begun()
}

// snapshot reads the commission as the transaction sees it.
func (e *editor) snapshot() (*Snapshot, error) {
	snap := &Snapshot{At: e.store.Now()}
	var plans planCache
	var fixed fixedCache
	for _, read := range []func(*gorm.DB) error{
		snap.readShop,
		func(tx *gorm.DB) error { return snap.readCommissions(tx, e.commission.ID) },
		func(tx *gorm.DB) error { return snap.readFixed(tx, &fixed, false) },
		snap.readProgress,
		func(tx *gorm.DB) error { return snap.readPlan(tx, &plans) },
	} {
		if err := read(e.tx); err != nil {
			return nil, err
		}
	}
	return snap, nil
}

// begun says whether the step was started. One in trouble before it was begun is not.
func (s *Step) begun() bool { return s.StartedAt != nil }

// step finds a step of the commission by its number, nil if there is none.
func (e *editor) step(id ID) *Step {
	i := slices.IndexFunc(e.steps, func(s Step) bool { return s.ID == id })
	if i < 0 {
		return nil
	}
	return &e.steps[i]
}

// known finds a step of the commission or says that there is none.
func (e *editor) known(field string, id ID) (*Step, error) {
	if s := e.step(id); s != nil {
		return s, nil
	}
	return nil, &Error{Code: NotFound, Field: field, Value: fmt.Sprint(id),
		Sentence: phrase.Of("“%s” has no step with number %d; it may have been taken out.", e.commission.Name, id)}
}

// unbegun finds a step that may still be changed.
func (e *editor) unbegun(id ID) (*Step, error) {
	s, err := e.known("step", id)
	if err != nil {
		return nil, err
	}
	return s, s.mayChange()
}

// mayChange refuses a step that is begun.
func (s *Step) mayChange() error {
	if s.begun() {
		return conflict("step", s.Name, "“%s” is %s: only steps that are not begun are changed.", s.Name, stateWords[s.State].Of())
	}
	return nil
}

// before and after are the links of the earlier and of the later steps of one.
func (e *editor) before(id ID) (all []Link) {
	for _, l := range e.links {
		if l.AfterID == id {
			all = append(all, l)
		}
	}
	return all
}

func (e *editor) after(id ID) (all []Link) {
	for _, l := range e.links {
		if l.BeforeID == id {
			all = append(all, l)
		}
	}
	return all
}

// reach is every step that links lead to from one, itself not among them.
func (e *editor) reach(from ID) map[ID]bool {
	next := map[ID][]ID{}
	for _, l := range e.links {
		next[l.BeforeID] = append(next[l.BeforeID], l.AfterID)
	}
	found := map[ID]bool{}
	for open := []ID{from}; len(open) > 0; open = open[1:] {
		for _, id := range next[open[0]] {
			if !found[id] {
				found[id] = true
				open = append(open, id)
			}
		}
	}
	return found
}
