package models

import (
	"sync"
	"testing"

	"github.com/stretchr/testify/require"
	"gorm.io/gorm/schema"
)

// Columns lists, for each table, the columns that its record has.
func Columns(t *testing.T) map[string][]string {
	t.Helper()
	all := map[string][]string{}
	for _, record := range []any{
		&Shop{}, &Hours{}, &DayOff{}, &Person{}, &Station{}, &ClampClass{}, &Zone{}, &Glue{}, &Finish{}, &Commission{}, &Piece{}, &Part{},
		&Assembly{}, &AssemblyPart{}, &AssemblyAssembly{}, &Step{}, &StepPart{}, &StepAssembly{}, &StepClamp{}, &Link{}, &Setup{}, &Tap{}, &Tablet{}, &tapQueue{}, &ReturnedTap{},
		&Plan{}, &PlanStep{}, &PlanSetup{}, &PlanDay{}, &PlanMoves{}, &PlanRun{}, &planProblem{}, &RemovedStep{}, &OwnPattern{}, &Board{}, &BoardDefect{},
		&Cutting{}, &CuttingBoard{}, &CuttingPart{},
		&PartTick{}, &StepNote{}, &Photo{}, &Feed{},
		&SignIn{}, &PIN{}, &Tries{}, &KnownBrowser{}, &AccessKey{}, &Session{}, &SignInEvent{},
		&ExtraHours{}, &Stay{}, &Closure{}, &Loan{}, &Wanted{}, &Steered{},
	} {
		s, err := schema.Parse(record, &sync.Map{}, schema.NamingStrategy{})
		require.NoError(t, err)
		for _, f := range s.Fields {
			if f.DBName != "" {
				all[s.Table] = append(all[s.Table], f.DBName)
			}
		}
	}
	return all
}
