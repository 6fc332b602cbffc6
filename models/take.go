package models

import (
	"context"
	"fmt"
	"sort"

	"gorm.io/gorm"
)

// NewCommission is a commission with all that is to be stored for it.
type NewCommission struct {
	Commission
	Pieces []NewPiece
}

// NewPiece is a piece of a new commission. Keys are of this piece; stations,
// clamps, glues and finishes are numbers of records.
type NewPiece struct {
	Piece
	Parts      []Part
	Assemblies []NewAssembly
	Steps      []NewStep // in the pattern's order; Position is set from it
	Links      []NewLink
}

// NewAssembly is an assembly and what is in it.
type NewAssembly struct {
	Assembly
	Parts map[string]int // part key → quantity
	Inner []string       // keys of assemblies inside it
}

// NewStep is a step and what it works on and with.
type NewStep struct {
	Step
	Setup      *Setup         // found by station and state, or created; nil: none needed
	Parts      map[string]int // part key → quantity
	Assemblies []string       // keys of assemblies worked on
	Makes      string         // key of the assembly it makes, "" for none
	Clamps     map[ID]int     // clamp class → count
}

// NewLink is a link between two steps of the piece.
type NewLink struct {
	Before, After string // step keys
	Link
}

// batch is how many rows go into one statement; SQLite takes 32 766 values.
const batch = 200

// TakeCommission stores a new commission, whole or not at all. It refuses a
// promised date before the shop's today, keys nobody has, links that go in a
// circle, and more clamps than the rack has.
func (s *Store) TakeCommission(ctx context.Context, n NewCommission) (*Commission, error) {
	n.ID, n.TakenAt = 0, s.Now()
	if n.State == "" {
		n.State = Open
	}
	if err := n.check(); err != nil {
		return nil, err
	}
	c := n.Commission
	err := s.write(ctx, "take the commission", func(tx *gorm.DB) (*Change, error) {
		if err := c.notPast(tx, c.TakenAt); err != nil {
			return nil, err
		}
		if err := tx.Create(&c).Error; err != nil {
			return nil, fmt.Errorf("store the commission: %w", err)
		}
		for i := range n.Pieces {
			t := taker{tx: tx, commission: c.ID, piece: n.Pieces[i]}
			if err := t.take(); err != nil {
				return nil, err
			}
		}
		return &Change{Kind: ChangedCommission}, nil
	})
	if err != nil {
		return nil, err
	}
	return &c, nil
}

// taker stores one piece and remembers the numbers its keys were given.
type taker struct {
	tx         *gorm.DB
	commission ID
	piece      NewPiece
	parts      map[string]ID
	assemblies map[string]ID
	steps      map[string]ID
}

// take stores what depends on nothing first.
func (t *taker) take() error {
	for _, store := range []func() error{t.storePiece, t.storeParts, t.storeAssemblies, t.storeSteps, t.storeUses, t.storeLinks} {
		if err := store(); err != nil {
			return err
		}
	}
	return nil
}

func (t *taker) storePiece() error {
	p := &t.piece.Piece
	p.ID, p.CommissionID = 0, t.commission
	if p.Measures == nil {
		p.Measures = map[string]string{} // a nil map would be stored as NULL
	}
	if p.Choices == nil {
		p.Choices = map[string]string{}
	}
	if p.Facts == "" {
		p.Facts = "{}"
	}
	return create(t.tx, "piece", []*Piece{p})
}

func (t *taker) storeParts() error {
	rows := make([]*Part, len(t.piece.Parts))
	for i := range t.piece.Parts {
		p := t.piece.Parts[i]
		p.ID, p.CommissionID, p.PieceID = 0, t.commission, t.piece.ID
		rows[i] = &p
	}
	if err := create(t.tx, "parts", rows); err != nil {
		return err
	}
	t.parts = make(map[string]ID, len(rows))
	for _, p := range rows {
		t.parts[p.Key] = p.ID
	}
	return nil
}

func (t *taker) storeAssemblies() error {
	rows := make([]*Assembly, len(t.piece.Assemblies))
	for i := range t.piece.Assemblies {
		rows[i] = &Assembly{CommissionID: t.commission, PieceID: t.piece.ID, Key: t.piece.Assemblies[i].Key, Name: t.piece.Assemblies[i].Name}
	}
	if err := create(t.tx, "assemblies", rows); err != nil {
		return err
	}
	t.assemblies = make(map[string]ID, len(rows))
	for _, a := range rows {
		t.assemblies[a.Key] = a.ID
	}
	var parts []*AssemblyPart
	var inner []*AssemblyAssembly
	for _, a := range t.piece.Assemblies {
		for _, key := range sortedKeys(a.Parts) {
			parts = append(parts, &AssemblyPart{AssemblyID: t.assemblies[a.Key], PartID: t.parts[key], Quantity: a.Parts[key]})
		}
		for _, key := range a.Inner {
			inner = append(inner, &AssemblyAssembly{AssemblyID: t.assemblies[a.Key], InnerID: t.assemblies[key]})
		}
	}
	return first(create(t.tx, "parts of assemblies", parts), create(t.tx, "assemblies in assemblies", inner))
}

func (t *taker) storeSteps() error {
	next, err := nextStepID(t.tx)
	if err != nil {
		return err
	}
	rows := make([]*Step, len(t.piece.Steps))
	for i := range t.piece.Steps {
		n := &t.piece.Steps[i]
		row := n.Step
		row.ID, row.CommissionID, row.PieceID, row.Position = next+ID(i), t.commission, t.piece.ID, i
		row.put(untouched)
		row.PinnedAt = nil
		if row.Cautions == nil {
			row.Cautions = []string{}
		}
		if err := setUp(t.tx, &row, n.Setup); err != nil {
			return err
		}
		row.MakesID = nil
		if n.Makes != "" {
			makes := t.assemblies[n.Makes]
			row.MakesID = &makes
		}
		if err := shopHas(t.tx, n); err != nil {
			return err
		}
		rows[i] = &row
	}
	if err := create(t.tx, "steps", rows); err != nil {
		return err
	}
	t.steps = make(map[string]ID, len(rows))
	for _, s := range rows {
		t.steps[s.Key] = s.ID
	}
	return nil
}

// nextStepID is a number that no step has or had.
func nextStepID(tx *gorm.DB) (ID, error) {
	var last ID
	err := tx.Raw("SELECT max(coalesce((SELECT max(id) FROM steps), 0), coalesce((SELECT max(id) FROM removed_steps), 0))").Scan(&last).Error
	if err != nil {
		return 0, fmt.Errorf("look for a free number of a step: %w", err)
	}
	return last + 1, nil
}

// setUp writes into a step's row the setup it needs of its station, found or
// created, and what is done for it: steps may share a setup and still differ in
// that. With nil the step needs none.
func setUp(tx *gorm.DB, row *Step, needs *Setup) error {
	row.SetupID, row.SetTo = nil, ""
	if needs == nil {
		return nil
	}
	station, err := get[Station](tx, "station", row.StationID)
	if err != nil {
		return err
	}
	if station.Places > 1 {
		return invalid("setup", needs.State, "“%s” needs the setup “%s”, but %s has %d places and is not set up.",
			row.Name, needs.State, station.Name, station.Places)
	}
	setup := Setup{StationID: station.ID, Family: needs.Family, State: needs.State, Instruction: needs.Instruction}
	err = tx.Where("station_id = ? AND state = ?", setup.StationID, setup.State).FirstOrCreate(&setup).Error
	if err != nil {
		return fmt.Errorf("store the setup %q: %w", setup.State, err)
	}
	row.SetupID, row.SetTo = &setup.ID, needs.Instruction
	return nil
}

// shopHas refuses a step that asks for what the shop has not.
func shopHas(tx *gorm.DB, n *NewStep) error {
	if _, err := get[Station](tx, "station", n.StationID); err != nil {
		return err
	}
	if n.GlueID != nil {
		if _, err := get[Glue](tx, "glue", *n.GlueID); err != nil {
			return err
		}
	}
	if n.FinishID != nil {
		if _, err := get[Finish](tx, "finish", *n.FinishID); err != nil {
			return err
		}
	}
	for _, id := range sortedKeys(n.Clamps) {
		class, err := get[ClampClass](tx, "clamp class", id)
		if err != nil {
			return err
		}
		if n.Clamps[id] > class.Count {
			return invalid("clamps", n.Clamps[id], "“%s” needs %d of %s; the rack has %d.", n.Name, n.Clamps[id], class.Name, class.Count)
		}
	}
	return nil
}

// storeUses stores what each step works on and with.
func (t *taker) storeUses() error {
	var parts []*StepPart
	var assemblies []*StepAssembly
	var clamps []*StepClamp
	for i := range t.piece.Steps {
		n := &t.piece.Steps[i]
		id := t.steps[n.Key]
		for _, key := range sortedKeys(n.Parts) {
			parts = append(parts, &StepPart{StepID: id, PartID: t.parts[key], Quantity: n.Parts[key]})
		}
		for _, key := range n.Assemblies {
			assemblies = append(assemblies, &StepAssembly{StepID: id, AssemblyID: t.assemblies[key]})
		}
		for _, class := range sortedKeys(n.Clamps) {
			clamps = append(clamps, &StepClamp{StepID: id, ClampClassID: class, Count: n.Clamps[class]})
		}
	}
	return first(create(t.tx, "parts of steps", parts), create(t.tx, "assemblies of steps", assemblies), create(t.tx, "clamps of steps", clamps))
}

func (t *taker) storeLinks() error {
	rows := make([]*Link, len(t.piece.Links))
	for i, n := range t.piece.Links {
		row := n.Link
		row.ID, row.CommissionID, row.BeforeID, row.AfterID = 0, t.commission, t.steps[n.Before], t.steps[n.After]
		rows[i] = &row
	}
	return create(t.tx, "links", rows)
}

// create stores rows, if there are any.
func create[T any](tx *gorm.DB, what string, rows []*T) error {
	if len(rows) == 0 {
		return nil
	}
	if err := tx.CreateInBatches(rows, batch).Error; err != nil {
		return fmt.Errorf("store the %s: %w", what, err)
	}
	return nil
}

// sortedKeys gives a map's keys in an order that is always the same.
func sortedKeys[K ~string | ~int64, V any](m map[K]V) []K {
	keys := make([]K, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	sort.Slice(keys, func(i, j int) bool { return keys[i] < keys[j] })
	return keys
}
