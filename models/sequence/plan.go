package sequence

// Status says how good a plan is.
type Status string

// Optimal is said only where the objective equals the proved bound, infeasible
// only where it was proved that no plan exists. Unknown is never written to a
// plan file: it is what a search that was stopped before its first plan says.
const (
	Optimal    Status = "optimal"
	Feasible   Status = "feasible"
	Infeasible Status = "infeasible"
	Unknown    Status = "unknown"
)

// Plan is an answer to a Problem.
type Plan struct {
	Version   int          `json:"version"`
	Status    Status       `json:"status"`
	Objective int64        `json:"objective"`
	Bound     int64        `json:"bound"` // proved lower bound of the objective
	Tasks     []PlanTask   `json:"tasks"`
	Jobs      []PlanJob    `json:"jobs"`
	Setups    []PlanSetup  `json:"setups"`
	Trace     []TracePoint `json:"trace"`
	Stats     Stats        `json:"stats"`
	Conflict  []string     `json:"conflict"` // ids of tasks that cannot be placed together
	// Irreducible says that without any one of the tasks of the conflict the others
	// were shown to have a plan. A conflict of one task is always irreducible.
	Irreducible bool `json:"irreducible,omitzero"`
}

// PlanTask is one task placed in time. SetupStart equals Start where no setup was needed.
type PlanTask struct {
	ID          string `json:"id"`
	SetupStart  int    `json:"setup_start"`
	Start       int    `json:"start"`
	AttendedEnd int    `json:"attended_end"`
	End         int    `json:"end"`
}

// PlanJob is the completion of one job and its tardiness in minutes of its calendar.
type PlanJob struct {
	ID        string `json:"id"`
	End       int    `json:"end"`
	Tardiness int    `json:"tardiness"`
}

// PlanSetup is one change of a resource's state. Minutes are minutes of working time.
type PlanSetup struct {
	Resource string `json:"resource"`
	From     string `json:"from"`
	To       string `json:"to"`
	Start    int    `json:"start"`
	Minutes  int    `json:"minutes"`
	For      string `json:"for"` // the task that needs it
}

// TracePoint is one improvement of the search: when it came and what it reached.
type TracePoint struct {
	Seconds   float64 `json:"seconds"`
	Objective int64   `json:"objective"`
}

// Stats is what the search did. The same seed, work and number of searches make the same
// plan of the problem again; where Work is 0 nothing does.
type Stats struct {
	Schedules int64   `json:"schedules"`
	Seconds   float64 `json:"seconds"`
	Seed      int64   `json:"seed"`
	Work      int64   `json:"work,omitzero"`
	Searches  int     `json:"searches,omitzero"` // that made plans
}
