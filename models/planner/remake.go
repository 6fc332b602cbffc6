package planner

import (
	"bytes"
	"context"
	"fmt"
	"runtime/debug"
	"slices"
	"sync"
	"time"

	"faceside/models"
	"faceside/models/behind"
	"faceside/models/sequence"
)

// Remade is a plan made again from what is kept of how it was made.
type Remade struct {
	Run      *models.KeptRun
	Plan     *sequence.Plan
	Same     bool    // in everything, down to what was proved
	Compared int     // steps whose times as they were saved could be looked at
	Other    []Other // of these, those that are planned otherwise now
}

// Other is a step that is at other times in a plan made again.
type Other struct {
	StepID   models.ID
	Was, Now time.Time // its start
}

// Remake makes a plan again, by the same work on the same problem.
func Remake(ctx context.Context, store *models.Store, plan models.ID) (*Remade, error) {
	run, text, err := store.Run(ctx, plan)
	if err != nil {
		return nil, err
	}
	p, err := sequence.Read(bytes.NewReader(text))
	if err != nil {
		return nil, fmt.Errorf("reading the problem of plan %d: %w", plan, err)
	}
	again, err := sequence.Solve(ctx, p, sequence.Options{Work: max(1, run.Work), Seed: run.Plan.Seed, Searches: run.Searches, Cores: 2})
	if err != nil {
		return nil, fmt.Errorf("making plan %d again: %w", plan, err)
	}
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	answer, err := fingerprint(again)
	if err != nil {
		return nil, err
	}
	r := &Remade{Run: run, Plan: again, Same: answer == run.Answer}
	saved, err := store.Plan(ctx, plan)
	switch {
	case models.CodeOf(err) == models.NotFound: // its steps are gone
	case err != nil:
		return nil, err
	default:
		r.compare(p, saved)
	}
	return r, nil
}

// compare looks step by step. Left out are those that were begun, which have the times of
// the shop's clock in a saved plan, and those that were taken out of their order of work
// since, which no saved plan has any more.
func (r *Remade) compare(p *sequence.Problem, saved *models.Plan) {
	given := map[string]bool{}
	for i := range p.Tasks {
		given[p.Tasks[i].ID] = p.Tasks[i].Start != nil
	}
	line := &timeline{origin: saved.Origin}
	for _, t := range r.Plan.Tasks {
		id, ok := stepOf(t.ID)
		if !ok || given[t.ID] {
			continue
		}
		i := slices.IndexFunc(saved.Steps, func(ps models.PlanStep) bool { return ps.StepID == id })
		if i < 0 {
			continue
		}
		r.Compared++
		was := &saved.Steps[i]
		same := was.SetupStart.Equal(line.time(t.SetupStart)) && was.Start.Equal(line.time(t.Start)) &&
			was.AttendedEnd.Equal(line.time(t.AttendedEnd)) && was.End.Equal(line.time(t.End))
		if !same {
			r.Other = append(r.Other, Other{id, was.Start, line.time(t.Start)})
		}
	}
}

// fingerprint is that of a plan, how long the search took left out.
func fingerprint(answer *sequence.Plan) (string, error) {
	timeless := *answer
	timeless.Trace, timeless.Stats = nil, sequence.Stats{Seed: answer.Stats.Seed}
	var text bytes.Buffer
	if err := sequence.WritePlan(&text, &timeless); err != nil {
		return "", err
	}
	return models.Fingerprint(text.Bytes()), nil
}

// keepRun notes how a saved plan was made. Whoever waits for the plan has it by then.
func (s *Service) keepRun(ctx context.Context, q *posed, answer *sequence.Plan, plan models.ID) {
	var err error
	behind.Do(func() { err = s.writeRun(ctx, q, answer, plan) })
	if err != nil {
		s.log.Error("keeping how a plan was made", "error", models.Logged(err))
	}
}

func (s *Service) writeRun(ctx context.Context, q *posed, answer *sequence.Plan, plan models.ID) error {
	if q.written == nil { // the plans of one search answer one problem
		var text bytes.Buffer
		if err := sequence.WriteProblem(&text, q.Problem); err != nil {
			return err
		}
		q.written = text.Bytes()
	}
	made, err := fingerprint(answer)
	if err != nil {
		return err
	}
	run := models.PlanRun{PlanID: plan, Work: answer.Stats.Work, Searches: answer.Stats.Searches, Answer: made, Program: ProgramVersion()}
	for i := range q.snap.LastTaps {
		run.TapSeq = max(run.TapSeq, q.snap.LastTaps[i].Seq)
	}
	return s.store.KeepRun(context.WithoutCancel(ctx), run, q.written)
}

// ProgramVersion is the revision of the sources that this program was built from; empty
// where it was built without.
var ProgramVersion = sync.OnceValue(func() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return ""
	}
	version, changed := "", ""
	for _, s := range info.Settings {
		switch {
		case s.Key == "vcs.revision":
			version = s.Value
		case s.Key == "vcs.modified" && s.Value == "true":
			changed = "+changes"
		}
	}
	if version == "" {
		return ""
	}
	return version + changed
})
