package models

import (
	"time"

	"faceside/models/phrase"
)

// Standing is where a step stands at a time, by the journal, the links and the clock.
type Standing string

// Where a step can stand.
const (
	StandsWaiting   Standing = "waiting" // something before it is not done
	StandsReady     Standing = "ready"
	StandsInHand    Standing = "in hand"
	StandsPutDown   Standing = "put down"
	StandsInClamps  Standing = "in clamps"
	StandsDrying    Standing = "drying"
	StandsResting   Standing = "resting"
	StandsDone      Standing = "done"
	StandsInTrouble Standing = "in trouble"
)

// Points of a step that a link measures from.
const (
	FromEnd      = "end"      // its unattended time included
	FromStart    = "start"    // its first start
	FromAttended = "attended" // the end of its attended part
)

// Waiting is one reason why a step cannot start yet.
type Waiting struct {
	Link     Link
	Step     *Step      // the step it waits for
	Until    *time.Time // when the wait is over, where the clock alone ends it
	Sentence phrase.Phrase
}

// Standing says where a step stands at a time not before s.At. A step whose
// rest is over by the clock is done. "" if the snapshot has no such step. It
// takes time linear in the links before the step.
func (s *Snapshot) Standing(step ID, at time.Time) Standing {
	st := s.Step(step)
	if st == nil {
		return ""
	}
	switch st.State {
	case InHand:
		return StandsInHand
	case PutDown:
		return StandsPutDown
	case InTrouble:
		return StandsInTrouble
	case Done:
		return StandsDone
	case AtRest:
		if _, over := st.Ended(at); over {
			return StandsDone
		}
		return resting[st.Rest]
	}
	if len(s.WaitsFor(step, at)) > 0 {
		return StandsWaiting
	}
	return StandsReady
}

// resting says how a step stands by what its rest is.
var resting = map[string]Standing{"in clamps": StandsInClamps, "drying": StandsDrying, "resting": StandsResting}

// Ended returns when a step ended, its unattended time included, if it has by
// the given time. Taken out early, it ended then; left longer, it ended when
// its rest was over.
func (s *Step) Ended(at time.Time) (time.Time, bool) {
	switch {
	case s.State == Done && s.DoneAt != nil && (s.RestEndsAt == nil || s.DoneAt.Before(*s.RestEndsAt)):
		return *s.DoneAt, true
	case s.RestEndsAt != nil && (s.State == Done || s.State == AtRest && !s.RestEndsAt.After(at)):
		return *s.RestEndsAt, true
	}
	return time.Time{}, false
}

// point returns the time of the point a link measures from, if the journal and
// the clock know it. It may lie ahead: the end of a rest that runs, or, while
// the step is in hand, the end by its estimate (guess).
func (s *Step) point(from string, at time.Time) (when time.Time, known, guess bool) {
	switch {
	case from == FromStart && s.StartedAt != nil:
		return *s.StartedAt, true, false
	case from == FromAttended && s.FinishedAt != nil:
		return *s.FinishedAt, true, false
	case from == FromEnd && s.State == AtRest && s.RestEndsAt != nil:
		return *s.RestEndsAt, true, false
	case from == FromEnd && s.State == Done:
		when, known = s.Ended(at)
		return when, known, false
	case from == FromStart || s.State != InHand || s.TakenAt == nil:
		return time.Time{}, false, false
	}
	when = s.TakenAt.Add(time.Duration(s.Attended)*time.Minute - time.Duration(s.Worked)*time.Second)
	if when.Before(at) {
		when = at
	}
	if from == FromEnd {
		when = when.Add(time.Duration(s.Unattended) * time.Minute)
	}
	return when, true, true
}

// WaitsFor says what a step still waits for at a time; empty if its links let
// it start. It takes time linear in the links before the step.
func (s *Snapshot) WaitsFor(step ID, at time.Time) []Waiting {
	var all []Waiting
	for _, l := range s.Before(step) {
		before := s.Step(l.BeforeID)
		if before == nil {
			continue
		}
		when, known, guess := before.point(l.From, at)
		if guess && l.MinLag >= 0 {
			known = false // it must really have ended first
		}
		w := Waiting{Link: l, Step: before}
		if known {
			until := when.Add(time.Duration(l.MinLag) * time.Minute)
			if !until.After(at) {
				continue
			}
			if !guess {
				w.Until = &until
			}
		}
		w.Sentence = s.waitSentence(w, at)
		all = append(all, w)
	}
	return all
}

// waitSentence says what is waited for.
func (s *Snapshot) waitSentence(w Waiting, at time.Time) phrase.Phrase {
	name := phrase.Of("“%s”", w.Step.Name)
	if w.Until != nil {
		until := clockTime(*w.Until, at, s.location())
		ended, over := w.Step.Ended(at)
		switch {
		case over && w.Step.RestEndsAt != nil && w.Link.From == FromEnd:
			return phrase.Of("It waits until %s: %s rested until %s.", until, name, clockTime(ended, at, s.location()))
		case !over && w.Step.State == AtRest && w.Link.From == FromEnd:
			return phrase.Of("It waits until %s: %s is %s.", until, name, restWords[w.Step.Rest].Of())
		}
		return phrase.Of("It waits until %s, a while after %s.", until, name)
	}
	switch w.Step.State {
	case InHand:
		if p := s.Person(idOf(w.Step.PersonID)); p != nil {
			return phrase.Of("It waits for %s, which %s has in hand.", name, p.Name)
		}
		return phrase.Of("It waits for %s, which is in hand.", name)
	case PutDown:
		return phrase.Of("It waits for %s, which was put down.", name)
	case InTrouble:
		return phrase.Of("It waits for %s, which is in trouble.", name)
	}
	return phrase.Of("It waits for %s.", name)
}

// StartBy returns the latest start that the greatest lags after steps already
// passed allow a step, and the link that says so; nil where none does. It may
// lie in the past: then a window was missed.
func (s *Snapshot) StartBy(step ID) (*time.Time, *Link) {
	var by *time.Time
	var why *Link
	for _, l := range s.Before(step) {
		before := s.Step(l.BeforeID)
		if before == nil || l.MaxLag == nil {
			continue
		}
		when, known, guess := before.point(l.From, s.At)
		if !known || guess {
			continue
		}
		latest := when.Add(time.Duration(*l.MaxLag) * time.Minute)
		if by == nil || latest.Before(*by) {
			by, why = &latest, &l
		}
	}
	return by, why
}

// location is the shop's time zone, UTC where it has none that is known.
func (s *Snapshot) location() *time.Location {
	loc, err := s.Shop.Location()
	if err != nil {
		return time.UTC
	}
	return loc
}

// clockTime is a time as people at a bench say it: 9:42, or Tue 9:42, or
// 3 Mar 9:42 where a weekday alone would not do.
func clockTime(at, now time.Time, zone *time.Location) phrase.Phrase {
	at, now = at.In(zone), now.In(zone)
	days := daysBetween(now, at)
	switch {
	case days == 0:
		return phrase.Name(phrase.Clock(at))
	case -7 < days && days < 7:
		return phrase.Of("%s %s", phrase.ShortWeekday(at.Weekday()), phrase.Clock(at))
	}
	return phrase.Of("%s %s", phrase.ShortDay(at), phrase.Clock(at))
}

// daysBetween counts the midnights between two times, by their own calendars.
func daysBetween(from, to time.Time) int {
	day := func(t time.Time) time.Time { return time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, time.UTC) }
	return int(day(to).Sub(day(from)) / (24 * time.Hour))
}
