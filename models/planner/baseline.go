package planner

import (
	"context"
	"fmt"
	"sort"
	"time"

	"faceside/models"
	"faceside/models/sequence"
)

// Baseline is what a maker without a plan would do: the open work commission by
// commission in order of promised date, laid out under the same rules as the
// plan (hours, hands, links, clamps, air) by the engine's own dispatch, as in
// Compare. What a plan or a run saves is counted against it.
type Baseline struct {
	setups map[models.ID]Count       // by station
	order  map[models.ID][]models.ID // by station, the steps that want a setup
}

// Count is how often a station is set, and how long that takes.
type Count struct {
	Setups  int
	Minutes int
}

// ByPromise makes the baseline of the open work. The error of a context that
// ended is that; any other says that the order has no place in the shop.
func ByPromise(ctx context.Context, snap *models.Snapshot) (*Baseline, error) {
	q, err := pose(snap)
	if err != nil {
		return nil, err
	}
	q.Previous = nil
	plan, err := sequence.Dispatch(ctx, q.Problem, sequence.ByPromise)
	for err != nil && ctx.Err() == nil && (q.unpinAll() || q.loosenAll()) {
		plan, err = sequence.Dispatch(ctx, q.Problem, sequence.ByPromise)
	}
	if err != nil {
		return nil, fmt.Errorf("the order of promised dates: %w", err)
	}
	b := &Baseline{setups: map[models.ID]Count{}, order: map[models.ID][]models.ID{}}
	for _, s := range plan.Setups {
		if id, ok := stepOf(s.For); ok {
			at := q.byStep[id].StationID
			b.setups[at] = b.setups[at].and(s.Minutes)
		}
	}
	tasks := append([]sequence.PlanTask(nil), plan.Tasks...)
	sort.SliceStable(tasks, func(i, j int) bool { return tasks[i].Start < tasks[j].Start })
	for _, t := range tasks {
		if id, ok := stepOf(t.ID); ok && q.byStep[id].SetupID != nil {
			at := q.byStep[id].StationID
			b.order[at] = append(b.order[at], id)
		}
	}
	return b, nil
}

func (c Count) and(minutes int) Count { return Count{c.Setups + 1, c.Minutes + minutes} }

// Setups is how often the order of promised dates sets a station.
func (b *Baseline) Setups(station models.ID) Count { return b.setups[station] }

// PlannedSetups is how often the plan still sets a station: for steps that are to
// be placed, the same as those of the baseline.
func PlannedSetups(snap *models.Snapshot, station models.ID) Count {
	var c Count
	if snap.Plan == nil {
		return c
	}
	for _, s := range snap.Plan.Setups {
		if st := snap.Step(s.StepID); s.StationID == station && st != nil && toPlace(st, snap.At) {
			c = c.and(s.Minutes)
		}
	}
	return c
}

// Saves is what it spares to do the steps of a run now, one after another, and
// then the rest of the station's work in order of promised date, instead of all
// of it in that order: times of setting, and their minutes. Never negative.
func (b *Baseline) Saves(snap *models.Snapshot, run RunOffer) Count {
	inRun := map[models.ID]bool{}
	for _, id := range run.Steps {
		inRun[id] = true
	}
	order := b.order[run.StationID]
	first := append([]models.ID(nil), run.Steps...)
	for _, id := range order {
		if !inRun[id] {
			first = append(first, id)
		}
	}
	dates, together := settings(snap, run.StationID, order), settings(snap, run.StationID, first)
	return Count{max(0, dates.Setups-together.Setups), max(0, dates.Minutes-together.Minutes)}
}

// settings counts how a station is set for steps in an order, beginning from how
// it stands. As in the plan, the first time costs nothing where nobody has said
// how it stands, and a change within the family is a reset.
func settings(snap *models.Snapshot, station models.ID, order []models.ID) Count {
	var c Count
	s := snap.Station(station)
	if s == nil {
		return c
	}
	now := s.SetupID
	for _, id := range order {
		st := snap.Step(id)
		if st == nil || st.SetupID == nil || now != nil && *now == *st.SetupID {
			continue
		}
		if now != nil {
			c = c.and(s.SettingMinutes(snap.Setup(*now), snap.Setup(*st.SetupID)))
		}
		now = st.SetupID
	}
	return c
}

// baselineAge is how long a baseline of unchanged records holds: after that its
// times have slipped.
const baselineAge = 10 * time.Minute

// baseline is the newest one made, and of what.
type baseline struct {
	revision int64
	at       time.Time
	made     *Baseline
	err      error
}

// ByPromise is the function of that name, made once for each state of the records.
func (s *Service) ByPromise(ctx context.Context, snap *models.Snapshot) (*Baseline, error) {
	s.comparing.Lock()
	defer s.comparing.Unlock()
	b := &s.baseline
	if b.revision == snap.Shop.Revision && snap.At.Sub(b.at).Abs() < baselineAge && (b.made != nil || b.err != nil) {
		return b.made, b.err
	}
	made, err := ByPromise(ctx, snap)
	if ctx.Err() == nil {
		*b = baseline{revision: snap.Shop.Revision, at: snap.At, made: made, err: err}
	}
	return made, err
}
