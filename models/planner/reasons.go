package planner

import (
	"fmt"
	"strings"

	"faceside/models"
)

// reasons finds out why a step is worth taking now.
type reasons struct {
	b      *bench
	gates  map[models.ID]*Gate
	course *course // nil without a plan
	floats map[models.ID]int
	runs   map[models.ID]int // by setup, the steps that can be taken now
	asked  int               // how often the plan was timed anew
}

// askedMost is how many steps the plan is timed anew for: those at the head of the
// list. Nobody reads the reasons of the tenth, and each takes a whole schedule.
const askedMost = 3

func newReasons(b *bench, can []*models.Step) *reasons {
	r := &reasons{b: b, gates: map[models.ID]*Gate{}, course: newCourse(b.snap), runs: map[models.ID]int{}}
	if r.course != nil {
		r.floats = r.course.floats()
	}
	gates := gates(b.snap, b.at, r.course)
	for i := range gates {
		r.gates[gates[i].StepID] = &gates[i]
	}
	for _, st := range can {
		if st.SetupID != nil {
			r.runs[*st.SetupID]++
		}
	}
	return r
}

// why is one sentence: that it was begun; that it is pinned; that it is a gate to be closed today;
// that its station stands right for it; that its promise hangs on it; or what
// follows it.
func (r *reasons) why(st *models.Step) string {
	for _, reason := range []func(*models.Step) string{r.begun, r.b.pinWords, r.gate, r.run, r.tight} {
		if s := reason(st); s != "" {
			return s
		}
	}
	return r.order(st)
}

func (r *reasons) begun(st *models.Step) string {
	if st.State != models.PutDown {
		return ""
	}
	rest := "what is left takes " + minuteWords(left(st, r.b.at))
	if st.PersonID != nil && *st.PersonID == r.b.person {
		return fmt.Sprintf("You put it down; %s.", rest)
	}
	if who := r.b.name(st.PersonID); who != "" {
		return fmt.Sprintf("%s put it down; %s.", who, rest)
	}
	return fmt.Sprintf("It was put down; %s.", rest)
}

// gate speaks of gates that the plan wants closed before the shop closes today.
func (r *reasons) gate(st *models.Step) string {
	g := r.gates[st.ID]
	if g == nil || g.CloseBy.IsZero() || !sameDay(g.CloseBy.In(r.b.cal.Zone), r.b.at.In(r.b.cal.Zone)) {
		return ""
	}
	follow := fmt.Sprintf("%d steps wait for it", len(g.Holds))
	if len(g.Holds) == 1 {
		follow = "1 step waits for it"
	}
	if strings.HasPrefix(g.Why.Format(), "before") {
		return fmt.Sprintf("Close it %s; %s.", g.Why, follow) // the reason names the time
	}
	return fmt.Sprintf("Close it by %s, %s; %s.", clockWords(g.CloseBy, r.b.at, r.b.cal.Zone), g.Why, follow)
}

// run speaks of stations that stand as this step and others want them.
func (r *reasons) run(st *models.Step) string {
	s := r.b.snap.Station(st.StationID)
	if s == nil || st.SetupID == nil || s.SetupID == nil || *s.SetupID != *st.SetupID {
		return ""
	}
	state := r.b.snap.Setup(*st.SetupID)
	if state == nil {
		return ""
	}
	if n := r.runs[*st.SetupID]; n > 1 {
		return fmt.Sprintf("%s stands at %s, and %d steps that can be done now want that.", stationWords(s), state.State, n)
	}
	return fmt.Sprintf("%s stands at %s, as this step wants it.", stationWords(s), state.State)
}

// tight speaks of steps that cannot wait an hour without their own promise being
// missed, or their commission, late already, ending later still.
func (r *reasons) tight(st *models.Step) string {
	float, planned := r.floats[st.ID]
	if !planned || float >= hour || r.asked == askedMost {
		return ""
	}
	r.asked++
	for _, s := range r.course.delay(st.ID, hour, float).Slips {
		if s.CommissionID != st.CommissionID || !s.To.After(s.PromisedBy) {
			continue // what only shares hands or a station could still be put in another order
		}
		to, by := clockWords(s.To, r.b.at, r.b.cal.Zone), clockWords(s.PromisedBy, r.b.at, r.b.cal.Zone)
		if s.From.After(s.PromisedBy) {
			return fmt.Sprintf("“%s” is late already: if this waits an hour, it is ready %s instead of %s.", s.Name, to, clockWords(s.From, r.b.at, r.b.cal.Zone))
		}
		return fmt.Sprintf("If this waits an hour, “%s” is ready %s, after its promise (%s).", s.Name, to, by)
	}
	return ""
}

// hour is the delay that reasons speak of, in working minutes.
const hour = 60

// order speaks of what follows.
func (r *reasons) order(st *models.Step) string {
	for _, l := range r.b.snap.After(st.ID) {
		if after := r.b.snap.Step(l.AfterID); after != nil && standOf(after, r.b.at) != over {
			if n := len(r.b.snap.After(st.ID)); n > 1 {
				return fmt.Sprintf("It comes next in the plan: %s and %s wait for it.", quoted(after), count(n-1, "other step"))
			}
			return fmt.Sprintf("It comes next in the plan: %s waits for it.", quoted(after))
		}
	}
	return "It comes next in the plan."
}
