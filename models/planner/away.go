package planner

import (
	"faceside/models"
	"faceside/models/sequence"
)

// addAway keeps the hands of people who are off from work, with one fixed task
// for each opening of such a day, and of those who are not there while others work
// hours of their own. Where a step in hand runs into it, reality is followed: whoever
// has it in hand is counted as there until it is done.
func (q *posed) addAway() {
	last := q.line.windows[len(q.line.windows)-1][1]
	for i := 0; ; i++ {
		noon := q.cal.Noon(q.line.origin, i)
		if q.line.minute(noon) > last {
			return
		}
		date := q.cal.Date(noon)
		whole := q.cal.Whole(noon, 0)
		if away := q.cal.Off(date); len(away) > 0 {
			for k, o := range whole {
				q.keepAway(away, date, k, o)
			}
		}
		for k, o := range q.cal.Own(noon, 0) {
			q.keepAway(q.others(o.People, date), date, len(whole)+k, o.Opening)
		}
	}
}

// others are those who are there on a day, but not among some people.
func (q *posed) others(people map[models.ID]bool, date string) map[models.ID]bool {
	others := map[models.ID]bool{}
	for _, p := range q.crew {
		if !people[p.ID] && q.cal.Here(p.ID, date) {
			others[p.ID] = true
		}
	}
	return others
}

// keepAway adds the tasks of one opening. Steps in hand keep their hands.
func (q *posed) keepAway(away map[models.ID]bool, date string, opening int, o models.Opening) {
	w := sequence.Window{max(0, q.line.minute(o.From)), q.line.minute(o.To)}
	if w[0] >= w[1] {
		return
	}
	gone := q.notHere(date)
	for _, p := range q.crew {
		if !away[p.ID] {
			continue
		}
		start := w[0]
		if it := q.inHandOf(p.ID); it != nil && q.doneBy(it) > start {
			start = q.doneBy(it)
			if q.cal.Off(date)[p.ID] {
				q.noteOnce("%s is off on %s but has %s in hand: the plan counts %s as there until it is done.", p.Name, date, q.named(it.Step), p.Name)
			}
		}
		gone++
		for full := q.tooMany(start, gone); full >= 0; full = q.tooMany(start, gone) {
			start = q.firstDone(full)
		}
		if start >= w[1] {
			continue
		}
		from := start
		t := sequence.Task{ID: awayName(p.ID, date, opening), Attended: w[1] - start, Start: &from,
			Uses: []sequence.Use{{Resource: handsName, Amount: 1, During: sequence.Attended}}}
		if q.askedFor[p.ID] {
			t.Uses = append(t.Uses, useOf(p.ID))
		}
		q.Tasks = append(q.Tasks, t)
	}
}

// inHandOf returns the step that a person has in hand, of a run the last one;
// nil if none.
func (q *posed) inHandOf(person models.ID) *item {
	var last *item
	for _, it := range q.items {
		if it.stand == held && it.PersonID != nil && *it.PersonID == person && (last == nil || q.doneBy(it) > q.doneBy(last)) {
			last = it
		}
	}
	return last
}

// doneBy returns when a step in hand is done by its estimate.
func (q *posed) doneBy(it *item) int { return q.line.forward(it.start, it.left) }

// handsInHand returns the people that steps in hand still take at a minute.
func (q *posed) handsInHand(minute int) int {
	sum := 0
	for _, it := range q.items {
		if it.stand == held && it.start <= minute && minute < q.doneBy(it) {
			sum += it.hands
		}
	}
	return sum
}

// tooMany returns the first minute from one on at which steps in hand and so many
// people who are gone come to more than work here; -1 if there is none. A run in
// hand may take a second pair of hands for a later step of it.
func (q *posed) tooMany(from, gone int) int {
	first := -1
	for _, it := range q.items {
		at := max(from, it.start)
		if it.stand == held && at < q.doneBy(it) && q.handsInHand(at)+gone > q.hands && (first < 0 || at < first) {
			first = at
		}
	}
	return first
}

// firstDone returns when the first of the steps in hand after a minute is done.
func (q *posed) firstDone(minute int) int {
	first := -1
	for _, it := range q.items {
		if end := q.doneBy(it); it.stand == held && end > minute && (first < 0 || end < first) {
			first = end
		}
	}
	return max(first, minute)
}
