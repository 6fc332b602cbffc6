package models

import (
	"fmt"
	"slices"
)

// ChangeUses changes what a step that is not begun works on. Where it makes an
// assembly of just that, the assembly is made of what it works on from now on;
// where several steps make one together, what is in it stays.
type ChangeUses struct {
	StepID     ID
	Parts      map[ID]int // part → quantity worked on
	Assemblies []ID       // assemblies worked on
}

func (c ChangeUses) apply(e *editor) error {
	row, err := e.unbegun(c.StepID)
	if err != nil {
		return err
	}
	alone, err := e.makesAlone(row)
	if err != nil {
		return err
	}
	if err := c.check(e, row, alone); err != nil {
		return err
	}
	for _, rows := range []any{&StepPart{}, &StepAssembly{}} {
		if err := e.tx.Where("step_id = ?", row.ID).Delete(rows).Error; err != nil {
			return fmt.Errorf("clear what step %d works on: %w", row.ID, err)
		}
	}
	if err := e.saveUses(row.PieceID, row.ID, c.Parts, c.Assemblies); err != nil || !alone {
		return err
	}
	return first(c.refill(e, *row.MakesID), e.noAssemblyInItself(row.PieceID))
}

// check refuses what no step could work on.
func (c ChangeUses) check(e *editor, row *Step, alone bool) error {
	for i, id := range c.Assemblies {
		if slices.Contains(c.Assemblies[:i], id) {
			return invalid("assemblies", id, "“%s” would work on assembly %d twice.", row.Name, id)
		}
	}
	if row.MakesID == nil {
		return nil
	}
	made, err := get[Assembly](e.tx, "assembly", *row.MakesID)
	if err != nil {
		return err
	}
	if slices.Contains(c.Assemblies, made.ID) {
		return invalid("assemblies", made.Name, "“%s” makes the assembly “%s”: it cannot be made of itself.", row.Name, made.Name)
	}
	if alone && len(c.Parts)+len(c.Assemblies) == 0 {
		return invalid("parts", 0, "“%s” makes the assembly “%s”, which would be made of nothing.", row.Name, made.Name)
	}
	return nil
}

// makesAlone says whether a step makes an assembly of all that it works on, and
// of nothing else.
func (e *editor) makesAlone(row *Step) (bool, error) {
	if row.MakesID == nil {
		return false, nil
	}
	parts, assemblies, _, err := e.uses(row.ID)
	if err != nil {
		return false, err
	}
	var holds []AssemblyPart
	var inner []AssemblyAssembly
	for _, rows := range []any{&holds, &inner} {
		if err := e.tx.Where("assembly_id = ?", *row.MakesID).Find(rows).Error; err != nil {
			return false, fmt.Errorf("read what is in assembly %d: %w", *row.MakesID, err)
		}
	}
	if len(parts) != len(holds) || len(assemblies) != len(inner) {
		return false, nil
	}
	for _, p := range parts {
		if !slices.ContainsFunc(holds, func(h AssemblyPart) bool { return h.PartID == p.PartID && h.Quantity == p.Quantity }) {
			return false, nil
		}
	}
	for _, a := range assemblies {
		if !slices.ContainsFunc(inner, func(h AssemblyAssembly) bool { return h.InnerID == a.AssemblyID }) {
			return false, nil
		}
	}
	return true, nil
}

// refill makes an assembly of what its step works on.
func (c ChangeUses) refill(e *editor, assembly ID) error {
	var parts []*AssemblyPart
	for _, id := range sortedKeys(c.Parts) {
		parts = append(parts, &AssemblyPart{AssemblyID: assembly, PartID: id, Quantity: c.Parts[id]})
	}
	var inner []*AssemblyAssembly
	for _, id := range c.Assemblies {
		inner = append(inner, &AssemblyAssembly{AssemblyID: assembly, InnerID: id})
	}
	for _, rows := range []any{&AssemblyPart{}, &AssemblyAssembly{}} {
		if err := e.tx.Where("assembly_id = ?", assembly).Delete(rows).Error; err != nil {
			return fmt.Errorf("empty assembly %d: %w", assembly, err)
		}
	}
	return first(create(e.tx, "parts of the assembly", parts), create(e.tx, "assemblies in the assembly", inner))
}

// noAssemblyInItself refuses assemblies of a piece that are inside one another.
func (e *editor) noAssemblyInItself(piece ID) error {
	var all []Assembly
	if err := e.tx.Where("piece_id = ?", piece).Order("id").Find(&all).Error; err != nil {
		return fmt.Errorf("read the assemblies: %w", err)
	}
	var inside []AssemblyAssembly
	if err := e.tx.Where("assembly_id IN (SELECT id FROM assemblies WHERE piece_id = ?)", piece).Order("id").Find(&inside).Error; err != nil {
		return fmt.Errorf("read the assemblies in assemblies: %w", err)
	}
	nodes, names, edges := make([]string, len(all)), map[string]string{}, map[string][]string{}
	for i, a := range all {
		nodes[i] = fmt.Sprint(a.ID)
		names[nodes[i]] = a.Name
	}
	for _, in := range inside {
		edges[fmt.Sprint(in.AssemblyID)] = append(edges[fmt.Sprint(in.AssemblyID)], fmt.Sprint(in.InnerID))
	}
	if ring := circle(nodes, edges); ring != nil {
		return invalid("assemblies", names[ring[0]], "Assemblies would be inside one another: %s.", chain(ring, names))
	}
	return nil
}
