package handlers

import (
	"slices"
	"sort"
	"strconv"
	"time"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/models/phrase"
	"faceside/models/planner"
)

type apiPlan struct {
	Plan     *apiPlanMade     `json:"plan"`
	Steps    []apiPlannedStep `json:"steps"`
	Next     string           `json:"next,omitempty"` // where the following steps are
	Promises []apiPromise     `json:"promises"`
}

type apiPlanMade struct {
	ID     models.ID `json:"id"`
	MadeAt time.Time `json:"made_at"`
	Status string    `json:"status"`
	Notes  []string  `json:"notes"`
}

type apiPlannedStep struct {
	StepID       models.ID  `json:"step_id"`
	CommissionID models.ID  `json:"commission_id"`
	StationID    models.ID  `json:"station_id"`
	SetupID      *models.ID `json:"setup_id"`
	apiPlanned
}

type apiPromise struct {
	CommissionID models.ID `json:"commission_id"`
	PromisedBy   time.Time `json:"promised_by"`
	apiForecast
}

// apiPlan is the plan as it is expected to go from now on, with so many of its steps
// after one of them, and all promises.
func (s *server) apiPlan(c *gin.Context) (any, error) {
	r, err := s.room(c)
	if err != nil {
		return nil, err
	}
	asked, err := askedPage(c)
	if err != nil {
		return nil, err
	}
	following, err := stepsAfter(r.toCome(), asked.after)
	if err != nil {
		return nil, err
	}
	page := listOf(c, asked, following, func(st *comingStep) int64 { return st.step.ID })
	a := apiPlan{Steps: []apiPlannedStep{}, Next: page.Next, Promises: []apiPromise{}}
	if plan := r.snap.Plan; plan != nil {
		a.Plan = &apiPlanMade{plan.ID, plan.MadeAt.UTC(), plan.Status, append([]string{}, r.say.tellAll(plan.Note)...)}
	}
	for _, st := range page.Items {
		a.Steps = append(a.Steps, apiPlannedStep{st.step.ID, st.step.CommissionID, st.step.StationID, st.step.SetupID, *apiPlannedOf(st.planned)})
	}
	for _, f := range planner.Forecasts(r.snap) {
		a.Promises = append(a.Promises, apiPromise{f.CommissionID, f.PromisedBy.UTC(), apiForecast{f.Ends.UTC(), f.Late, f.SlackMin}})
	}
	return a, nil
}

// stepsAfter are the steps that are expected after one; all of them after 0. Their order
// is not that of their numbers, so what comes after a step that is not among them any
// more nobody can say.
func stepsAfter(all []comingStep, after models.ID) ([]comingStep, error) {
	if after == 0 {
		return all, nil
	}
	i := slices.IndexFunc(all, func(st comingStep) bool { return st.step.ID == after })
	if i < 0 {
		return nil, &models.Error{Code: models.Invalid, Field: "after", Value: strconv.FormatInt(after, 10),
			Sentence: phrase.Of("after: step %d is not among the steps to come. Begin again without it.", after)}
	}
	return all[i+1:], nil
}

// comingStep is a step whose attended part is not done, with when it is expected.
type comingStep struct {
	step    *models.Step
	planned *models.PlanStep
}

// toCome lists the steps of the plan whose attended part is not done, in the order in
// which they are expected.
func (r *room) toCome() []comingStep {
	var all []comingStep
	for i := range r.snap.Steps {
		st := &r.snap.Steps[i]
		if st.FinishedAt != nil {
			continue
		}
		if planned := planner.Expected(r.snap, st.ID); planned != nil {
			all = append(all, comingStep{st, planned})
		}
	}
	sort.SliceStable(all, func(i, j int) bool {
		a, b := all[i].planned, all[j].planned
		if !a.SetupStart.Equal(b.SetupStart) {
			return a.SetupStart.Before(b.SetupStart)
		}
		return a.Start.Before(b.Start)
	})
	return all
}
