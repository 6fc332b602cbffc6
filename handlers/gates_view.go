package handlers

import (
	"fmt"
	"slices"
	"sort"
	"strings"
	"time"

	"github.com/google/uuid"

	"faceside/models"
	"faceside/models/planner"
	"faceside/views"
)

// gatesHref is where taps of the Gates screen lead back to.
const gatesHref = "/gates"

func (r *room) gatesScreen() views.Gates {
	data := views.Gates{Rests: r.rests(), Groups: r.gateGroups(), Rack: r.rack(), AddClamps: r.planners(sectionHref("clamps"))}
	for i := range data.Rests {
		data.Rests[i].Out.Back = gatesHref
	}
	switch {
	case len(data.Groups) > 0:
	case len(r.snap.Commissions) == 0:
		data.NoGate = r.say.say("No commission is open, so no gate is.")
	default:
		data.NoGate = r.say.say("No gate is open: no glue-up and no coat keeps another step waiting.")
	}
	return data
}

// gateGroups are the gates by when they are to be closed: today, later, or not
// planned yet. In each those stand first that hold up most work.
func (r *room) gateGroups() []views.GateGroup {
	groups := []views.GateGroup{
		{Key: "today", Title: r.say.say("To close today")},
		{Key: "later", Title: r.say.say("To close later")},
		{Key: "unplanned", Title: r.say.say("Not in the plan yet")},
	}
	all := slices.Clone(planner.GatesToTheLast(r.snap, r.at))
	sort.SliceStable(all, func(a, b int) bool { return all[a].HoldsMin > all[b].HoldsMin })
	for _, g := range all {
		if st := r.snap.Step(g.StepID); st != nil {
			at := r.gateGroup(g)
			groups[at].Gates = append(groups[at].Gates, r.gateCard(g, st))
		}
	}
	var filled []views.GateGroup
	for _, g := range groups {
		if len(g.Gates) > 0 {
			filled = append(filled, g)
		}
	}
	return filled
}

func (r *room) gateGroup(g planner.Gate) int {
	switch {
	case g.CloseBy.IsZero():
		return 2
	case daysBetween(r.say.now, g.CloseBy.In(r.say.now.Location())) > 0:
		return 1
	}
	return 0
}

func (r *room) gateCard(g planner.Gate, st *models.Step) views.GateCard {
	standing := r.standing(st)
	card := views.GateCard{
		Name: st.Name, Href: stepHref(st.ID), Commission: r.commission(st.CommissionID), CommissionHref: r.planners(commissionHref(st.CommissionID)),
		Standing: r.say.standing(standing), Mark: mark(standing), Why: r.closeBy(g), Latest: r.closedLater(g),
		Holds: r.holds(g), Opens: r.opens(st.ID),
		Hands: r.say.say("%d people", max(1, st.Hands)),
	}
	if !g.CloseBy.IsZero() {
		card.By = r.say.at(g.CloseBy)
	}
	for _, asked := range g.Clamps {
		card.Clamps = append(card.Clamps, r.clampsLine(asked))
	}
	if standing == models.StandsWaiting {
		for _, w := range r.snap.WaitsFor(st.ID, r.at) {
			card.Waits = r.say.tell(w.Sentence)
			break
		}
	}
	if standing == models.StandsReady || standing == models.StandsPutDown {
		card.Start = &views.TapForm{ID: uuid.NewString(), Kind: string(models.TapStart), Step: st.ID, Label: r.say.say("Start"), Detail: st.Name, Back: gatesHref}
	}
	return card
}

// closeBy says by when a gate should be closed and why, as one sentence.
func (r *room) closeBy(g planner.Gate) string {
	why := r.say.tell(g.Why)
	switch {
	case g.CloseBy.IsZero():
		return r.say.say("It has no place in the plan yet: %s.", why)
	case strings.HasPrefix(g.Why.Format(), "before"):
		return r.say.say("Close it %s.", why) // the reason names the time
	}
	return r.say.say("Close it by %[1]s, %[2]s.", r.say.at(g.CloseBy), why)
}

// closedLater says until when a gate can be closed without harm, and what it does to
// which promise then; "" where the plan does not tell, or the reason to close it does.
func (r *room) closedLater(g planner.Gate) string {
	if g.Latest.IsZero() || g.ToTheLast {
		return ""
	}
	latest := r.say.at(g.Latest)
	if !g.Moves {
		return r.closedGives(g, latest)
	}
	name, promised := "", ""
	if c := r.snap.Commission(g.Promise); c != nil {
		name, promised = c.Name, r.say.date(c.PromisedOn)
	}
	if g.Late {
		return r.say.say("“%[1]s” is late already: closed after %[2]s, it is later still.", name, latest)
	}
	return r.say.say("Closed after %[1]s, “%[2]s” misses its promise, %[3]s.", latest, name, promised)
}

// closedGives says which step behind a gate then cannot start when it is pinned, or comes
// too long after which other. What another commission has to wait for is not the gate's:
// there the work only takes turns.
func (r *room) closedGives(g planner.Gate, latest string) string {
	st, after := r.snap.Step(g.Gives.StepID), r.snap.Step(g.Gives.After)
	switch {
	case st == nil || !slices.Contains(g.Holds, st.ID):
		return ""
	case after != nil:
		return r.say.say("Closed after %[1]s, “%[2]s” does not start within %[3]s of %[4]s any more.", latest, st.Name, r.say.clockSpan(g.Gives.Within), g.Gives.Point(after))
	}
	return r.say.say("Closed after %[1]s, “%[2]s” cannot start when it is pinned, %[3]s.", latest, st.Name, r.say.at(g.Gives.At))
}

// clampsLine says of one class what a gate takes and what hangs free.
func (r *room) clampsLine(n planner.ClampsAsked) views.ClampsLine {
	line := views.ClampsLine{Takes: fmt.Sprintf("%d × %s", n.Takes, n.Class.Name), Short: n.Free < n.Takes}
	switch {
	case !line.Short:
		line.Free = r.say.say("%d hang free", n.Free)
	case n.Waits == nil:
		line.Free = r.say.say("only %[1]d hang free: the shop has no more than %[2]d", n.Free, n.Class.Count)
	case n.Over:
		line.Free = r.say.say("only %[1]d hang free: those on “%[2]s” have had their time and can be taken off", n.Free, n.Waits.Name)
	case n.Until.IsZero():
		line.Free = r.say.say("only %[1]d hang free: the others are on “%[2]s”, in hand", n.Free, n.Waits.Name)
	default:
		line.Free = r.say.say("only %[1]d hang free until %[2]s: the others are on “%[3]s”", n.Free, r.say.at(n.Until), n.Waits.Name)
	}
	return line
}

// rack draws every class of clamps that the shop has, its steps numbered through
// the whole rack.
func (r *room) rack() []views.RackClass {
	numbers := map[models.ID]int{}
	var all []views.RackClass
	for _, class := range planner.RackOf(r.snap, r.at) {
		if class.Count > 0 || len(class.Out) > 0 {
			all = append(all, r.rackClass(class, numbers))
		}
	}
	return all
}

func (r *room) rackClass(class planner.RackClass, numbers map[models.ID]int) views.RackClass {
	free := r.say.say("%[1]d of %[2]d hang free", class.Free, class.Count)
	out := views.RackClass{Name: class.Name, Free: free}
	drawing := views.ClampsDrawing{Title: class.Name + ": " + free, Each: (class.Count + views.MostClamps - 1) / views.MostClamps, Free: class.Free}
	if drawing.Each > 1 {
		out.Each = r.say.say("One mark stands for %d clamps.", drawing.Each)
	}
	for _, o := range class.Out {
		if numbers[o.Step.ID] == 0 {
			numbers[o.Step.ID] = len(numbers) + 1
		}
		row := views.RackRow{Number: numbers[o.Step.ID], Count: o.Count, Name: o.Step.Name, Href: stepHref(o.Step.ID),
			Commission: r.commission(o.Step.CommissionID), Over: o.Over, State: r.clampsBack(o)}
		out.Out = append(out.Out, row)
		drawing.Out = append(drawing.Out, views.ClampsOut{Number: row.Number, Count: o.Count, Over: o.Over})
	}
	out.Drawing = drawing.SVG()
	return out
}

// clampsBack says when clamps come back.
func (r *room) clampsBack(o planner.ClampsOut) string {
	switch {
	case o.Until.IsZero():
		return r.say.standing(models.StandsInHand)
	case o.Over:
		return r.say.say("time is over: take them off")
	}
	return r.say.say("until %s", r.say.at(o.Until))
}

// announced is how long after the end of a rest a tablet that did not know of it
// still announces it.
const announced = 12 * time.Hour

// resting lists what is in clamps or drying, and what is said when that is over.
func (r *room) resting() []views.Resting {
	var all []views.Resting
	for i := range r.snap.Steps {
		st := &r.snap.Steps[i]
		if st.State != models.AtRest || st.RestEndsAt == nil || r.at.Sub(*st.RestEndsAt) > announced {
			continue
		}
		said := r.say.say("Rested: %s", st.Name)
		switch st.Rest {
		case string(models.StandsInClamps):
			said = r.say.say("Can come out of clamps: %s", st.Name)
		case "drying":
			said = r.say.say("Dry by the clock: %s", st.Name)
		}
		all = append(all, views.Resting{Step: st.ID, Ends: st.RestEndsAt.UnixMilli(), Now: r.at.UnixMilli(), Said: said, Where: r.commission(st.CommissionID)})
	}
	return all
}
