package sequence

// Terms are the five parts of a plan's objective before they are weighted.
type Terms struct {
	Tardiness int64 // Σ weight · minutes late, in the calendar of each job
	Setup     int64 // Σ minutes of setups
	Flow      int64 // Σ end of the last task of each job, minutes from the origin
	Makespan  int64 // end of the last task, minutes from the origin
	Moved     int64 // tasks that start elsewhere than in the previous plan
}

// Of returns the weighted sum of the terms.
func (w Weights) Of(t Terms) int64 {
	return w.Tardiness*t.Tardiness + w.Setup*t.Setup + w.Flow*t.Flow + w.Makespan*t.Makespan + w.Moved*t.Moved
}

// Measure computes the terms of a plan's objective from the times of its tasks
// alone, for a valid problem. What the plan says of jobs and setups is not
// looked at; tasks that it does not place, or that are none, do not count.
func Measure(p *Problem, plan *Plan) Terms { return newChecker(p, plan).terms() }

// terms measures the plan.
func (c *checker) terms() Terms {
	var sum Terms
	for i := range c.p.Tasks {
		t := &c.p.Tasks[i]
		pt, placed := c.placed[t.ID]
		if !placed {
			continue
		}
		sum.Makespan = max(sum.Makespan, int64(pt.End))
		if t.Setup != nil {
			sum.Setup += int64(c.setupHours(t.Setup.Resource).minutes(pt.SetupStart, pt.Start))
		}
	}
	for _, job := range c.jobs() {
		sum.Flow += int64(job.End)
		sum.Tardiness += int64(job.Tardiness) * int64(c.weights[job.ID])
	}
	if c.p.Previous != nil {
		for _, s := range c.p.Previous.Starts {
			if pt, placed := c.placed[s.ID]; placed && (pt.Start > s.Start+c.p.Previous.Tolerance || pt.Start < s.Start-c.p.Previous.Tolerance) {
				sum.Moved++
			}
		}
	}
	return sum
}

// jobs returns the end and the tardiness of each job. A job of which no task is
// placed ends at 0 and is never late.
func (c *checker) jobs() []PlanJob {
	ends := map[string]int{}
	for i := range c.p.Tasks {
		if pt, placed := c.placed[c.p.Tasks[i].ID]; placed {
			ends[c.p.Tasks[i].Job] = max(ends[c.p.Tasks[i].Job], pt.End)
		}
	}
	list := make([]PlanJob, 0, len(c.p.Jobs))
	for _, j := range c.p.Jobs {
		end, begun := ends[j.ID]
		job := PlanJob{ID: j.ID, End: end}
		if begun && j.Due != nil && end > *j.Due {
			job.Tardiness = c.calendar(j.Calendar).minutes(*j.Due, end)
		}
		list = append(list, job)
	}
	return list
}

// checkJobs compares what the plan says of the jobs with what its tasks say.
func (c *checker) checkJobs() {
	said := map[string]PlanJob{}
	for _, j := range c.plan.Jobs {
		if _, twice := said[j.ID]; twice {
			c.fail("jobs: the plan lists job %q twice", j.ID)
		}
		if _, known := c.weights[j.ID]; !known {
			c.fail("jobs: the plan lists %q, which is no job", j.ID)
		}
		said[j.ID] = j
	}
	for _, j := range c.jobs() {
		listed, found := said[j.ID]
		switch {
		case !found:
			c.fail("jobs: the plan does not list job %q", j.ID)
		case listed != j:
			c.fail("jobs: job %q ends at %d and is %d minutes late; the plan says %d and %d", j.ID, j.End, j.Tardiness, listed.End, listed.Tardiness)
		}
	}
}
