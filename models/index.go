package models

import (
	"cmp"
	"reflect"
	"slices"
	"sync"
	"time"
)

// Snapshot is what was true at one moment: the shop and everything about the
// commissions that are open or held (or about one commission). Its slices must
// not be changed once one of its methods was called; what the pointers, slices
// and maps inside its records hold is shared with other snapshots and must not
// be changed at all.
type Snapshot struct {
	At                 time.Time // the store's clock when it was read, UTC
	Shop               Shop
	Hours              []Hours // by weekday and opening
	DaysOff            []DayOff
	ExtraHours         []ExtraHours // by day and opening
	Stays              []Stay
	Closures           []Closure
	Loans              []Loan
	Wanted             []Wanted
	People             []Person
	Stations           []Station
	Setups             []Setup
	Clamps             []ClampClass
	Zones              []Zone
	Glues              []Glue
	Finishes           []Finish
	Tablets            []Tablet
	Returned           []ReturnedTap
	Commissions        []Commission
	Pieces             []Piece
	Parts              []Part
	Assemblies         []Assembly
	AssemblyParts      []AssemblyPart
	AssemblyAssemblies []AssemblyAssembly
	Steps              []Step // by commission, piece and position
	Runs               []Run  // of which something is in hand
	StepParts          []StepPart
	StepAssemblies     []StepAssembly
	StepClamps         []StepClamp
	Links              []Link
	Cut                map[ID]int // of each part, how many are booked as cut
	Troubles           []Tap      // with a kind, not taken back, of steps that are not done, oldest first
	LastTaps           []Tap      // the newest effective taps, newest first; no undos and nothing undone
	Plan               *Plan      // the current plan; nil before the first

	once  sync.Once
	ix    index
	kept  sync.Map  // see Keep
	trial *Snapshot // what this is a trial of, nil for none
}

// Trial is a copy whose steps may be moved on (Step.Move), to see what would come
// next.
func (s *Snapshot) Trial() *Snapshot {
	t := s.Copied()
	t.trial, t.Steps = s.Origin(), slices.Clone(s.Steps)
	return t
}

// Copied is a copy that shares all records and none of what was made of them, so that
// it may be given others.
func (s *Snapshot) Copied() *Snapshot {
	c := &Snapshot{}
	from, to := reflect.ValueOf(s).Elem(), reflect.ValueOf(c).Elem()
	for i := range from.NumField() {
		if from.Type().Field(i).IsExported() {
			to.Field(i).Set(from.Field(i))
		}
	}
	return c
}

// Origin is the snapshot that this is a trial of, or this one.
func (s *Snapshot) Origin() *Snapshot {
	if s.trial != nil {
		return s.trial
	}
	return s
}

// Keep returns what work makes of the snapshot. It is made once for each key, for
// all who share the snapshot, and must not be changed. A key is of a type of its
// user's own.
func (s *Snapshot) Keep(key any, work func() any) any {
	if s.trial != nil {
		return work() // its steps move
	}
	once, _ := s.kept.LoadOrStore(key, sync.OnceValue(work))
	return once.(func() any)()
}

// index finds records by number. Positions, not pointers, so that it can be
// built in one pass.
type index struct {
	steps, stations, setups, commissions, people, pieces map[ID]int
	parts, clamps, zones, glues, finishes, assemblies    map[ID]int
	before, after                                        map[ID][]Link
	stepParts                                            map[ID][]StepPart
	stepAssemblies                                       map[ID][]StepAssembly
	stepClamps                                           map[ID][]StepClamp
	stepsOf                                              map[ID][]*Step
	planned, wanted                                      map[ID]int
}

// indexed builds the index on first use: O(records), once.
func (s *Snapshot) indexed() *index {
	s.once.Do(func() {
		s.ix = index{
			steps:       positions(s.Steps, func(r *Step) ID { return r.ID }),
			stations:    positions(s.Stations, func(r *Station) ID { return r.ID }),
			setups:      positions(s.Setups, func(r *Setup) ID { return r.ID }),
			commissions: positions(s.Commissions, func(r *Commission) ID { return r.ID }),
			people:      positions(s.People, func(r *Person) ID { return r.ID }),
			pieces:      positions(s.Pieces, func(r *Piece) ID { return r.ID }),
			parts:       positions(s.Parts, func(r *Part) ID { return r.ID }),
			clamps:      positions(s.Clamps, func(r *ClampClass) ID { return r.ID }),
			zones:       positions(s.Zones, func(r *Zone) ID { return r.ID }),
			glues:       positions(s.Glues, func(r *Glue) ID { return r.ID }),
			finishes:    positions(s.Finishes, func(r *Finish) ID { return r.ID }),
			assemblies:  positions(s.Assemblies, func(r *Assembly) ID { return r.ID }),

			before:         groups(s.Links, func(r *Link) ID { return r.AfterID }),
			after:          groups(s.Links, func(r *Link) ID { return r.BeforeID }),
			stepParts:      groups(s.StepParts, func(r *StepPart) ID { return r.StepID }),
			stepAssemblies: groups(s.StepAssemblies, func(r *StepAssembly) ID { return r.StepID }),
			stepClamps:     groups(s.StepClamps, func(r *StepClamp) ID { return r.StepID }),
			stepsOf:        map[ID][]*Step{},
			wanted:         positions(s.Wanted, func(r *Wanted) ID { return r.StepID }),
		}
		for i := range s.Steps {
			st := &s.Steps[i]
			s.ix.stepsOf[st.CommissionID] = append(s.ix.stepsOf[st.CommissionID], st)
		}
		if s.Plan != nil {
			s.ix.planned = positions(s.Plan.Steps, func(r *PlanStep) ID { return r.StepID })
		}
	})
	return &s.ix
}

func positions[T any](all []T, id func(*T) ID) map[ID]int {
	m := make(map[ID]int, len(all))
	for i := range all {
		m[id(&all[i])] = i
	}
	return m
}

func groups[T any](all []T, id func(*T) ID) map[ID][]T {
	m := make(map[ID][]T, len(all))
	for i := range all {
		k := id(&all[i])
		m[k] = append(m[k], all[i])
	}
	return m
}

func find[T any](all []T, at map[ID]int, id ID) *T {
	if i, ok := at[id]; ok {
		return &all[i]
	}
	return nil
}

// Step returns the step with that number, nil if the snapshot has none; so do
// the other methods named after one record. All take constant time.
func (s *Snapshot) Step(id ID) *Step { return find(s.Steps, s.indexed().steps, id) }

// Station returns a station or nil.
func (s *Snapshot) Station(id ID) *Station { return find(s.Stations, s.indexed().stations, id) }

// Setup returns a setup or nil.
func (s *Snapshot) Setup(id ID) *Setup { return find(s.Setups, s.indexed().setups, id) }

// SetupOf returns the setup a step needs, nil if none, with what the maker sets
// for that step as its instruction. It is the caller's own.
func (s *Snapshot) SetupOf(st *Step) *Setup {
	if st.SetupID == nil {
		return nil
	}
	shared := s.Setup(*st.SetupID)
	if shared == nil {
		return nil
	}
	setup := *shared
	setup.Instruction = cmp.Or(st.SetTo, setup.Instruction)
	return &setup
}

// Commission returns a commission or nil.
func (s *Snapshot) Commission(id ID) *Commission {
	return find(s.Commissions, s.indexed().commissions, id)
}

// Person returns a person or nil.
func (s *Snapshot) Person(id ID) *Person { return find(s.People, s.indexed().people, id) }

// Piece returns a piece or nil.
func (s *Snapshot) Piece(id ID) *Piece { return find(s.Pieces, s.indexed().pieces, id) }

// Part returns a part or nil.
func (s *Snapshot) Part(id ID) *Part { return find(s.Parts, s.indexed().parts, id) }

// Clamp returns a clamp class or nil.
func (s *Snapshot) Clamp(id ID) *ClampClass { return find(s.Clamps, s.indexed().clamps, id) }

// Zone returns a zone or nil.
func (s *Snapshot) Zone(id ID) *Zone { return find(s.Zones, s.indexed().zones, id) }

// Glue returns a glue or nil.
func (s *Snapshot) Glue(id ID) *Glue { return find(s.Glues, s.indexed().glues, id) }

// Finish returns a finish or nil.
func (s *Snapshot) Finish(id ID) *Finish { return find(s.Finishes, s.indexed().finishes, id) }

// Assembly returns an assembly or nil.
func (s *Snapshot) Assembly(id ID) *Assembly { return find(s.Assemblies, s.indexed().assemblies, id) }

// Before returns the links to the steps that come before a step.
func (s *Snapshot) Before(step ID) []Link { return s.indexed().before[step] }

// After returns the links to the steps that come after a step.
func (s *Snapshot) After(step ID) []Link { return s.indexed().after[step] }

// PartsOf returns the parts worked on in a step.
func (s *Snapshot) PartsOf(step ID) []StepPart { return s.indexed().stepParts[step] }

// AssembliesOf returns the assemblies worked on in a step.
func (s *Snapshot) AssembliesOf(step ID) []StepAssembly { return s.indexed().stepAssemblies[step] }

// ClampsOf returns the clamps a step holds.
func (s *Snapshot) ClampsOf(step ID) []StepClamp { return s.indexed().stepClamps[step] }

// StepsOf returns the steps of a commission in the order of its pieces and of
// their patterns.
func (s *Snapshot) StepsOf(commission ID) []*Step { return s.indexed().stepsOf[commission] }

// Planned returns where the current plan has a step, nil if nowhere.
func (s *Snapshot) Planned(step ID) *PlanStep {
	ix := s.indexed()
	if s.Plan == nil {
		return nil
	}
	return find(s.Plan.Steps, ix.planned, step)
}
