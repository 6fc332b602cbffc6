package planner

import (
	"faceside/models"
	"faceside/models/sequence"
)

// addAway keeps the hands of people who are off from work, with one fixed task
// for each opening of such a day. Where a step in hand runs into it, reality is
// followed: whoever has it in hand is counted as present.
func (q *posed) addAway() {
	last := q.line.windows[len(q.line.windows)-1][1]
	for i := 0; ; i++ {
		day := q.cal.day(q.line.origin, i)
		noon := q.cal.noon(q.line.origin, i)
		if q.line.minute(noon) > last {
			return
		}
		away := q.cal.away[noon.Format(dateLayout)]
		if len(away) == 0 {
			continue
		}
		for k, o := range day {
			from, to := max(0, q.line.minute(o.from)), q.line.minute(o.to)
			if from < to {
				q.keepAway(away, noon.Format(dateLayout), k, sequence.Window{from, to})
			}
		}
	}
}

// keepAway adds the tasks of one opening, as many as leave the steps in hand
// their hands.
func (q *posed) keepAway(away map[models.ID]bool, date string, opening int, w sequence.Window) {
	busy, holds := 0, map[models.ID]*item{}
	for _, it := range q.items {
		if it.stand == held && it.start < w[1] && q.line.forward(it.start, it.left) > w[0] {
			busy += it.hands
			if it.PersonID != nil {
				holds[*it.PersonID] = it
			}
		}
	}
	for _, p := range q.crew {
		if !away[p.ID] {
			continue
		}
		if it := holds[p.ID]; it != nil {
			q.noteOnce("%s is off on %s but has %s in hand: the plan counts %s as there until it is done.", p.Name, date, quoted(it.Step), p.Name)
			continue
		}
		if busy++; busy > q.hands {
			q.noteOnce("%s is off on %s, but what is in hand takes everybody: the plan counts %s as there until it is done.", p.Name, date, p.Name)
			continue
		}
		start := w[0]
		q.Tasks = append(q.Tasks, sequence.Task{ID: awayName(p.ID, date, opening), Attended: w[1] - w[0], Start: &start,
			Uses: []sequence.Use{{Resource: handsName, Amount: 1, During: sequence.Attended}}})
	}
}
