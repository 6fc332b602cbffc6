package handlers

import (
	"slices"
	"strings"
	"time"

	"github.com/google/uuid"

	"faceside/models"
	"faceside/models/phrase"
	"faceside/models/planner"
	"faceside/views"
)

// How much of each list the bench shows: what a person takes in at a glance.
const (
	benchNext  = 5
	benchGates = 3
	holdsNamed = 2
)

// bench draws up what one person sees at a tablet, which may hang at a station,
// beside the order of promised dates; all three may be nil.
func (r *room) bench(person *models.Person, at *models.Station, status planner.Status, base *planner.Baseline) views.Bench {
	b := views.Bench{People: r.people(person)}
	if person == nil {
		return b
	}
	b.Person = person.Name
	b.Plan, b.PlanBad = r.say.planNote(status)
	if r.snap.Plan != nil {
		b.Relaxed = r.say.tellAll(r.snap.Plan.Note)
	}
	next := stationFirst(r.snap, planner.Next(r.snap, person.ID, r.at), at)
	if at != nil {
		b.Station = at.Name
	}
	if run := r.snap.RunInHand(person.ID); run != nil {
		card := r.runCard(run)
		card.Along = r.along(run)
		b.InRun = &card
		r.benchNext(&b, next, at, nil)
	} else if st := r.snap.Helps(person.ID); st != nil {
		r.benchHelping(&b, st, person)
		r.benchNext(&b, next, at, nil)
	} else {
		hand := r.inHand(person.ID)
		now := r.benchNow(&b, hand, next)
		shown := append(r.benchRun(&b, now, person, base), now)
		if run := r.single(hand); run != nil {
			b.Along = r.along(run)
		}
		for _, a := range b.Along {
			shown = append(shown, r.snap.Step(a.Step.ID))
		}
		r.benchNext(&b, next, at, shown)
	}
	b.Calls = r.called(person.ID)
	b.Rests = r.rests()
	b.Gates = r.gates(benchGates)
	b.Others = r.others(person.ID)
	b.Undo = r.undo(person.ID)
	b.Trouble = r.troubles(person.ID)
	return b
}

func (r *room) people(current *models.Person) []views.PersonChoice {
	var all []views.PersonChoice
	for _, p := range r.snap.People {
		if p.Active {
			all = append(all, views.PersonChoice{ID: p.ID, Name: p.Name, Current: current != nil && p.ID == current.ID})
		}
	}
	return all
}

// benchNow puts the step in hand, or else the first suggestion, on the bench
// and returns it; nil when there is none.
func (r *room) benchNow(b *views.Bench, hand *models.Step, next []planner.Suggestion) *models.Step {
	if hand != nil {
		card := r.card(hand, "")
		card.Big = true
		for _, s := range next {
			if s.StepID == hand.ID {
				card.Why = r.say.tell(s.Why)
			}
		}
		b.Now = &card
		return hand
	}
	if len(next) == 0 {
		b.Idle = r.say.say("Every step of every open commission is done or in somebody's hands.")
		if len(r.snap.Commissions) == 0 {
			b.Idle = r.say.say("No commission is open. Take one in under Commissions.")
		}
		return nil
	}
	first := next[0]
	st := r.snap.Step(first.StepID)
	if st == nil {
		return nil
	}
	card := r.card(st, "")
	card.Big = true
	if first.Ready {
		card.Why = r.say.tell(first.Why)
	} else {
		b.Lead = r.say.say("Nothing can be taken up right now. This comes next:")
		if len(card.Waits) == 0 {
			card.Waits = []string{r.say.tell(first.Why)} // not a link holds it: a station, clamps, the air
		}
	}
	b.Now = &card
	return st
}

// benchNext lists what comes after the step on the bench and its run, in order of
// time. What is done at the tablet's own station is listed before there is room for
// the others.
func (r *room) benchNext(b *views.Bench, next []planner.Suggestion, at *models.Station, shown []*models.Step) {
	var here, elsewhere []planner.Suggestion
	for _, s := range next {
		switch st := r.snap.Step(s.StepID); {
		case st == nil || slices.Contains(shown, st):
		case at != nil && st.StationID == at.ID:
			here = append(here, s)
		default:
			elsewhere = append(elsewhere, s)
		}
	}
	here = planner.Soonest(here, benchNext)
	for _, s := range planner.Soonest(append(here, planner.Soonest(elsewhere, benchNext-len(here))...), benchNext) {
		row := r.row(r.snap.Step(s.StepID), false)
		if s.Planned {
			row.When = r.say.at(s.Start)
		}
		b.Next = append(b.Next, row)
	}
}

// benchRun offers what else can run while the station stands as it does, with
// the step on the bench where that is still to be begun, and returns those steps.
func (r *room) benchRun(b *views.Bench, now *models.Step, person *models.Person, base *planner.Baseline) []*models.Step {
	if now == nil || now.SetupID == nil || now.State == models.InHand {
		return nil
	}
	offer, ok := planner.OfferFor(planner.RunOffers(r.snap, r.at), *now.SetupID)
	others := slices.DeleteFunc(slices.Clone(offer.Steps), func(id models.ID) bool { return id == now.ID })
	station, setup := r.snap.Station(now.StationID), r.snap.Setup(*now.SetupID)
	if !ok || station == nil || setup == nil {
		return nil
	}
	run := r.runOffer(offer, base, now.ID)
	run.Free = r.mayTakeRun(person, station)
	more := r.say.say("%d more steps at %s.", len(others), setup.State)
	if run.Note = strings.TrimSpace(more + " " + run.Note); !run.Free {
		run.Note = more
	}
	b.Run = &run
	var steps []*models.Step
	for _, id := range others {
		steps = append(steps, r.snap.Step(id))
	}
	return steps
}

// rests lists what is in clamps or drying, the one that is over first.
func (r *room) rests() []views.RestRow {
	var steps []*models.Step
	for i := range r.snap.Steps {
		if st := &r.snap.Steps[i]; st.State == models.AtRest && st.RestEndsAt != nil {
			steps = append(steps, st)
		}
	}
	slices.SortStableFunc(steps, func(a, b *models.Step) int { return a.RestEndsAt.Compare(*b.RestEndsAt) })
	var rows []views.RestRow
	for _, st := range steps {
		rows = append(rows, r.rest(st))
	}
	return rows
}

func (r *room) rest(st *models.Step) views.RestRow {
	standing := r.standing(st)
	over := !st.RestEndsAt.After(r.at)
	left := int((st.RestEndsAt.Sub(r.at) + time.Minute - 1) / time.Minute)
	row := views.RestRow{
		Name: st.Name, Href: stepHref(st.ID), Commission: r.commission(st.CommissionID),
		Standing: r.say.standing(standing), Mark: mark(standing), Over: over,
		Until: r.say.say("until %s", r.say.at(*st.RestEndsAt)), Whole: st.Unattended, Passed: st.Unattended,
		Opens: r.opens(st.ID),
		Ends:  st.RestEndsAt.UnixMilli(), Now: r.at.UnixMilli(),
	}
	if over {
		row.Left = r.say.say("since %s", r.say.at(*st.RestEndsAt))
	} else {
		row.Left = r.say.say("%s left", r.say.clockSpan(left))
		row.Passed = max(0, st.Unattended-left)
	}
	row.Out = r.actions(st, standing, "")[0]
	row.Out.Main = false
	row.Out.Detail = st.Name
	return row
}

// opens names the first steps that wait for one: those that wait for another of
// its followers too come later.
func (r *room) opens(step models.ID) string {
	follows := map[models.ID]bool{}
	for _, link := range r.snap.After(step) {
		follows[link.AfterID] = true
	}
	var names []string
	for _, link := range r.snap.After(step) {
		st := r.snap.Step(link.AfterID)
		later := slices.ContainsFunc(r.snap.Before(link.AfterID), func(l models.Link) bool { return follows[l.BeforeID] })
		if st != nil && st.State == models.Todo && !later && !slices.Contains(names, st.Name) {
			names = append(names, st.Name)
		}
	}
	if len(names) > holdsNamed {
		return r.say.say("%s and %d more", strings.Join(names[:holdsNamed], ", "), len(names)-holdsNamed)
	}
	return strings.Join(names, ", ")
}

// gates lists the most pressing steps whose unattended time holds others up.
func (r *room) gates(most int) []views.GateRow {
	var rows []views.GateRow
	for _, g := range planner.Gates(r.snap, r.at) {
		if len(rows) == most {
			break
		}
		if row, ok := r.gate(g); ok {
			rows = append(rows, row)
		}
	}
	return rows
}

// gate tells one gate; ok is false where it is closed already.
func (r *room) gate(g planner.Gate) (row views.GateRow, ok bool) {
	st := r.snap.Step(g.StepID)
	if st == nil || st.State == models.AtRest {
		return row, false
	}
	standing := r.standing(st)
	by := "" // what is not in the plan need not be closed by a time
	if !g.CloseBy.IsZero() {
		by = r.say.at(g.CloseBy)
	}
	return views.GateRow{
		Name: st.Name, Href: stepHref(st.ID), Commission: r.commission(st.CommissionID),
		CloseBy: by, Why: r.say.tell(g.Why), Standing: r.say.standing(standing), Mark: mark(standing),
		Holds: r.holds(g),
	}, true
}

// holds says how much a gate keeps waiting.
func (r *room) holds(g planner.Gate) string {
	return r.say.say("holds up %d steps, %s of work", len(g.Holds), span(g.HoldsMin))
}

// others tells what everybody else has in hand.
func (r *room) others(person models.ID) []views.OtherRow {
	var rows []views.OtherRow
	for _, p := range r.snap.People {
		if !p.Active || p.ID == person {
			continue
		}
		row := views.OtherRow{Person: p.Name}
		st := r.inHand(p.ID)
		if helps := r.snap.Helps(p.ID); st == nil && helps != nil {
			row.Name, row.Href, row.Detail = helps.Name, stepHref(helps.ID), r.say.say("helps %s", r.who(helps.PersonID))
		}
		if st != nil {
			row.Name, row.Href = st.Name, stepHref(st.ID)
			row.Detail = r.commission(st.CommissionID)
			if run := r.snap.Run(st.Run); run != nil {
				row.Detail = r.say.say("in a run of %d steps", len(run.Steps))
			}
			if station := r.snap.Station(st.StationID); station != nil {
				row.Detail += " · " + station.Name
			}
			if st.TakenAt != nil {
				row.Detail += " · " + r.say.say("since %s", r.say.at(*st.TakenAt))
			}
			row.Help = r.helpOffer(st, person)
		}
		rows = append(rows, row)
	}
	return rows
}

// undoFor is how long a tap is offered to be taken back on the bench: the day's
// work, not what was done last week.
const undoFor = 12 * time.Hour

// undo takes back this person's newest tap, where that is still likely meant.
func (r *room) undo(person models.ID) *views.TapForm {
	i := slices.IndexFunc(r.snap.LastTaps, func(tap models.Tap) bool { return tap.PersonID == person })
	if i < 0 {
		return nil
	}
	tap := r.snap.LastTaps[i]
	if r.at.Sub(tap.At) > undoFor || tap.StepID != nil && r.snap.Step(*tap.StepID) == nil {
		return nil
	}
	form := &views.TapForm{ID: uuid.NewString(), Kind: string(models.TapUndo), Undoes: tap.Seq, Label: r.say.say("Undo: %s", r.told(tap))}
	if tap.StepID != nil {
		form.Step = *tap.StepID
	}
	return form
}

// tapWords says a tap in the past tense.
var tapWords = map[models.TapKind]phrase.Key{
	models.TapStart:   "started %[1]s, %[2]s",
	models.TapPutDown: "put down %[1]s, %[2]s",
	models.TapFinish:  "finished %[1]s, %[2]s",
	models.TapOut:     "took out %[1]s, %[2]s",
	models.TapTrouble: "reported trouble with %[1]s, %[2]s",
	models.TapSettled: "settled the trouble with %[1]s, %[2]s",
	models.TapHelp:    "help with %[1]s, %[2]s",
	models.TapManage:  "end of the help with %[1]s, %[2]s",
	models.TapSet:     "set %[1]s, %[2]s",
	models.TapDown:    "put %[1]s out of order, %[2]s",
	models.TapUp:      "put %[1]s in order again, %[2]s",
	models.TapUndo:    "took back a tap on %[1]s, %[2]s",
}

// What is said of some taps in place of that.
var (
	askedForHelp = phrase.Key("asked for help with %[1]s, %[2]s")
	tookAlong    = phrase.Key("took %[1]s along, %[2]s")
)

// told says what a tap did, e.g. "finished Plane the posts, 9:42".
func (r *room) told(tap models.Tap) string {
	if tap.Act != "" && !tap.Joined && !r.gathered(tap.Act) {
		return r.toldTogether(tap)
	}
	what := r.say.say("a station")
	if tap.StepID != nil {
		what = r.say.say("step %d", *tap.StepID)
		if st := r.snap.Step(*tap.StepID); st != nil {
			what = st.Name
		}
	} else if tap.StationID != nil {
		if st := r.snap.Station(*tap.StationID); st != nil {
			what = st.Name
		}
	}
	key := tapWords[tap.Kind]
	switch {
	case tap.Trouble.Hands():
		key = askedForHelp
	case tap.Kind == models.TapStart && tap.Act != "":
		key = tookAlong
	}
	return r.say.tell(key.Of(what, r.say.at(tap.At)))
}

// gathered tells whether an act made a run of a single step in hand and another.
func (r *room) gathered(act string) bool {
	return slices.ContainsFunc(r.snap.LastTaps, func(t models.Tap) bool { return t.Act == act && t.Kind == models.TapGather })
}

// toldTogether says what a tap did to several steps at once.
func (r *room) toldTogether(tap models.Tap) string {
	n := 0
	for _, other := range r.snap.LastTaps {
		if other.Act == tap.Act && !other.Joined {
			n++
		}
	}
	if tap.Kind == models.TapPutDown {
		return r.say.say("put down %[1]d steps of a run, %[2]s", n, r.say.at(tap.At))
	}
	return r.say.say("took a run of %[1]d steps, %[2]s", n, r.say.at(tap.At))
}

// planNote says what the planner is doing, where a person should know.
func (w words) planNote(status planner.Status) (note string, bad bool) {
	switch {
	case !status.LastError.Empty():
		return w.say("No new plan could be made: %s The order below is the last one that worked.", status.LastError), true
	case status.PlanRevision == 0:
		return w.say("The first plan is being made; the order below follows the pattern."), false
	case status.Planning && status.PlanRevision != status.ShopRevision:
		return w.say("Re-planning after the last change…"), false
	}
	return "", false
}
