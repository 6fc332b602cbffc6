package planner

import (
	"sort"
	"time"

	"faceside/models"
)

// Queue is what is still to be done at a station, in order of time, in runs:
// steps that follow one another under the same setup.
type Queue struct {
	StationID models.ID
	Runs      []QueuedRun
	Steps     int // in all
	Attended  int // minutes left of them
}

// QueuedRun is steps of a queue that need the station set the same way.
type QueuedRun struct {
	SetupID models.ID // 0: they need no setup
	Setting bool      // the station is set for it; else it stands so already
	Minutes int       // that the setting takes; 0 where nobody knows from what
	Start   time.Time // when the first of them is expected to begin; zero: not in the plan yet
	Steps   []models.ID
}

// Queues returns the queue of each station, those in hand left out, by station.
// O(steps log steps).
func Queues(snap *models.Snapshot, at time.Time) map[models.ID]*Queue {
	b := newBench(snap, at)
	waiting, expected := map[models.ID][]*models.Step{}, map[models.ID]*models.PlanStep{}
	for i := range snap.Steps {
		st := &snap.Steps[i]
		if c := snap.Commission(st.CommissionID); c != nil && c.State == models.Open && toPlace(st, at) {
			waiting[st.StationID] = append(waiting[st.StationID], st)
			expected[st.ID] = Expected(snap, st.ID)
		}
	}
	all := map[models.ID]*Queue{}
	for i := range snap.Stations {
		s := &snap.Stations[i]
		steps := waiting[s.ID]
		sort.SliceStable(steps, func(x, y int) bool {
			if p, q := expected[steps[x].ID], expected[steps[y].ID]; p != nil && q != nil {
				return p.SetupStart.Before(q.SetupStart)
			}
			return b.before(steps[x], steps[y])
		})
		all[s.ID] = b.queue(s, steps, expected)
	}
	return all
}

func (b *bench) queue(s *models.Station, steps []*models.Step, expected map[models.ID]*models.PlanStep) *Queue {
	q := &Queue{StationID: s.ID, Steps: len(steps)}
	now := s.SetupID
	for _, st := range steps {
		q.Attended += left(st, b.at)
		setup := models.ID(0)
		if st.SetupID != nil {
			setup = *st.SetupID
		}
		if n := len(q.Runs); n > 0 && q.Runs[n-1].SetupID == setup {
			q.Runs[n-1].Steps = append(q.Runs[n-1].Steps, st.ID)
			continue
		}
		run := QueuedRun{SetupID: setup, Steps: []models.ID{st.ID}}
		if p := expected[st.ID]; p != nil {
			run.Start = p.SetupStart
		}
		if setup != 0 {
			if run.Setting = now == nil || *now != setup; run.Setting && now != nil {
				run.Minutes = s.SettingMinutes(b.snap.Setup(*now), b.snap.Setup(setup))
			}
			now = st.SetupID
		}
		q.Runs = append(q.Runs, run)
	}
	return q
}

// Next returns the first run of the queue for which the station must be set;
// nil if there is none.
func (q *Queue) Next() *QueuedRun {
	for i := range q.Runs {
		if q.Runs[i].Setting {
			return &q.Runs[i]
		}
	}
	return nil
}

// movedLeast is from how many minutes on a promise counts as moved.
const movedLeast = 15

// PromiseMoved tells what became of a commission's forecast since another plan.
type PromiseMoved struct {
	CommissionID models.ID
	Name         string
	From, To     time.Time // when it was to be complete by that plan, and is now
	PromisedBy   time.Time
}

// Moved lists the open commissions that the plan now completes at another time,
// by a quarter of an hour or more, than an earlier one did, in order of promise.
// One that either plan lacks a step of is left out.
func Moved(snap *models.Snapshot, before *models.Plan) []PromiseMoved {
	at := make(map[models.ID]*models.PlanStep, len(before.Steps))
	for i := range before.Steps {
		at[before.Steps[i].StepID] = &before.Steps[i]
	}
	then := map[models.ID]time.Time{}
	for _, f := range forecasts(snap, func(id models.ID) *models.PlanStep { return at[id] }) {
		then[f.CommissionID] = f.Ends
	}
	var all []PromiseMoved
	for _, f := range Forecasts(snap) {
		from, known := then[f.CommissionID]
		if known && f.Ends.Sub(from).Abs() >= movedLeast*time.Minute {
			all = append(all, PromiseMoved{CommissionID: f.CommissionID, Name: f.Name, From: from, To: f.Ends, PromisedBy: f.PromisedBy})
		}
	}
	return all
}
