package planner

import (
	"strings"

	"faceside/models"
	"faceside/models/phrase"
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
		r.floats = r.course.roughFloats()
	}
	gates := Gates(b.snap.Origin(), b.at)
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
func (r *reasons) why(st *models.Step) phrase.Phrase {
	for _, reason := range []func(*models.Step) phrase.Phrase{r.begun, r.b.pinWords, r.gate, r.run, r.tight} {
		if s := reason(st); !s.Empty() {
			return s
		}
	}
	return r.order(st)
}

func (r *reasons) begun(st *models.Step) phrase.Phrase {
	if st.State != models.PutDown {
		return phrase.Phrase{}
	}
	rest := phrase.Of("what is left takes %s", minuteWords(left(st, r.b.at)))
	if st.PersonID != nil && *st.PersonID == r.b.person {
		return phrase.Of("You put it down; %s.", rest)
	}
	if who := r.b.name(st.PersonID); who != "" {
		return phrase.Of("%s put it down; %s.", who, rest)
	}
	return phrase.Of("It was put down; %s.", rest)
}

// gate speaks of gates that the plan wants closed before the shop closes today.
func (r *reasons) gate(st *models.Step) phrase.Phrase {
	g := r.gates[st.ID]
	if g == nil || g.CloseBy.IsZero() || !sameDay(g.CloseBy.In(r.b.cal.Zone), r.b.at.In(r.b.cal.Zone)) {
		return phrase.Phrase{}
	}
	follow := phrase.Of("%d steps wait for it", len(g.Holds))
	if len(g.Holds) == 1 {
		follow = phrase.Of("1 step waits for it")
	}
	if strings.HasPrefix(g.Why.Format(), "before") {
		return phrase.Of("Close it %s; %s.", g.Why, follow) // the reason names the time
	}
	return phrase.Of("Close it by %s, %s; %s.", clockWords(g.CloseBy, r.b.at, r.b.cal.Zone), g.Why, follow)
}

// run speaks of stations that stand as this step and others want them.
func (r *reasons) run(st *models.Step) phrase.Phrase {
	s := r.b.snap.Station(st.StationID)
	if s == nil || st.SetupID == nil || s.SetupID == nil || *s.SetupID != *st.SetupID {
		return phrase.Phrase{}
	}
	state := r.b.snap.Setup(*st.SetupID)
	if state == nil {
		return phrase.Phrase{}
	}
	if n := r.runs[*st.SetupID]; n > 1 {
		return phrase.Of("%s stands at %s, and %d steps that can be done now want that.", stationWords(s), state.State, n)
	}
	return phrase.Of("%s stands at %s, as this step wants it.", stationWords(s), state.State)
}

// tight speaks of steps that cannot wait an hour without their own promise being
// missed, or their commission, late already, ending later still.
func (r *reasons) tight(st *models.Step) phrase.Phrase {
	float, planned := r.floats[st.ID]
	if !planned || float >= hour || r.asked == askedMost {
		return phrase.Phrase{}
	}
	r.asked++
	for _, s := range r.course.delay(st.ID, hour, float).Slips {
		if s.CommissionID != st.CommissionID || !s.To.After(s.PromisedBy) {
			continue // what only shares hands or a station could still be put in another order
		}
		to, by := clockWords(s.To, r.b.at, r.b.cal.Zone), clockWords(s.PromisedBy, r.b.at, r.b.cal.Zone)
		if s.From.After(s.PromisedBy) {
			return phrase.Of("“%s” is late already: if this waits an hour, it is ready %s instead of %s.", s.Name, to, clockWords(s.From, r.b.at, r.b.cal.Zone))
		}
		return phrase.Of("If this waits an hour, “%s” is ready %s, after its promise (%s).", s.Name, to, by)
	}
	return phrase.Phrase{}
}

// hour is the delay that reasons speak of, in working minutes.
const hour = 60

// order speaks of what follows.
func (r *reasons) order(st *models.Step) phrase.Phrase {
	for _, l := range r.b.snap.After(st.ID) {
		if after := r.b.snap.Step(l.AfterID); after != nil && standOf(after, r.b.at) != over {
			if n := len(r.b.snap.After(st.ID)); n > 1 {
				if n == 2 {
					return phrase.Of("It comes next in the plan: %s and 1 other step wait for it.", quoted(after))
				}
				return phrase.Of("It comes next in the plan: %s and %d other steps wait for it.", quoted(after), n-1)
			}
			return phrase.Of("It comes next in the plan: %s waits for it.", quoted(after))
		}
	}
	return phrase.Of("It comes next in the plan.")
}
