package planner

import (
	"strings"

	"faceside/models"
	"faceside/models/phrase"
)

// settle makes sure that what is so already, and what no shop of this size
// could ever do, cannot keep the problem from having a plan: it says where
// steps in hand and at rest are, and relaxes what reality does not keep, with
// a sentence in the notes for each.
func (q *posed) settle() {
	q.settleHands()
	q.settlePlaces()
	q.settleClamps()
	q.settleAir()
	opens := q.line.opens(0)
	for _, it := range q.items {
		if it.stand == held {
			it.start, it.cut = opens, true // it has begun; it goes on when the shop is open
		}
	}
	q.layRuns(opens)
	for _, it := range q.items {
		if it.fixed() {
			continue
		}
		q.settleLength(it)
		q.settleTrouble(it)
	}
}

// settleHands gives each step in hand the people that there are.
func (q *posed) settleHands() {
	free := q.hands
	runs := map[string]int{} // the hands that a run has
	var short []phrase.Phrase
	for _, it := range q.items {
		if has, counted := runs[it.Run]; counted && it.stand == held {
			it.hands = min(it.hands, has)
			continue
		}
		if gone := q.gone(it); gone != nil {
			it.hands-- // nobody's who works here
			q.note("%s no longer works in the shop but has %s in hand: finish it or put it down.", gone.Name, q.named(it.Step))
		}
		if it.stand == held && free < it.hands {
			short = append(short, q.named(it.Step))
			it.hands = free
		}
		if it.stand == held {
			free -= it.hands
			if it.Run != "" {
				runs[it.Run] = it.hands
			}
		} else if it.hands > q.hands {
			q.noteOn(it.Step, "%s takes %s and the shop has %d: it is planned with %d.", quoted(it.Step), peopleWords(it.hands), q.hands, q.hands)
			it.hands = q.hands
		}
	}
	if len(short) > 0 {
		q.note("More is in hand than %s can hold: %s counted without hands.", peopleWords(q.hands), areWords(short))
	}
}

// gone returns who has a step in hand but does not work here any more; nil if nobody.
func (q *posed) gone(it *item) *models.Person {
	if it.stand != held || it.PersonID == nil || len(q.crew) == 0 {
		return nil
	}
	if p := q.snap.Person(*it.PersonID); p != nil && (!p.Active || q.cal.Gone(p.ID, q.cal.Date(q.at))) {
		return p
	}
	return nil
}

// settlePlaces lets the steps in hand share stations that have not enough places.
func (q *posed) settlePlaces() {
	taken, setups := map[models.ID]int{}, map[models.ID]bool{}
	runs := map[string]*item{} // one step of each run, for all of it
	for _, it := range q.items {
		setups[it.StationID] = setups[it.StationID] || it.setup
	}
	for _, it := range q.items {
		s := q.snap.Station(it.StationID)
		if it.stand != held || s == nil {
			continue
		}
		if first := runs[it.Run]; first != nil {
			it.station, it.setup = first.station, first.setup
			continue
		}
		if it.Run != "" {
			runs[it.Run] = it
		}
		places := max(1, s.Places)
		if setups[s.ID] {
			places = 1
		}
		if taken[s.ID]++; taken[s.ID] > places {
			it.station, it.setup = false, false
			q.note("More is in hand at %s than it has places: %s is counted beside it.", stationWords(s), q.named(it.Step))
		}
	}
}

// settleClamps caps what is held, and what one step asks for, at what the rack has.
func (q *posed) settleClamps() {
	free := map[models.ID]int{}
	for _, c := range q.snap.Clamps {
		free[c.ID] = c.Count
	}
	for _, it := range q.items {
		kept := it.clamps[:0]
		for _, c := range it.clamps {
			class := q.snap.Clamp(c.ClampClassID)
			if class == nil || c.Count <= 0 {
				continue
			}
			has := class.Count + q.borrowed(class.ID)
			if it.fixed() {
				has = free[c.ClampClassID]
			}
			if c.Count > has {
				q.noteOn(it.Step, "%s takes %d of %s and only %d are there: it is planned with those.", quoted(it.Step), c.Count, class.Name, has)
				c.Count = has
			}
			if it.fixed() {
				free[c.ClampClassID] -= c.Count
			}
			if c.Count > 0 {
				kept = append(kept, c)
			}
		}
		it.clamps = kept
	}
}

// settleAir lets steps in hand raise dust beside something wet, if they do.
func (q *posed) settleAir() {
	wet := map[models.ID]*item{}
	for _, it := range q.items {
		if kind, zone, ok := q.airOf(it); ok && it.fixed() && kind == "wet" {
			wet[zone] = it
		}
	}
	for _, it := range q.items {
		kind, zone, ok := q.airOf(it)
		if ok && it.stand == held && kind == "dusty" && wet[zone] != nil {
			it.zone = false
			q.note("%s raises dust in the air where %s is wet: put it down or cover the finish.", q.named(it.Step), q.named(wet[zone].Step))
		}
	}
}

// settleLength lets a step be cut that no opening of the shop could hold whole.
func (q *posed) settleLength(it *item) {
	if longest := q.line.longest(); !it.cut && it.left > longest {
		it.cut = true
		q.noteOn(it.Step, "%s takes %s without a break and the shop is never open longer than %s at a stretch: it is planned across a break.",
			quoted(it.Step), minuteWords(it.left), minuteWords(longest))
	}
}

// settleTrouble puts steps in trouble, and those at a station out of order, off
// to the next working day.
func (q *posed) settleTrouble(it *item) {
	s := q.snap.Station(it.StationID)
	trouble, down := it.State == models.InTrouble, s != nil && s.Down
	if !trouble && !down {
		return
	}
	day, ok := q.cal.nextDay(q.at)
	if !ok {
		return
	}
	expected, comes := q.expected(it.Step)
	if comes && expected.After(day) {
		day = expected
	}
	it.release = max(it.release, q.line.minuteUp(day))
	when := clockWords(day, q.at, q.cal.Zone)
	switch {
	case trouble && comes:
		q.noteOn(it.Step, "%s waits for what is missing: it is planned from %s on, when that is expected.", quoted(it.Step), when)
	case trouble && it.Trouble != "":
		q.noteOn(it.Step, "%s is in trouble (%s): it is planned from %s on.", quoted(it.Step), strings.TrimRight(it.Trouble, "."), when)
	case trouble:
		q.noteOn(it.Step, "%s is in trouble: it is planned from %s on.", quoted(it.Step), when)
	default:
		q.noteOnce("%s is out of order: the steps there are planned from %s on.", stationWords(s), when)
	}
}

// noteOnce is note for a sentence that may be there already.
func (q *posed) noteOnce(format string, args ...any) {
	before := len(q.notes)
	q.note(format, args...)
	for _, n := range q.notes[:before] {
		if n.Equal(q.notes[before]) {
			q.notes = q.notes[:before]
			return
		}
	}
}

// stationWords is a station as sentences name it.
func stationWords(s *models.Station) phrase.Phrase { return phrase.Of("“%s”", s.Name) }

func areWords(names []phrase.Phrase) phrase.Phrase {
	if len(names) == 1 {
		return phrase.Of("%s is", names[0])
	}
	return phrase.Of("%s are", phrase.List(names))
}
