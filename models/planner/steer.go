package planner

import (
	"fmt"
	"time"

	"faceside/models"
	"faceside/models/phrase"
	"faceside/models/sequence"
)

// What the plan is steered by, as tasks and bounds of the problem: days to which steps
// are pinned, people to whom they are given, stations that are closed, clamps that are
// lent or borrowed.

func personName(id models.ID) string { return fmt.Sprintf("person:%d", id) }

// midnight is the minute at which a day begins by the shop's clock, days later.
func (q *posed) midnight(date string, days int) (int, bool) {
	d, err := time.ParseInLocation(time.DateOnly, date, q.cal.Zone)
	if err != nil {
		return 0, false
	}
	return q.line.minute(d.AddDate(0, 0, days)), true
}

// settleDays binds the steps that are pinned to a day, as far as the clock, the shop's
// hours and what comes before them let them be begun then. It needs the releases.
func (q *posed) settleDays() {
	for _, it := range q.items {
		if w := q.snap.Wants(it.ID); w != nil && w.Day != "" && it.stand == free {
			q.settleDay(it, w.Day)
		}
	}
}

func (q *posed) settleDay(it *item, date string) {
	noon, err := time.ParseInLocation(time.DateOnly+" 15", date+" 12", q.cal.Zone)
	if err != nil {
		return // the database keeps days that are none out
	}
	it.day, it.pin = date, noon
	first, last := never, -1
	for _, o := range q.cal.Day(noon, 0) {
		from, to := max(0, q.line.minute(o.From)), q.line.minute(o.To)-1
		if !it.cut {
			to = q.line.minute(o.To) - it.left
		}
		if from <= to {
			first, last = min(first, from), to
		}
	}
	switch {
	case q.cal.Date(q.at) > date:
		it.looseDay(phrase.Of("that is past"), it.release)
	case last < 0:
		it.looseDay(phrase.Of("the shop is not open for it then"), max(it.release, max(0, q.line.minute(noon))))
	case it.release > last:
		it.looseDay(phrase.Of("it can begin %s at the earliest", q.clock(it.release)), it.release)
	case q.latest(it) < first:
		it.looseDay(phrase.Of("it must begin by %s", q.clock(q.latest(it))), it.release)
	default:
		it.release, it.onDay, it.dayLink = max(it.release, first), true, len(q.Links)
		q.Links = append(q.Links, sequence.Link{Before: originName, After: stepName(it.ID), From: sequence.FromStart, Max: &last})
		q.addOrigin()
	}
}

// looseDay lets a step that is pinned to a day be begun from a minute on. why
// completes "but ...".
func (i *item) looseDay(why phrase.Phrase, from int) { i.onDay, i.loose, i.release = false, why, from }

// asPinned tells whether a start is where a maker pinned the step.
func (q *posed) asPinned(it *item, start int) bool {
	if it.day != "" {
		return q.cal.Date(q.line.time(start)) == it.day
	}
	return q.line.time(start).Equal(it.pin)
}

// whenPinned says to when a step was pinned.
func (q *posed) whenPinned(it *item) phrase.Phrase {
	if it.day != "" {
		return phrase.Date(it.pin)
	}
	return clockWords(it.pin, q.at, q.cal.Zone)
}

// settleGiven finds the people to whom steps are given.
func (q *posed) settleGiven() {
	for _, it := range q.items {
		w := q.snap.Wants(it.ID)
		if w == nil || w.PersonID == nil || it.stand != free {
			continue
		}
		for _, p := range q.crew {
			if p.ID == *w.PersonID {
				it.given = p
			}
		}
		switch p := q.snap.Person(*w.PersonID); {
		case it.given != nil:
			q.askedFor[it.given.ID] = true
		case p != nil:
			q.noteOn(it.Step, "%[1]s was given to %[2]s, who is not here any more: it is planned for whoever is free.", quoted(it.Step), p.Name)
		}
	}
	for _, p := range q.crew {
		if q.askedFor[p.ID] {
			q.Resources = append(q.Resources, sequence.Resource{ID: personName(p.ID), Capacity: 1, Calendar: shopName})
		}
	}
	q.keepInHand()
}

// keepInHand notes whose own hands a step in hand has, so that nothing that is given
// to them runs beside it.
func (q *posed) keepInHand() {
	until := map[models.ID]int{}
	for _, it := range q.items {
		if it.stand != held || it.hands == 0 || it.left == 0 {
			continue
		}
		for _, p := range handsOf(it.Step) {
			if q.askedFor[p] && it.start >= until[p] {
				it.own = append(it.own, p)
				until[p] = q.doneBy(it)
			}
		}
	}
}

// handsOf lists who has hands on a step.
func handsOf(st *models.Step) []models.ID {
	var all []models.ID
	if st.PersonID != nil {
		all = append(all, *st.PersonID)
	}
	for _, h := range st.Helpers {
		all = append(all, h.PersonID)
	}
	return all
}

// useOf is a person's own hands in attended time.
func useOf(person models.ID) sequence.Use {
	return sequence.Use{Resource: personName(person), Amount: 1, During: sequence.Attended}
}

// notGiven says which steps that are given to somebody the plan has somebody else do:
// whose hands are there is counted before it is known whose they are.
func (q *posed) notGiven(who map[models.ID][]models.ID) (sentences []phrase.Phrase) {
	for _, it := range q.items {
		if it.given != nil && !has(who[it.ID], it.given.ID) {
			sentences = append(sentences, q.on(it.Step, phrase.Of("%[1]s was given to %[2]s, who has something else in hand then: change hands, or take it as it comes.", quoted(it.Step), it.given.Name)))
		}
	}
	return sentences
}

// addClosures keeps closed stations from work; a step that is in hand there is left
// to end first.
func (q *posed) addClosures() {
	capacity := map[string]int{}
	for _, r := range q.Resources {
		capacity[r.ID] = r.Capacity
	}
	free := map[models.ID]int{} // by station, from when nobody has anything in hand there
	for _, it := range q.items {
		if it.stand == held && it.station {
			free[it.StationID] = max(free[it.StationID], q.doneBy(it))
		}
	}
	for _, c := range q.snap.Closures {
		places, used := capacity[stationName(c.StationID)]
		if !used {
			continue
		}
		from, until := q.stretch(c.FromDate, c.UntilDate)
		from = max(from, free[c.StationID])
		free[c.StationID] = max(free[c.StationID], until)
		q.keepTaken(fmt.Sprintf("closed:%d", c.ID), stationName(c.StationID), places, from, until)
	}
}

// addStays keeps the hands of those who are there on some days only from work in all
// others: around the clock and not opening by opening, since those are many. What they
// have in hand they end, and nobody's hands are missed that reality needs.
func (q *posed) addStays() {
	gone := 0
	for _, p := range q.crew {
		if !q.cal.Stays(p.ID) {
			continue
		}
		from := 0
		if it := q.inHandOf(p.ID); it != nil {
			from = q.doneBy(it)
		}
		gone++
		for full := q.tooMany(from, gone); full >= 0; full = q.tooMany(from, gone) {
			from = q.firstDone(full)
		}
		for k, stay := range q.cal.StaysOf(p.ID) {
			begins, ends := q.stretch(stay.FromDate, stay.UntilDate)
			q.keepGone(p.ID, k, from, min(begins, q.Horizon))
			from = max(from, ends)
		}
		q.keepGone(p.ID, len(q.cal.StaysOf(p.ID)), from, q.Horizon)
	}
}

// notHere counts those who are there on some days only, and not on this one.
func (q *posed) notHere(date string) int {
	n := 0
	for _, p := range q.crew {
		if !q.cal.Here(p.ID, date) {
			n++
		}
	}
	return n
}

func (q *posed) keepGone(person models.ID, part, from, until int) {
	before := len(q.Tasks)
	q.keepTaken(fmt.Sprintf("gone:%d:%d", person, part), handsName, 1, from, until)
	if len(q.Tasks) > before && q.askedFor[person] {
		t := &q.Tasks[before]
		t.Uses = append(t.Uses, sequence.Use{Resource: personName(person), Amount: 1, During: sequence.All})
	}
}

// stretch is the minutes of some days, within the horizon.
func (q *posed) stretch(from, until string) (int, int) {
	a, known := q.midnight(from, 0)
	b, too := q.midnight(until, 1)
	if !known || !too {
		return 0, 0
	}
	return max(0, a), min(b, q.Horizon)
}

// keepTaken adds a task that does nothing but keep a resource.
func (q *posed) keepTaken(name, resource string, amount, from, until int) {
	if from >= until || amount <= 0 {
		return
	}
	q.Tasks = append(q.Tasks, sequence.Task{ID: name, Unattended: until - from, Start: &from,
		Uses: []sequence.Use{{Resource: resource, Amount: amount, During: sequence.All}}})
}

// borrowed is how many clamps of a class are going to be there beside the shop's own,
// if only for a while.
func (q *posed) borrowed(class models.ID) int {
	sum := 0
	for _, l := range q.snap.Loans {
		if l.ClampClassID == class && l.Count < 0 && l.UntilDate >= q.cal.Date(q.at) {
			sum -= l.Count
		}
	}
	return sum
}

// addLoans keeps clamps from work while they are lent, or not borrowed yet, or given
// back. Those on work stay there until it is over.
func (q *posed) addLoans() {
	taken := map[models.ID][]sequence.Task{}
	for _, l := range q.snap.Loans {
		from, until := q.stretch(l.FromDate, l.UntilDate)
		if l.Count > 0 {
			q.keepClamps(taken, &l, fmt.Sprintf("loan:%d", l.ID), l.Count, from, until)
		} else if l.UntilDate >= q.cal.Date(q.at) {
			q.keepClamps(taken, &l, fmt.Sprintf("loan:%d:before", l.ID), -l.Count, 0, from)
			q.keepClamps(taken, &l, fmt.Sprintf("loan:%d:after", l.ID), -l.Count, until, q.Horizon)
		}
	}
}

func (q *posed) keepClamps(taken map[models.ID][]sequence.Task, l *models.Loan, name string, count, from, until int) {
	class := q.snap.Clamp(l.ClampClassID)
	if class == nil || from >= until {
		return
	}
	there := class.Count + q.borrowed(class.ID) - q.clampsFixed(class.ID, from)
	for _, t := range taken[class.ID] {
		if *t.Start < until && from < *t.Start+t.Unattended {
			there -= t.Uses[0].Amount
		}
	}
	if there = max(0, there); there < count {
		q.note("%[1]d of %[2]s are to be away %[3]s, but only %[4]d can be spared from work: the plan reckons with those.", count, class.Name, daysWords(l), there)
		count = there
	}
	before := len(q.Tasks)
	q.keepTaken(name, clampName(class.ID), count, from, until)
	taken[class.ID] = append(taken[class.ID], q.Tasks[before:]...)
}

// daysWords says the days of a loan.
func daysWords(l *models.Loan) phrase.Phrase {
	from, err := time.Parse(time.DateOnly, l.FromDate)
	until, bad := time.Parse(time.DateOnly, l.UntilDate)
	if err != nil || bad != nil {
		return phrase.Name(l.FromDate)
	}
	if from.Equal(until) {
		return phrase.Of("on %s ## a day", phrase.ShortDate(from))
	}
	return phrase.Of("from %[1]s to %[2]s ## days", phrase.ShortDate(from), phrase.ShortDate(until))
}

// clampsFixed is how many clamps of a class steps in hand and at rest hold at a minute.
func (q *posed) clampsFixed(class models.ID, minute int) int {
	sum := 0
	for _, it := range q.items {
		if !it.fixed() || minute >= q.doneBy(it)+it.rest(q) && minute > 0 {
			continue
		}
		for _, c := range it.clamps {
			if c.ClampClassID == class {
				sum += c.Count
			}
		}
	}
	return sum
}
