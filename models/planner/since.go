package planner

import (
	"slices"
	"time"

	"faceside/models"
)

// Since is what changed since the first plan of the shop's day.
type Since struct {
	MadeAt time.Time // when that plan was made
	Causes []MovedFor
	Moved  map[models.ID]Displaced // by step
	Stayed int                     // steps that are where they were

	first map[models.ID]models.PlanStep
}

// Planned is where the day's first plan had a step; zero where it had not.
func (s *Since) Planned(step models.ID) models.PlanStep { return s.first[step] }

// MovedFor is what moved for one cause.
type MovedFor struct {
	models.PlanMoves
	Steps []Displaced // by their new time; those another cause moved further stand there
	Added int         // steps that came in with a commission
}

// tookIn tells whether a commission came in for the cause, or beside it.
func (m *MovedFor) tookIn(commission models.ID) bool {
	is := func(id *models.ID) bool { return id != nil && *id == commission }
	return is(m.CommissionID) || slices.ContainsFunc(m.Beside, func(c models.CameBetween) bool { return is(c.CommissionID) })
}

// Displaced is a step that is planned for another time than in the morning.
type Displaced struct {
	StepID   models.ID
	From, To time.Time
	Minutes  int // open ones between; below 0: it is earlier now
}

// displacedLeast is from how many open minutes on a step counts as displaced.
const displacedLeast = 30

// SinceMorning compares the plan with the day's first, as the store keeps that day. A
// step stands with the cause that moved it most to the side where it is now, and with
// the clock where none did. Steps that were begun since have no place here.
func SinceMorning(snap *models.Snapshot, first *models.Plan, moves []models.PlanMoves) Since {
	s := Since{MadeAt: first.MadeAt, Moved: map[models.ID]Displaced{}, first: make(map[models.ID]models.PlanStep, len(first.Steps))}
	for _, ps := range first.Steps {
		s.first[ps.StepID] = ps
	}
	causes := make([]MovedFor, len(moves))
	for i, m := range moves {
		causes[i].PlanMoves = m
	}
	cal := localCalendar(snap)
	for i := range snap.Steps {
		st := &snap.Steps[i]
		now := snap.Planned(st.ID)
		if now == nil || !toPlace(st, snap.At) {
			continue
		}
		before, planned := s.first[st.ID]
		if !planned {
			if k := slices.IndexFunc(causes, func(m MovedFor) bool { return m.tookIn(st.CommissionID) }); k >= 0 {
				causes[k].Added++
			}
			continue
		}
		d := Displaced{StepID: st.ID, From: before.Start, To: now.Start, Minutes: cal.minutes(before.Start, now.Start)}
		if d.Minutes < displacedLeast && d.Minutes > -displacedLeast {
			s.Stayed++
			continue
		}
		s.Moved[st.ID] = d
		k := causeOf(causes, d)
		if k == len(causes) {
			causes = append(causes, MovedFor{PlanMoves: models.PlanMoves{At: first.MadeAt, Cause: models.MovedByClock}})
		}
		causes[k].Steps = append(causes[k].Steps, d)
	}
	for _, m := range causes {
		if len(m.Steps) == 0 && m.Added == 0 {
			continue
		}
		slices.SortStableFunc(m.Steps, func(a, b Displaced) int { return a.To.Compare(b.To) })
		s.Causes = append(s.Causes, m)
	}
	slices.SortStableFunc(s.Causes, func(a, b MovedFor) int { return a.At.Compare(b.At) })
	return s
}

// causeOf is the place of the cause that moved a step most to the side where it is
// now, else of the clock; the number of causes where it is not among them.
func causeOf(causes []MovedFor, d Displaced) int {
	side := 1
	if d.Minutes < 0 {
		side = -1
	}
	best, most := len(causes), 0
	for k, m := range causes {
		if by := side * m.Moved[d.StepID]; by > most {
			best, most = k, by
		}
	}
	if best < len(causes) {
		return best
	}
	if k := slices.IndexFunc(causes, func(m MovedFor) bool { return m.Cause == models.MovedByClock }); k >= 0 {
		return k
	}
	return best
}
