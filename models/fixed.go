package models

import (
	"fmt"
	"maps"
	"slices"
	"sync"

	"gorm.io/gorm"
)

// fixed is what belongs to a commission and does not change but when it is
// edited: all but the commission's own row and where its steps stand. It is
// stored in one transaction with the commission's row, and so is every edit of
// it with the row's edition: who sees the row sees all of that edition, and
// what was read once holds for every later snapshot that sees the same one.
type fixed struct {
	edition            int64
	pieces             []Piece
	parts              []Part
	assemblies         []Assembly
	assemblyParts      []AssemblyPart
	assemblyAssemblies []AssemblyAssembly
	steps              []Step // by piece and position; where they stand is not theirs
	stepParts          []StepPart
	stepAssemblies     []StepAssembly
	stepClamps         []StepClamp
	links              []Link
}

// fixedCache keeps the fixed part of commissions, so that a snapshot reads only
// what moves. What it has of another edition than is asked for is read anew.
type fixedCache struct {
	mu  sync.Mutex
	all map[ID]*fixed
}

// of returns the fixed parts of commissions in the order of their numbers, and
// reads those not yet known in their edition. With only, it forgets all others:
// those delivered or dropped since.
func (c *fixedCache) of(tx *gorm.DB, commissions []Commission, only bool) ([]*fixed, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	known := make(map[ID]*fixed, len(commissions))
	edition := make(map[ID]int64, len(commissions))
	var missing []ID
	for _, com := range commissions {
		edition[com.ID] = com.Edition
		if f, ok := c.all[com.ID]; ok && f.edition == com.Edition {
			known[com.ID] = f
		} else {
			missing = append(missing, com.ID)
		}
	}
	if len(missing) > 0 {
		read, err := readFixed(tx, missing)
		if err != nil {
			return nil, err
		}
		for id, f := range read {
			f.edition = edition[id]
			known[id] = f
		}
	}
	if only || c.all == nil {
		c.all = known
	}
	sorted := slices.Sorted(maps.Keys(known))
	out := make([]*fixed, len(sorted))
	for i, id := range sorted {
		out[i] = known[id]
	}
	return out, nil
}

// readFixed reads the fixed parts of commissions, each table once.
func readFixed(tx *gorm.DB, ids []ID) (map[ID]*fixed, error) {
	var all fixed
	for _, t := range []table{
		{&all.pieces, "id"}, {&all.parts, "id"}, {&all.assemblies, "id"}, {&all.steps, "piece_id, position"}, {&all.links, "id"},
	} {
		if err := tx.Where("commission_id IN ?", ids).Order(t.order).Find(t.rows).Error; err != nil {
			return nil, fmt.Errorf("read %T: %w", t.rows, err)
		}
	}
	for _, u := range []struct {
		rows any
		by   string
		of   any
	}{
		{&all.assemblyParts, "assembly_id", &Assembly{}}, {&all.assemblyAssemblies, "assembly_id", &Assembly{}},
		{&all.stepParts, "step_id", &Step{}}, {&all.stepAssemblies, "step_id", &Step{}}, {&all.stepClamps, "step_id", &Step{}},
	} {
		of := tx.Model(u.of).Select("id").Where("commission_id IN ?", ids)
		if err := tx.Where(u.by+" IN (?)", of).Order("id").Find(u.rows).Error; err != nil {
			return nil, fmt.Errorf("read %T: %w", u.rows, err)
		}
	}
	return all.split(ids), nil
}

// split sorts rows by the commission they belong to.
func (f *fixed) split(ids []ID) map[ID]*fixed {
	by := make(map[ID]*fixed, len(ids))
	for _, id := range ids {
		by[id] = &fixed{}
	}
	step, assembly := map[ID]*fixed{}, map[ID]*fixed{}
	for _, r := range f.pieces {
		by[r.CommissionID].pieces = append(by[r.CommissionID].pieces, r)
	}
	for _, r := range f.parts {
		by[r.CommissionID].parts = append(by[r.CommissionID].parts, r)
	}
	for _, r := range f.assemblies {
		assembly[r.ID] = by[r.CommissionID]
		assembly[r.ID].assemblies = append(assembly[r.ID].assemblies, r)
	}
	for _, r := range f.steps {
		r.Cautions = slices.Clip(r.Cautions) // who appends to it must not write into another's
		step[r.ID] = by[r.CommissionID]
		step[r.ID].steps = append(step[r.ID].steps, r)
	}
	for _, r := range f.links {
		by[r.CommissionID].links = append(by[r.CommissionID].links, r)
	}
	for _, r := range f.assemblyParts {
		assembly[r.AssemblyID].assemblyParts = append(assembly[r.AssemblyID].assemblyParts, r)
	}
	for _, r := range f.assemblyAssemblies {
		assembly[r.AssemblyID].assemblyAssemblies = append(assembly[r.AssemblyID].assemblyAssemblies, r)
	}
	for _, r := range f.stepParts {
		step[r.StepID].stepParts = append(step[r.StepID].stepParts, r)
	}
	for _, r := range f.stepAssemblies {
		step[r.StepID].stepAssemblies = append(step[r.StepID].stepAssemblies, r)
	}
	for _, r := range f.stepClamps {
		step[r.StepID].stepClamps = append(step[r.StepID].stepClamps, r)
	}
	return by
}

// copyInto appends copies of the rows to a snapshot.
func (f *fixed) copyInto(s *Snapshot) {
	s.Pieces = append(s.Pieces, f.pieces...)
	s.Parts = append(s.Parts, f.parts...)
	s.Assemblies = append(s.Assemblies, f.assemblies...)
	s.AssemblyParts = append(s.AssemblyParts, f.assemblyParts...)
	s.AssemblyAssemblies = append(s.AssemblyAssemblies, f.assemblyAssemblies...)
	s.Steps = append(s.Steps, f.steps...)
	s.StepParts = append(s.StepParts, f.stepParts...)
	s.StepAssemblies = append(s.StepAssemblies, f.stepAssemblies...)
	s.StepClamps = append(s.StepClamps, f.stepClamps...)
	s.Links = append(s.Links, f.links...)
}
