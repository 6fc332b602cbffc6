package planner

import (
	"sort"
	"time"

	"faceside/models"
	"faceside/models/phrase"
	"faceside/models/sequence"
)

// greatest is a greatest lag in the problem. Where the earlier step has come so
// far that the lag runs already, the link is from the origin.
type greatest struct {
	models.Link
	before *models.Step
	after  *item
	index  int // in Problem.Links
	asked  int // the greatest minutes asked for
	level  int // how often it was loosened
}

// addLinks writes the links between steps to be done as links, those from steps
// that are done as releases and bounds, and leaves out those into steps that
// have begun.
func (q *posed) addLinks() {
	for _, l := range q.snap.Links {
		before, after := q.snap.Step(l.BeforeID), q.byStep[l.AfterID]
		if before == nil || after == nil {
			continue
		}
		first := q.byStep[before.ID]
		if after.fixed() {
			if first != nil && !first.fixed() {
				q.noteOn(before, "%s was begun before %s is done.", quoted(after.Step), quoted(before))
			}
			continue
		}
		if point, known := pointOf(l, before, q.at); known {
			q.bind(l, before, after, point)
		} else if first != nil {
			q.link(l, first, after)
		}
	}
	for _, g := range q.lags {
		q.lateAlready(g)
	}
}

// link adds a link between two steps that are still to be placed or in hand.
func (q *posed) link(l models.Link, before, after *item) {
	out := sequence.Link{Before: stepName(before.ID), After: stepName(after.ID), From: sequence.LinkFrom(l.From), Min: l.MinLag}
	if l.MaxLag != nil {
		most := *l.MaxLag
		out.Max = &most
		q.lags = append(q.lags, &greatest{Link: l, before: before.Step, after: after, index: len(q.Links), asked: most})
	}
	q.Links = append(q.Links, out)
}

// bind makes of a link whose earlier point is known a release and, where there
// is a greatest lag, a bound that counts from the origin.
func (q *posed) bind(l models.Link, before *models.Step, after *item, point time.Time) {
	after.release = max(after.release, q.line.minuteUp(point.Add(time.Duration(l.MinLag)*time.Minute)))
	if l.MaxLag == nil {
		return
	}
	until := point.Add(time.Duration(*l.MaxLag) * time.Minute)
	latest := q.line.minute(until)
	if latest < 0 {
		q.noteOver(before, after.Step, until)
		return
	}
	q.lags = append(q.lags, &greatest{Link: l, before: before, after: after, index: len(q.Links), asked: latest})
	most := latest
	q.Links = append(q.Links, sequence.Link{Before: originName, After: stepName(after.ID), From: sequence.FromStart, Max: &most})
	q.addOrigin()
}

// addOrigin adds the task that bounds count from, once.
func (q *posed) addOrigin() {
	if len(q.Tasks) == 0 {
		start := 0
		q.Tasks = append(q.Tasks, sequence.Task{ID: originName, Start: &start})
	}
}

// noteOver says that a greatest lag was overrun.
func (q *posed) noteOver(before, after *models.Step, until time.Time) {
	since := clockWords(until, q.at, q.cal.Zone)
	if isCoat(before) {
		q.noteOn(before, "the recoat window of %s is over since %s: abrade before %s.", quoted(before), since, quoted(after))
		return
	}
	q.noteOn(before, "%s should have begun by %s, within the time allowed after %s: look it over before going on.", quoted(after), since, quoted(before))
}

// isCoat tells whether a step lays on finish, whose greatest lag is a recoat window.
func isCoat(st *models.Step) bool { return st.Wet || st.FinishID != nil }

// lateAlready loosens a bound from the origin that not even the shop's hours
// can keep: its step is to start as soon as it can then.
func (q *posed) lateAlready(g *greatest) {
	link := &q.Links[g.index]
	if link.Before != originName {
		return
	}
	first := q.line.opens(max(0, g.after.release))
	if !g.after.cut {
		for i := q.line.window(first); i < len(q.line.windows); i++ {
			w := q.line.windows[i]
			if first = max(first, w[0]); first+g.after.left <= w[1] {
				break
			}
		}
	}
	if first > *link.Max {
		*link.Max = first
	}
}

// loosening is by how many minutes greatest lags are made longer, one after the
// other, where a problem has no plan; after the last they are left out.
var loosening = []int{60, 4 * 60, 24 * 60, 72 * 60}

// loosen makes a greatest lag among conflicting tasks longer: of several the one
// loosened least so far, and first those that run already, for nobody can put
// their earlier step off any more. An empty conflict means any. It is false
// where none is left.
func (q *posed) loosen(conflict []string) bool {
	named := map[string]bool{originName: true}
	for _, id := range conflict {
		named[id] = true
	}
	var candidates []*greatest
	for _, g := range q.lags {
		link := q.Links[g.index]
		if link.Max != nil && (len(conflict) == 0 || named[link.Before] && named[link.After]) {
			candidates = append(candidates, g)
		}
	}
	if len(candidates) == 0 {
		if len(conflict) == 0 {
			return false
		}
		return q.loosen(nil)
	}
	sort.SliceStable(candidates, func(a, b int) bool {
		x, y := candidates[a], candidates[b]
		if x.level != y.level {
			return x.level < y.level
		}
		return q.Links[x.index].Before == originName && q.Links[y.index].Before != originName
	})
	q.lengthen(candidates[0])
	return true
}

func (q *posed) lengthen(g *greatest) {
	link := &q.Links[g.index]
	if g.level == len(loosening) {
		link.Max = nil
		return
	}
	*link.Max += loosening[g.level]
	g.level++
}

// broken says which greatest lags a plan does not keep as they were asked for.
func (q *posed) broken(plan *sequence.Plan) (sentences []phrase.Phrase) {
	at := map[string]sequence.PlanTask{}
	for _, t := range plan.Tasks {
		at[t.ID] = t
	}
	for _, g := range q.lags {
		link := q.Links[g.index]
		before, start := at[link.Before], at[link.After].Start
		point := before.End
		switch link.From {
		case sequence.FromStart:
			point = before.Start
		case sequence.FromAttended:
			point = before.AttendedEnd
		}
		if start > point+g.asked {
			sentences = append(sentences, q.lateWords(g, start-point-g.asked, q.line.time(start)))
		}
	}
	return sentences
}

// lateWords says by how much a greatest lag is overrun in the plan.
func (q *posed) lateWords(g *greatest, by int, start time.Time) phrase.Phrase {
	when := clockWords(start, q.at, q.cal.Zone)
	if isCoat(g.before) {
		return q.on(g.before, phrase.Of("%s is planned for %s, %s after the recoat window of %s is over: abrade before it.",
			quoted(g.after.Step), when, minuteWords(by), quoted(g.before)))
	}
	return q.on(g.before, phrase.Of("%s is planned for %s, %s later than it should follow %s: look it over before going on.",
		quoted(g.after.Step), when, minuteWords(by), quoted(g.before)))
}
