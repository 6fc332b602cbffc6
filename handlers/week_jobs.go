package handlers

import (
	"slices"
	"time"

	"faceside/models"
	"faceside/views"
)

// job is a step with the time it took, takes or will take: by the journal as far
// as it is done, by the plan otherwise.
type job struct {
	step   *models.Step
	state  views.State
	past   bool // its attended part is done
	pinned bool // the plan has it where it is pinned
	people []models.ID
	setup  views.Stretch // empty: none
	work   views.Stretch
	rest   views.Stretch // empty: none
}

// shift is a stretch of one person's time on a job, within one opening.
type shift struct {
	job    *job
	person models.ID // 0: nobody was found
	setup  bool
	at     views.Stretch
}

func (s shift) minutes() int { return int(s.at.To.Sub(s.at.From).Minutes()) }

// allJobs lists the steps that have a place in time, in the order of their work.
func (w *weekRoom) allJobs() []job {
	var all []job
	for i := range w.snap.Steps {
		if j, ok := w.jobOf(&w.snap.Steps[i]); ok {
			all = append(all, j)
		}
	}
	slices.SortStableFunc(all, func(a, b job) int { return a.work.From.Compare(b.work.From) })
	return all
}

func (w *weekRoom) jobOf(st *models.Step) (job, bool) {
	j := job{step: st, state: views.State(w.standing(st))}
	planned := w.snap.Planned(st.ID)
	switch {
	case st.FinishedAt != nil && (st.State == models.Done || st.State == models.AtRest):
		return w.past(j), true
	case st.State == models.InHand && st.TakenAt != nil && st.PersonID != nil:
		j.people = []models.ID{*st.PersonID}
		j.work = views.Stretch{From: *st.TakenAt, To: w.at}
		if planned != nil && planned.AttendedEnd.After(w.at) {
			j.work.To = planned.AttendedEnd
		}
	case planned != nil:
		j.people = planned.PersonIDs
		j.setup = views.Stretch{From: planned.SetupStart, To: planned.Start}
		j.work = views.Stretch{From: planned.Start, To: planned.AttendedEnd}
		j.pinned = pinnedThere(st, planned)
	default:
		return j, false
	}
	if st.Unattended > 0 {
		j.rest = views.Stretch{From: j.work.To, To: j.work.To.Add(time.Duration(st.Unattended) * time.Minute)}
	}
	return j, true
}

// past tells of a step whose attended part is done. The journal knows how long
// it was in hand altogether; it is shown as if the last of it was in one go.
func (w *weekRoom) past(j job) job {
	st := j.step
	j.past = true
	if st.PersonID != nil {
		j.people = []models.ID{*st.PersonID}
	}
	j.work = views.Stretch{From: st.FinishedAt.Add(-time.Duration(st.Worked) * time.Second), To: *st.FinishedAt}
	if st.StartedAt != nil && st.StartedAt.After(j.work.From) {
		j.work.From = *st.StartedAt
	}
	if st.RestEndsAt != nil {
		j.rest = views.Stretch{From: *st.FinishedAt, To: *st.RestEndsAt}
		if st.DoneAt != nil && st.DoneAt.Before(j.rest.To) {
			j.rest.To = *st.DoneAt
		}
	}
	return j
}

// allShifts gives the time of each job to people, opening by opening. A job
// that the plan hands over in a break lists more people than it takes hands;
// then those have it who are free.
func (w *weekRoom) allShifts() []shift {
	var all []shift
	for i := range w.jobs {
		j := &w.jobs[i]
		if len(j.people) > max(1, j.step.Hands) {
			continue
		}
		for _, part := range w.parts(j, j.setup) {
			all = append(all, shift{j, first(j.people), true, part})
		}
		for _, part := range w.parts(j, j.work) {
			for _, p := range orNobody(j.people) {
				all = append(all, shift{j, p, false, part})
			}
		}
	}
	for i := range w.jobs {
		j := &w.jobs[i]
		if len(j.people) <= max(1, j.step.Hands) {
			continue
		}
		for _, part := range w.parts(j, j.setup) {
			all = append(all, shift{j, free(all, j.people, part, 1)[0], true, part})
		}
		for _, part := range w.parts(j, j.work) {
			for _, p := range free(all, j.people, part, max(1, j.step.Hands)) {
				all = append(all, shift{j, p, false, part})
			}
		}
	}
	slices.SortStableFunc(all, func(a, b shift) int { return a.at.From.Compare(b.at.From) })
	return all
}

// parts are the openings a job's time falls into; what was done outside of all
// hours is kept as it was.
func (w *weekRoom) parts(j *job, s views.Stretch) []views.Stretch {
	open := w.openParts(s)
	if len(open) > 0 || !j.past {
		return open
	}
	if s = s.Overlap(w.shown()); s.Empty() {
		return nil
	}
	return []views.Stretch{s}
}

// free picks so many of some people, those first who have nothing else then.
func free(shifts []shift, people []models.ID, at views.Stretch, n int) []models.ID {
	picked := slices.Clone(people)
	slices.SortStableFunc(picked, func(a, b models.ID) int { return taken(shifts, a, at) - taken(shifts, b, at) })
	return picked[:min(n, len(picked))]
}

// taken counts the shifts that a person has in a stretch.
func taken(shifts []shift, person models.ID, at views.Stretch) int {
	n := 0
	for _, s := range shifts {
		if s.person == person && !s.at.Overlap(at).Empty() {
			n++
		}
	}
	return n
}

func first(people []models.ID) models.ID { return orNobody(people)[0] }

// orNobody stands 0 in where the plan found nobody.
func orNobody(people []models.ID) []models.ID {
	if len(people) == 0 {
		return []models.ID{0}
	}
	return people
}
