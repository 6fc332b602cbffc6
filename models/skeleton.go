package models

import (
	"context"
	"errors"
	"time"
)

var errNotYet = errors.New("not built yet")

type Clock func() time.Time

type Store struct {
	clock Clock
	subs  subscribers
}

func OpenStore(ctx context.Context, path string, clock Clock) (*Store, error) { return nil, errNotYet }
func (s *Store) Close() error                                            { return errNotYet }
func (s *Store) Now() time.Time                                          { return s.clock().UTC() }

type TapRequest struct {
	ID        string
	Kind      TapKind
	StepID    ID
	StationID ID
	SetupID   ID
	PersonID  ID
	Undoes    int64
	Tablet    string
	Note      string
	SaidAt    *time.Time
}
type TapResult struct {
	Tap      Tap
	Repeated bool
	Step     *Step
}

func (s *Store) Tap(ctx context.Context, r TapRequest) (TapResult, error) {
	return TapResult{}, errNotYet
}

type JournalFilter struct {
	StepID, CommissionID ID
	AfterSeq             int64
	Limit                int
}

func (s *Store) Journal(ctx context.Context, f JournalFilter) ([]Tap, error) { return nil, errNotYet }

func (s *Store) Snapshot(ctx context.Context) (*Snapshot, error) { return nil, errNotYet }
func (s *Store) CommissionSnapshot(ctx context.Context, id ID) (*Snapshot, error) {
	return nil, errNotYet
}

func (s *Store) SaveShop(ctx context.Context, shop Shop) error                { return errNotYet }
func (s *Store) SaveHours(ctx context.Context, week []Hours) error            { return errNotYet }
func (s *Store) SaveDayOff(ctx context.Context, d DayOff) (DayOff, error)     { return d, errNotYet }
func (s *Store) RemoveDayOff(ctx context.Context, id ID) error                { return errNotYet }
func (s *Store) SavePerson(ctx context.Context, p Person) (Person, error)     { return p, errNotYet }
func (s *Store) SaveStation(ctx context.Context, st Station) (Station, error) { return st, errNotYet }
func (s *Store) SaveClampClass(ctx context.Context, c ClampClass) (ClampClass, error) {
	return c, errNotYet
}
func (s *Store) SaveZone(ctx context.Context, z Zone) (Zone, error)       { return z, errNotYet }
func (s *Store) SaveGlue(ctx context.Context, g Glue) (Glue, error)       { return g, errNotYet }
func (s *Store) SaveFinish(ctx context.Context, f Finish) (Finish, error) { return f, errNotYet }

type NewCommission struct {
	Commission
	Pieces []NewPiece
}
type NewPiece struct {
	Piece
	Parts      []Part
	Assemblies []NewAssembly
	Steps      []NewStep
	Links      []NewLink
}
type NewAssembly struct {
	Assembly
	Parts map[string]int // part key → quantity
	Inner []string       // keys of assemblies inside it
}
type NewStep struct {
	Step
	Setup      *Setup         // found or created by station and state
	Parts      map[string]int // part key → quantity
	Assemblies []string       // assembly keys worked on
	Makes      string         // assembly key
	Clamps     map[ID]int     // clamp class → count
}
type NewLink struct {
	Before, After string // step keys
	Link
}

func (s *Store) TakeCommission(ctx context.Context, n NewCommission) (*Commission, error) {
	return nil, errNotYet
}
func (s *Store) SaveCommission(ctx context.Context, c Commission) error { return errNotYet }

type CommissionSummary struct {
	Commission
	Steps, Done          int
	Minutes, MinutesLeft int // attended
}

func (s *Store) Commissions(ctx context.Context) ([]CommissionSummary, error) { return nil, errNotYet }

func (s *Store) SavePlan(ctx context.Context, p *Plan) error    { return errNotYet }
func (s *Store) CurrentPlan(ctx context.Context) (*Plan, error) { return nil, errNotYet }
func (s *Store) Backup(ctx context.Context, path string) error  { return errNotYet }
