package handlers

import (
	"slices"
	"strings"

	"faceside/models"
	"faceside/models/phrase"
	"faceside/models/planner"
	"faceside/views"
)

// What can become of a promise; the names of the commissions follow.
const (
	noLongerInTime = phrase.Key("No longer in time: %s.")
	inTimeAgain    = phrase.Key("In time again: %s.")
	onHold         = phrase.Key("On hold, and so without an end: %s.")
	goesOn         = phrase.Key("Goes on, and is in time: %s.")
	goesOnLate     = phrase.Key("Goes on, but not in time: %s.")
	dayKept        = phrase.Key("In time for the other day too: %s.")
	dayMissed      = phrase.Key("Not in time for the other day either: %s.")
	firstPlanned   = phrase.Key("Not planned yet today, and in time then: %s.")
	plannedLate    = phrase.Key("Not planned yet today, and late then: %s.")
	lessSafe       = phrase.Key("Less safe than today: %s.")
	safer          = phrase.Key("Safer than today: %s.")
)

// outcomes are the names of commissions by what becomes of their promises.
type outcomes map[phrase.Key][]string

func (o outcomes) add(key phrase.Key, name string) {
	if key != "" {
		o[key] = append(o[key], name)
	}
}

// verdictIf says in sentences what becomes of so many promises.
func (r *room) verdictIf(becomes outcomes, promises int) string {
	if len(becomes) == 0 {
		return r.say.say("Each promise stands as it does today.")
	}
	var all []string
	told := 0
	for _, key := range []phrase.Key{noLongerInTime, inTimeAgain, onHold, goesOn, goesOnLate, firstPlanned, plannedLate, dayKept, dayMissed, lessSafe, safer} {
		if names := becomes[key]; len(names) > 0 {
			all = append(all, r.say.tell(key.Of(strings.Join(names, ", "))))
			told += len(names)
		}
	}
	if told < promises {
		all = append(all, r.say.say("Every other promise stands as it does today."))
	}
	return strings.Join(all, " ")
}

// turnOf is what becomes of a promise whose commission moves, "" where it stands as it
// does today.
func turnOf(p *planner.PromiseIf, row *views.PromiseIf) phrase.Key {
	now, then := p.Now, p.Then
	switch {
	case p.State == models.Held:
		return onHold
	case then.Ends.IsZero():
		return ""
	case p.Was == models.Held && then.Late:
		return goesOnLate
	case p.Was == models.Held:
		return goesOn
	case now.Ends.IsZero() && then.Late:
		return plannedLate
	case now.Ends.IsZero():
		return firstPlanned
	case then.Late && !now.Late:
		return noLongerInTime
	case now.Late && !then.Late:
		return inTimeAgain
	case p.PromisedOn != p.WasPromised && then.Late:
		return dayMissed
	case p.PromisedOn != p.WasPromised:
		return dayKept
	case danger(row.Mark) > danger(row.NowMark):
		return lessSafe
	case danger(row.Mark) < danger(row.NowMark):
		return safer
	}
	return ""
}

// danger grows with that in which a promise is by its mark.
func danger(mark string) int { return slices.Index([]string{"in-time", "tight", "late"}, mark) }
