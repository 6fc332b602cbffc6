package planner

import (
	"sort"
	"time"

	"faceside/models"
)

// Forecast says when a commission will be complete by the plan.
type Forecast struct {
	CommissionID models.ID
	Name         string
	Ends         time.Time // when its last step is over, rests included
	PromisedBy   time.Time // closing time of the promised day, or the last one before it
	Late         bool      // Ends is after PromisedBy
	SlackMin     int       // open minutes from Ends to PromisedBy; negative from PromisedBy to Ends
}

// Forecasts returns the forecast of each open commission by the snapshot's
// plan, in order of promise. A commission with nothing left ends at the moment
// of the snapshot; one with a step that is not in the plan yet, or whose date
// cannot be read, is left out.
func Forecasts(snap *models.Snapshot) []Forecast { return forecasts(snap, snap.Planned) }

// forecasts is Forecasts by the plan that has the steps where planned says.
func forecasts(snap *models.Snapshot, planned func(models.ID) *models.PlanStep) []Forecast {
	cal := localCalendar(snap)
	var all []Forecast
	for i := range snap.Commissions {
		c := &snap.Commissions[i]
		by, err := cal.promised(c.PromisedOn)
		ends, known := endOfWork(snap, c.ID, planned)
		if c.State != models.Open || err != nil || !known {
			continue
		}
		all = append(all, Forecast{CommissionID: c.ID, Name: c.Name, Ends: ends, PromisedBy: by,
			Late: ends.After(by), SlackMin: cal.minutes(ends, by)})
	}
	sort.SliceStable(all, func(a, b int) bool { return all[a].PromisedBy.Before(all[b].PromisedBy) })
	return all
}

// endOfWork returns when the plan ends the last step of a commission, not
// before the snapshot's moment; false where the plan lacks a step.
func endOfWork(snap *models.Snapshot, commission models.ID, planned func(models.ID) *models.PlanStep) (time.Time, bool) {
	ends := snap.At
	for _, st := range snap.StepsOf(commission) {
		if standOf(st, snap.At) == over {
			continue
		}
		p := planned(st.ID)
		if p == nil {
			return time.Time{}, false
		}
		if p.End.After(ends) {
			ends = p.End
		}
	}
	return ends, true
}
