package handlers

import (
	"slices"
	"time"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/models/phrase"
	"faceside/models/planner"
	"faceside/models/wood"
)

type apiCommission struct {
	ID          models.ID    `json:"id"`
	Name        string       `json:"name"`
	Client      string       `json:"client"`
	PromisedOn  string       `json:"promised_on"`
	Weight      int          `json:"weight"`
	State       string       `json:"state"`
	Note        string       `json:"note"`
	Steps       int          `json:"steps"`
	Done        int          `json:"done"`
	Minutes     int          `json:"minutes"`
	MinutesLeft int          `json:"minutes_left"`
	Forecast    *apiForecast `json:"forecast"`
	Screen      string       `json:"screen"`
}

type apiForecast struct {
	Ends         time.Time `json:"ends"`
	Late         bool      `json:"late"`
	SlackMinutes int       `json:"slack_minutes"`
}

// apiWhole is a commission with its pieces and parts.
type apiWhole struct {
	apiCommission
	Pieces []apiPiece `json:"pieces"`
	Parts  []apiPart  `json:"parts"`
}

type apiPiece struct {
	ID       models.ID         `json:"id"`
	Name     string            `json:"name"`
	Pattern  string            `json:"pattern"`
	Measures map[string]string `json:"measures"`
	Choices  map[string]string `json:"choices"`
}

type apiPart struct {
	ID       models.ID `json:"id"`
	PieceID  models.ID `json:"piece_id"`
	Name     string    `json:"name"`
	Quantity int       `json:"quantity"`
	Species  string    `json:"species"`
	Grain    string    `json:"grain"`
	Finished apiSize   `json:"finished"`
	Rough    apiSize   `json:"rough"`
	Note     string    `json:"note"`
}

type apiSize struct {
	LengthMM    float64 `json:"length_mm"`
	WidthMM     float64 `json:"width_mm"`
	ThicknessMM float64 `json:"thickness_mm"`
}

// commissionStates are those a commission can be in.
var commissionStates = []models.CommissionState{models.Open, models.Held, models.Delivered, models.Dropped}

// apiCommissions are the commissions in any state, or in one.
func (s *server) apiCommissions(c *gin.Context) (any, error) {
	r, err := s.room(c)
	if err != nil {
		return nil, err
	}
	state := models.CommissionState(c.Query("state"))
	if state != "" && !slices.Contains(commissionStates, state) {
		return nil, &models.Error{Code: models.Invalid, Field: "state", Value: string(state),
			Sentence: phrase.Of("state: %q is none; a commission is %s.", string(state), phrase.Commas(commissionStates))}
	}
	sums, err := s.store.Commissions(c.Request.Context())
	if err != nil {
		return nil, err
	}
	forecasts := forecastsByID(planner.Forecasts(r.snap))
	var all []apiCommission
	for _, sum := range sums {
		if state == "" || sum.State == state {
			all = append(all, apiCommissionOf(sum, forecasts[sum.ID]))
		}
	}
	return pageOf(c, all, func(com *apiCommission) int64 { return com.ID })
}

// apiCommission is one commission with its pieces and parts.
func (s *server) apiCommission(c *gin.Context) (any, error) {
	snap, com, err := s.commissionRead(c)
	if err != nil {
		return nil, err
	}
	own, err := s.roomOf(snap)
	if err != nil {
		return nil, err
	}
	open, err := s.room(c)
	if err != nil {
		return nil, err
	}
	whole := apiWhole{apiCommission: apiCommissionOf(own.summary(com), forecastsByID(planner.Forecasts(open.snap))[com.ID]), Pieces: []apiPiece{}, Parts: []apiPart{}}
	for _, p := range own.snap.Pieces {
		whole.Pieces = append(whole.Pieces, apiPiece{p.ID, p.Name, p.Pattern, p.Measures, p.Choices})
	}
	for _, p := range own.snap.Parts {
		whole.Parts = append(whole.Parts, apiPart{ID: p.ID, PieceID: p.PieceID, Name: p.Name, Quantity: p.Quantity, Species: p.Species, Grain: p.Grain,
			Finished: apiSizeOf(p.Length, p.Width, p.Thickness), Rough: apiSizeOf(p.RoughLength, p.RoughWidth, p.RoughThickness), Note: p.Note})
	}
	return whole, nil
}

func apiCommissionOf(sum models.CommissionSummary, f planner.Forecast) apiCommission {
	a := apiCommission{ID: sum.ID, Name: sum.Name, Client: sum.Client, PromisedOn: sum.PromisedOn, Weight: sum.Weight, State: string(sum.State), Note: sum.Note,
		Steps: sum.Steps, Done: sum.Done, Minutes: sum.Minutes, MinutesLeft: sum.MinutesLeft, Screen: commissionHref(sum.ID)}
	if !f.Ends.IsZero() {
		a.Forecast = &apiForecast{f.Ends.UTC(), f.Late, f.SlackMin}
	}
	return a
}

func apiSizeOf(l, w, t wood.Length) apiSize {
	return apiSize{millimetres(l), millimetres(w), millimetres(t)}
}
