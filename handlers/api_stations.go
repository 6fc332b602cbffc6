package handlers

import (
	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/models/planner"
	"faceside/models/wood"
)

type apiStation struct {
	ID             models.ID   `json:"id"`
	Name           string      `json:"name"`
	Kind           string      `json:"kind"`
	Places         int         `json:"places"`
	Down           bool        `json:"down"`
	SetupID        *models.ID  `json:"setup_id"`
	Setups         []apiSetup  `json:"setups"`
	SetupMinutes   int         `json:"setup_minutes"`
	ResetMinutes   int         `json:"reset_minutes"`
	MaxWidthMM     *float64    `json:"max_width_mm"`
	MaxThicknessMM *float64    `json:"max_thickness_mm"`
	MinLengthMM    *float64    `json:"min_length_mm"`
	Caution        string      `json:"caution"`
	Queue          []models.ID `json:"queue"`
	Screen         string      `json:"screen"`
}

type apiSetup struct {
	ID          models.ID `json:"id"`
	State       string    `json:"state"`
	Instruction string    `json:"instruction"`
}

// apiStations are all stations with their queues.
func (s *server) apiStations(c *gin.Context) (any, error) {
	r, err := s.room(c)
	if err != nil {
		return nil, err
	}
	queues := planner.Queues(r.snap, r.at)
	var all []apiStation
	for i := range r.snap.Stations {
		all = append(all, r.apiStation(&r.snap.Stations[i], queues))
	}
	return pageOf(c, all, func(st *apiStation) int64 { return st.ID })
}

// apiStation is one station.
func (s *server) apiStation(c *gin.Context) (any, error) {
	r, st, err := s.stationAsked(c)
	if err != nil {
		return nil, err
	}
	return r.apiStation(st, planner.Queues(r.snap, r.at)), nil
}

func (r *room) apiStation(st *models.Station, queues map[models.ID]*planner.Queue) apiStation {
	a := apiStation{ID: st.ID, Name: st.Name, Kind: st.Kind, Places: st.Places, Down: st.Down, SetupID: st.SetupID, Setups: []apiSetup{},
		SetupMinutes: st.SetupMinutes, ResetMinutes: st.ResetMinutes,
		MaxWidthMM: limitOf(st.MaxWidth), MaxThicknessMM: limitOf(st.MaxThickness), MinLengthMM: limitOf(st.MinLength), Caution: st.Caution, Queue: []models.ID{}, Screen: stationHref(st.ID)}
	for _, setup := range r.snap.Setups {
		if setup.StationID == st.ID {
			a.Setups = append(a.Setups, apiSetup{setup.ID, setup.State, setup.Instruction})
		}
	}
	for _, run := range queues[st.ID].Runs {
		a.Queue = append(a.Queue, run.Steps...)
	}
	return a
}

// limitOf is a limit of a station in millimetres, nil where there is none.
func limitOf(l wood.Length) *float64 {
	if l == 0 {
		return nil
	}
	mm := millimetres(l)
	return &mm
}
