package handlers

import (
	"context"
	"time"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/models/planner"
)

type apiStep struct {
	ID                models.ID     `json:"id"`
	CommissionID      models.ID     `json:"commission_id"`
	PieceID           models.ID     `json:"piece_id"`
	Name              string        `json:"name"`
	Phase             string        `json:"phase"`
	Kind              string        `json:"kind"`
	StationID         models.ID     `json:"station_id"`
	SetupID           *models.ID    `json:"setup_id"`
	AttendedMinutes   int           `json:"attended_minutes"`
	UnattendedMinutes int           `json:"unattended_minutes"`
	Rest              string        `json:"rest"`
	Hands             int           `json:"hands"`
	State             string        `json:"state"`
	PersonID          *models.ID    `json:"person_id"`
	WorkedMinutes     int           `json:"worked_minutes"`
	StartedAt         *time.Time    `json:"started_at"`
	FinishedAt        *time.Time    `json:"finished_at"`
	RestEndsAt        *time.Time    `json:"rest_ends_at"`
	DoneAt            *time.Time    `json:"done_at"`
	PinnedAt          *time.Time    `json:"pinned_at"`
	Trouble           string        `json:"trouble"`
	Cautions          []string      `json:"cautions"`
	Note              string        `json:"note"`
	Parts             []apiStepPart `json:"parts"`
	After             []apiLink     `json:"after"`
	Planned           *apiPlanned   `json:"planned"`
	HourMoves         *float64      `json:"hour_moves"`
	Screen            string        `json:"screen"`
}

type apiStepPart struct {
	PartID   models.ID `json:"part_id"`
	Quantity int       `json:"quantity"`
}

// apiLink is a step that comes before, with the least and maybe a greatest lag.
type apiLink struct {
	StepID     models.ID `json:"step_id"`
	From       string    `json:"from"`
	MinMinutes int       `json:"min_minutes"`
	MaxMinutes *int      `json:"max_minutes"`
	Why        string    `json:"why"`
}

type apiPlanned struct {
	SetupStart  time.Time   `json:"setup_start"`
	Start       time.Time   `json:"start"`
	AttendedEnd time.Time   `json:"attended_end"`
	End         time.Time   `json:"end"`
	PersonIDs   []models.ID `json:"person_ids"`
}

// apiSteps are the steps of what is open or held, or of one commission in any state.
func (s *server) apiSteps(c *gin.Context) (any, error) {
	commission, err := askedNumber(c, "commission", 0)
	if err != nil {
		return nil, err
	}
	r, err := s.room(c)
	if err == nil && commission != 0 {
		r, err = s.commissionRoom(c.Request.Context(), commission)
	}
	if err != nil {
		return nil, err
	}
	all := make([]apiStep, 0, len(r.snap.Steps))
	for i := range r.snap.Steps {
		all = append(all, r.apiStep(&r.snap.Steps[i]))
	}
	return pageOf(c, all, func(st *apiStep) int64 { return st.ID })
}

func (s *server) commissionRoom(ctx context.Context, id models.ID) (*room, error) {
	snap, err := s.store.CommissionSnapshot(ctx, id)
	if err != nil {
		return nil, err
	}
	return s.roomOf(snap)
}

// apiStep is one step of what is open or held.
func (s *server) apiStep(c *gin.Context) (any, error) {
	id, err := idOf(c)
	if err != nil {
		return nil, err
	}
	r, err := s.room(c)
	if err != nil {
		return nil, err
	}
	st := r.snap.Step(id)
	if st == nil {
		return nil, noOpenStep(id)
	}
	return r.apiStep(st), nil
}

func (r *room) apiStep(st *models.Step) apiStep {
	a := apiStep{
		ID: st.ID, CommissionID: st.CommissionID, PieceID: st.PieceID, Name: st.Name, Phase: st.Phase, Kind: st.Kind, StationID: st.StationID, SetupID: st.SetupID,
		AttendedMinutes: st.Attended, UnattendedMinutes: st.Unattended, Rest: st.Rest, Hands: st.Hands, State: string(r.standing(st)),
		PersonID: st.PersonID, WorkedMinutes: r.snap.WorkedBy(st, r.at) / 60, StartedAt: st.StartedAt, FinishedAt: st.FinishedAt, RestEndsAt: st.RestEndsAt, DoneAt: st.DoneAt,
		Trouble: r.troubleWords(st), Cautions: append([]string{}, r.cautionsOf(st)...), Note: st.Note, Parts: []apiStepPart{}, After: []apiLink{}, Screen: stepHref(st.ID),
	}
	if at, ok := st.Pinned(); ok {
		a.PinnedAt = &at
	}
	for _, use := range r.snap.PartsOf(st.ID) {
		a.Parts = append(a.Parts, apiStepPart{use.PartID, use.Quantity})
	}
	for _, link := range r.snap.Before(st.ID) {
		a.After = append(a.After, apiLink{link.BeforeID, link.From, link.MinLag, link.MaxLag, link.Why})
	}
	if st.FinishedAt == nil {
		a.Planned = apiPlannedOf(planner.Expected(r.snap, st.ID))
		if weighs, played := r.played.Weighs(st.ID); played {
			a.HourMoves = &weighs.Moves
		}
	}
	return a
}

// apiPlannedOf says when a step is expected; nil where the plan does not have it.
func apiPlannedOf(p *models.PlanStep) *apiPlanned {
	if p == nil {
		return nil
	}
	return &apiPlanned{p.SetupStart.UTC(), p.Start.UTC(), p.AttendedEnd.UTC(), p.End.UTC(), append([]models.ID{}, p.PersonIDs...)}
}
