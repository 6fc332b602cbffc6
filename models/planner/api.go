package planner

import (
	"context"
	"time"

	"faceside/models"
	"faceside/models/pattern"
)

func PatternShop(snap *models.Snapshot) pattern.Shop { return pattern.Shop{} }

func PieceRecords(built *pattern.Built, name string, in pattern.Input, snap *models.Snapshot) (models.NewPiece, error) {
	return models.NewPiece{}, nil
}

// ClampNeed is how many clamps of a class a piece needs, beside what the shop has.
type ClampNeed struct {
	Class string // name
	Most  int    // in its largest glue-up
	Has   int
}

// Draft is a commission before it is taken.
type Draft struct {
	Built       *pattern.Built
	Steps       int
	AttendedMin int
	RestMin     int
	Clamps      []ClampNeed
	Forecast    Forecast   // of it, if it is taken
	Others      []Forecast // of the open commissions, if it is taken
	Before      []Forecast // of the open commissions as planned without it
}

func (s *Service) Draft(ctx context.Context, built *pattern.Built, promisedOn string, weight int) (*Draft, error) {
	return &Draft{Built: built}, nil
}

type Forecast struct {
	CommissionID models.ID
	Name         string
	Ends         time.Time
	PromisedBy   time.Time
	Late         bool
	SlackMin     int
}

func Forecasts(snap *models.Snapshot) []Forecast { return nil }

type Suggestion struct {
	StepID  models.ID
	Why     string
	Start   time.Time
	Planned bool
	Ready   bool
}

func Next(snap *models.Snapshot, person models.ID, at time.Time) []Suggestion { return nil }

func SameSetup(snap *models.Snapshot, step models.ID, at time.Time) []models.ID { return nil }

func SavedMinutes(snap *models.Snapshot, steps []models.ID) int { return 0 }

type Gate struct {
	StepID   models.ID
	Holds    []models.ID
	HoldsMin int
	Opens    []models.ID
	CloseBy  time.Time
	Why      string
	Promise  models.ID
}

func Gates(snap *models.Snapshot, at time.Time) []Gate { return nil }

func FloatMin(snap *models.Snapshot, step models.ID) int { return 0 }

type Outcome struct {
	Way             string
	SetupMin        int
	Setups          int
	LateDays        float64
	WeightedLateMin int
	StandingMin     int
	Completion      time.Time
}

func Compare(ctx context.Context, snap *models.Snapshot, limit time.Duration) ([]Outcome, error) {
	return nil, nil
}

func WorkingMinutes(snap *models.Snapshot, from, to time.Time) int { return 0 }

func NextClosing(snap *models.Snapshot, at time.Time) time.Time { return at }
