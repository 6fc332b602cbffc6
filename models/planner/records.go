package planner

import (
	"slices"
	"strconv"
	"time"

	"faceside/models"
	"faceside/models/sequence"
)

// records writes an answer of the engine as a plan of the shop: clock times for
// minutes, people for hands. Steps in hand and at rest keep the times at which
// they were really begun.
func (q *posed) records(answer *sequence.Plan, now time.Time) *models.Plan {
	p := &models.Plan{
		MadeAt: now, Origin: q.line.origin, Revision: q.snap.Shop.Revision, Status: string(answer.Status),
		Objective: answer.Objective, Bound: answer.Bound, Seed: answer.Stats.Seed, Schedules: answer.Stats.Schedules,
		Seconds: answer.Stats.Seconds, Moved: q.moved(answer), Note: slices.Concat(q.notes, q.unkept(answer), q.broken(answer)),
	}
	who := q.assign(answer)
	p.Note = append(p.Note, q.notGiven(who)...)
	for _, t := range answer.Tasks {
		id, ok := stepOf(t.ID)
		if !ok {
			continue
		}
		ps := models.PlanStep{StepID: id, SetupStart: q.line.time(t.SetupStart), Start: q.line.time(t.Start),
			AttendedEnd: q.line.time(t.AttendedEnd), End: q.line.time(t.End), PersonIDs: who[id]}
		q.byStep[id].really(&ps)
		p.Steps = append(p.Steps, ps)
	}
	for _, s := range answer.Setups {
		p.Setups = append(p.Setups, q.setupRecord(s))
	}
	return p
}

// really puts in what has happened already.
func (i *item) really(ps *models.PlanStep) {
	switch {
	case i.follows: // its turn is still to come
	case i.stand == held && i.CountedAt != nil:
		ps.SetupStart, ps.Start = *i.CountedAt, *i.CountedAt
	case i.stand == held && i.TakenAt != nil:
		ps.SetupStart, ps.Start = *i.TakenAt, *i.TakenAt
	case i.stand == atRest:
		ps.End = *i.RestEndsAt
		if i.FinishedAt != nil {
			ps.SetupStart, ps.Start, ps.AttendedEnd = *i.FinishedAt, *i.FinishedAt, *i.FinishedAt
		}
		if i.StartedAt != nil {
			ps.SetupStart, ps.Start = *i.StartedAt, *i.StartedAt
		}
	}
}

func (q *posed) setupRecord(s sequence.PlanSetup) models.PlanSetup {
	step, _ := stepOf(s.For)
	state, _ := strconv.ParseInt(s.To, 10, 64) // the planner wrote it
	return models.PlanSetup{StationID: q.byStep[step].StationID, SetupID: state, StepID: step, Start: q.line.time(s.Start), Minutes: s.Minutes}
}

// moved counts the steps that the answer starts at another time than the order
// of the plan before would, timed anew.
func (q *posed) moved(answer *sequence.Plan) int {
	if q.Previous == nil {
		return 0
	}
	start := map[string]int{}
	for _, t := range answer.Tasks {
		start[t.ID] = t.Start
	}
	n := 0
	for _, s := range q.Previous.Starts {
		if by := start[s.ID] - s.Start; by > tolerance || by < -tolerance {
			n++
		}
	}
	return n
}
