package planner

import (
	"slices"

	"faceside/models/phrase"
	"faceside/models/sequence"
)

// conflictNamed is how many of those that cannot be placed together are named.
const conflictNamed = 5

// noPlan says that not even loosening helped: which steps cannot be placed together, and
// what they want alike.
func (q *posed) noPlan(plan *sequence.Plan) error {
	var names []phrase.Phrase
	for _, id := range plan.Conflict {
		if id != originName {
			names = append(names, q.taskWords(id, ""))
		}
	}
	if len(names) == 0 {
		return noOrder(phrase.Of("No order was found that keeps all links, hours, stations and clamps."))
	}
	if len(names) == 1 {
		return noOrder(phrase.Of("%s has no place in the shop's hours with what it needs.", names[0]))
	}
	said := phrase.List(names)
	if len(names) > conflictNamed {
		said = phrase.Of("%[1]s and %[2]d more", phrase.Commas(names[:conflictNamed]), len(names)-conflictNamed)
	}
	sentence := phrase.Of("These steps cannot be placed together: %s.", said)
	if shared := q.shared(plan.Conflict); len(shared) > 0 {
		sentence = sentence.Then(phrase.Of("More than one of them wants %s.", phrase.List(shared)))
	}
	if plan.Irreducible {
		sentence = sentence.Then(phrase.Of("Without any one of them the others have a place."))
	}
	return noOrder(sentence)
}

// shared names what two or more of some tasks use.
func (q *posed) shared(tasks []string) []phrase.Phrase {
	users := map[string]int{}
	for i := range q.Tasks {
		t := &q.Tasks[i]
		if !slices.Contains(tasks, t.ID) {
			continue
		}
		uses := map[string]bool{}
		for _, u := range t.Uses {
			uses[u.Resource] = true
		}
		if t.Setup != nil {
			uses[t.Setup.Resource] = true
		}
		if t.Zone != nil {
			uses[t.Zone.Name] = true
		}
		for r := range uses {
			users[r]++
		}
	}
	var names []phrase.Phrase
	for _, r := range q.Resources {
		if users[r.ID] > 1 {
			names = append(names, q.resourceWords(r.ID))
		}
	}
	for _, z := range q.Zones {
		if users[z] > 1 {
			names = append(names, phrase.Of("the air of %s", q.zoneNamed(z)))
		}
	}
	return names
}

// resourceWords names a resource of the problem.
func (q *posed) resourceWords(resource string) phrase.Phrase {
	switch kind, id := named(resource); kind {
	case "station":
		return stationWords(q.snap.Station(id))
	case "clamps":
		return phrase.Name(q.snap.Clamp(id).Name)
	case "person":
		return phrase.Name(q.snap.Person(id).Name)
	}
	return phrase.Of("hands ## a resource")
}
