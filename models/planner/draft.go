package planner

import (
	"context"
	"fmt"
	"sort"
	"time"

	"faceside/models"
	"faceside/models/pattern"
	"faceside/models/phrase"
)

// Effort is how much is done for what is told of a draft, or of a what-if.
type Effort struct {
	limit time.Duration // of the search for its plan
	plays int
	steps int // planned in all weeks played together, at most; 0: any
	cores int
	work  int64 // times the budget of schedules of a what-if, where there is one
}

// playsOf is how many weeks are played of a plan.
func (e Effort) playsOf(snap *models.Snapshot) int {
	if e.steps == 0 {
		return e.plays
	}
	return min(e.plays, e.steps/max(1, len(snap.Plan.Steps)))
}

// A form waits for what is told at once; what is told better comes after it.
var (
	AtOnce = Effort{limit: 300 * time.Millisecond, plays: 200, cores: 1}
	Better = Effort{limit: time.Second, plays: weeksPlayed, cores: 2}
)

// ClampNeed is how many clamps of a class a piece needs, beside what the shop has.
type ClampNeed struct {
	Class string // name
	Most  int    // in the step that takes most
	Has   int
}

// Draft is a commission before it is taken, or a piece before it is added to one.
type Draft struct {
	Built       *pattern.Built
	Steps       int
	AttendedMin int // of someone's hands; a step for two counts twice
	RestMin     int // in clamps, drying and resting
	GlueUps     int // steps that hold clamps
	Clamps      []ClampNeed
	Forecast    Forecast   // of it, if it is taken; of the commission that the piece is added to
	Others      []Forecast // of the open commissions, if it is taken
	Before      []Forecast // of the open commissions, as planned now without it
	Promises    *Promises  // of all of them, if it is taken
	Bound       *Bound     // before which it cannot be complete
}

// Draft says what a piece would mean for the shop if it were taken now,
// promised for a day (YYYY-MM-DD) with a weight of 1 to 9: it plans with it, plays
// weeks of that plan, and stores nothing. It refuses what PieceRecords refuses, and a
// date that is none, as a *models.Error.
func (s *Service) Draft(ctx context.Context, built *pattern.Built, promisedOn string, weight int, effort Effort) (*Draft, error) {
	c, err := drafted(built, promisedOn, weight)
	if err != nil {
		return nil, err
	}
	snap, err := s.store.Snapshot(ctx)
	if err != nil {
		return nil, fmt.Errorf("reading the shop: %w", err)
	}
	return s.draft(ctx, snap, built, c, effort)
}

// drafted is the commission that a draft would be.
func drafted(built *pattern.Built, promisedOn string, weight int) (models.Commission, error) {
	if _, err := time.Parse(time.DateOnly, promisedOn); err != nil {
		return models.Commission{}, &models.Error{Code: models.Invalid, Field: "promised date", Value: promisedOn,
			Sentence: phrase.Of("The promised date %q is no date: write it like 2026-12-24.", promisedOn)}
	}
	return models.Commission{ID: draftID, Name: built.Title, PromisedOn: promisedOn, Weight: weight, State: models.Open}, nil
}

// DraftPiece says what a piece would mean for the shop if it were added now to a
// commission that is open or held, as Draft does. Others are then all but that
// commission; one that is held has no forecast.
func (s *Service) DraftPiece(ctx context.Context, built *pattern.Built, commission models.ID, effort Effort) (*Draft, error) {
	snap, err := s.store.Snapshot(ctx)
	if err != nil {
		return nil, fmt.Errorf("reading the shop: %w", err)
	}
	c := snap.Commission(commission)
	if c == nil {
		return nil, &models.Error{Code: models.NotFound, Field: "commission", Value: fmt.Sprint(commission),
			Sentence: phrase.Of("There is no open commission with number %d.", commission)}
	}
	return s.draft(ctx, snap, built, *c, effort)
}

// draft plans with a piece of a commission, which may be a new one.
func (s *Service) draft(ctx context.Context, snap *models.Snapshot, built *pattern.Built, c models.Commission, effort Effort) (*Draft, error) {
	piece, err := PieceRecords(built, built.Title, pattern.Input{}, snap)
	if err != nil {
		return nil, err
	}
	d := &Draft{Built: built, Before: Forecasts(snap)}
	d.count(snap, piece)
	with := taken(snap, piece, c)
	o := s.search(nil)
	if o.Work == 0 {
		o.Limit = effort.limit
	}
	q, answer, err := solve(ctx, with, o)
	if err != nil {
		return nil, fmt.Errorf("planning with the new piece: %w", err)
	}
	with = planned(with, q.records(answer, snap.At))
	for _, f := range Forecasts(with) {
		if f.CommissionID == c.ID {
			d.Forecast = f
		} else {
			d.Others = append(d.Others, f)
		}
	}
	if d.Promises, err = s.playOut(ctx, with, playing{plays: effort.plays, cores: effort.cores}); err != nil {
		return nil, err
	}
	if c.State == models.Open {
		d.Bound, err = q.bound(c.ID)
	}
	return d, err
}

// count adds up the steps of a piece.
func (d *Draft) count(snap *models.Snapshot, piece models.NewPiece) {
	most := map[models.ID]int{}
	for _, st := range piece.Steps {
		d.Steps++
		d.AttendedMin += st.Attended * max(1, st.Hands)
		d.RestMin += st.Unattended
		if len(st.Clamps) > 0 {
			d.GlueUps++
		}
		for class, n := range st.Clamps {
			most[class] = max(most[class], n)
		}
	}
	for _, c := range snap.Clamps {
		if most[c.ID] > 0 {
			d.Clamps = append(d.Clamps, ClampNeed{Class: c.Name, Most: most[c.ID], Has: c.Count})
		}
	}
}

// draftID is the number of a commission that is not stored. Its steps and new
// setups have negative numbers too, which no record has.
const draftID models.ID = -1

// planned is a snapshot with another plan.
func planned(snap *models.Snapshot, plan *models.Plan) *models.Snapshot {
	out := snap.Copied()
	out.Plan = plan
	return out
}

// taken is a snapshot as it would be with one more piece of a commission, and
// with the commission, where that is new.
func taken(snap *models.Snapshot, piece models.NewPiece, c models.Commission) *models.Snapshot {
	out := snap.Copied()
	if snap.Commission(c.ID) == nil {
		out.Commissions = append(out.Commissions[:len(out.Commissions):len(out.Commissions)], c)
	}
	setups := newSetups(out)
	ids := map[string]models.ID{}
	out.Steps = append([]models.Step(nil), out.Steps...)
	out.StepClamps = append([]models.StepClamp(nil), out.StepClamps...)
	for i, n := range piece.Steps {
		st := n.Step
		st.ID, st.CommissionID, st.PieceID, st.Position, st.State = models.ID(-1-i), c.ID, draftID, i, models.Todo
		st.SetupID = setups.find(n.Setup)
		ids[n.Key] = st.ID
		out.Steps = append(out.Steps, st)
		for class, count := range n.Clamps {
			out.StepClamps = append(out.StepClamps, models.StepClamp{StepID: st.ID, ClampClassID: class, Count: count})
		}
	}
	added := out.StepClamps[len(snap.StepClamps):]
	sort.SliceStable(added, func(a, b int) bool {
		x, y := &added[a], &added[b]
		return x.StepID > y.StepID || x.StepID == y.StepID && x.ClampClassID < y.ClampClassID
	})
	out.Links = append([]models.Link(nil), out.Links...)
	for _, n := range piece.Links {
		l := n.Link
		l.CommissionID, l.BeforeID, l.AfterID = c.ID, ids[n.Before], ids[n.After]
		out.Links = append(out.Links, l)
	}
	return out
}

// setupFinder finds the setups of a snapshot by station and state, and adds those it lacks.
type setupFinder struct {
	snap    *models.Snapshot
	byState map[setupKey]models.ID
}

type setupKey struct {
	station models.ID
	state   string
}

func newSetups(snap *models.Snapshot) *setupFinder {
	f := &setupFinder{snap: snap, byState: map[setupKey]models.ID{}}
	f.snap.Setups = append([]models.Setup(nil), snap.Setups...)
	for _, s := range snap.Setups {
		f.byState[setupKey{s.StationID, s.State}] = s.ID
	}
	return f
}

func (f *setupFinder) find(s *models.Setup) *models.ID {
	if s == nil {
		return nil
	}
	key := setupKey{s.StationID, s.State}
	id, ok := f.byState[key]
	if !ok {
		id = models.ID(-1 - len(f.byState))
		f.byState[key] = id
		made := *s
		made.ID = id
		f.snap.Setups = append(f.snap.Setups, made)
	}
	return &id
}
