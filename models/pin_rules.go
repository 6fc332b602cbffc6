package models

import (
	"fmt"
	"time"

	"faceside/models/phrase"
)

// pinner asks whether a step may be pinned to a time.
type pinner struct {
	snap  *Snapshot
	hours openHours
	step  *Step
	at    time.Time
	day   bool // any time of that day will do
}

// refuse says why not; field is "date" or "time", whichever would have to change.
func (p *pinner) refuse(field, format string, args ...any) error {
	value, to := p.at.In(p.hours.Zone).Format("2006-01-02 15:04"), p.clock(p.at)
	if p.day {
		field, value = "date", p.hours.Date(p.at)
		to = dayWords(value)
	}
	return invalid(field, value, "“%s” cannot be pinned to %s: %s.", p.step.Name, to, phrase.Of(format, args...))
}

// clock is a time as people at the bench say it.
func (p *pinner) clock(t time.Time) phrase.Phrase { return clockTime(t, p.snap.At, p.hours.Zone) }

// inTime refuses what is past, and what nobody plans for yet.
func (p *pinner) inTime() error {
	switch {
	case p.at.Before(p.snap.At.Truncate(time.Minute)):
		return p.refuse("date", "that is past")
	case p.at.After(p.snap.At.AddDate(1, 0, 0)):
		return p.refuse("date", "that is more than a year ahead")
	}
	return nil
}

// inHours refuses a start while the shop is closed, and one from which a step
// that must not be interrupted would run into a break.
func (p *pinner) inHours() error {
	if off, ok := p.hours.DayOff(p.hours.Date(p.at)); ok {
		return p.refuse("date", "that is a day off%s", colon(off.Reason))
	}
	o, open := p.hours.opening(p.at)
	if !open {
		if all := p.openings(); len(all) > 0 {
			return p.refuse("time", "the shop is closed then; that day it is open %s", phrase.List(all))
		}
		return p.refuse("time", "the shop is closed then")
	}
	attended := time.Duration(p.step.Attended) * time.Minute
	if p.step.Interruptible || attended > p.hours.Longest() || !p.at.Add(attended).After(o.To) {
		return nil
	}
	return p.refuse("time", "it takes %d min without a break and the shop closes at %s", p.step.Attended, p.clock(o.To))
}

// openings are when the shop is open on the day, "8:00–12:00".
func (p *pinner) openings() []string {
	var all []string
	for _, o := range p.hours.Day(p.at, 0) {
		all = append(all, fmt.Sprintf("%s–%s", o.From.In(p.hours.Zone).Format("15:04"), o.To.In(p.hours.Zone).Format("15:04")))
	}
	return all
}

// afterOthers refuses a start before what comes before the step can be over, and
// one after the greatest lag behind something that is over.
func (p *pinner) afterOthers() error {
	if at, l := p.earliest(p.step, map[ID]time.Time{}); at.After(p.at) {
		return p.refuse("time", "it can begin %s at the earliest, after “%s”", p.clock(at), p.snap.Step(l.BeforeID).Name)
	}
	if by, l := p.snap.StartBy(p.step.ID); by != nil && p.at.After(*by) && !by.Before(p.snap.At) {
		return p.refuse("time", "it must begin by %s, after “%s”%s", p.clock(*by), p.snap.Step(l.BeforeID).Name, colon(l.Why))
	}
	return nil
}

// beforeOthers refuses a start so late that a pinned step after it could not
// begin where it is pinned.
func (p *pinner) beforeOthers() error {
	free, pinned := map[ID]time.Time{}, map[ID]time.Time{}
	was := p.step.PinnedAt
	defer func() { p.step.PinnedAt = was }()
	for _, other := range p.snap.StepsOf(p.step.CommissionID) {
		at, ok := other.Pinned()
		if !ok || other.ID == p.step.ID {
			continue
		}
		p.step.PinnedAt = nil
		before, _ := p.earliest(other, free)
		p.step.PinnedAt = &p.at
		if then, _ := p.earliest(other, pinned); then.After(at) && !before.After(at) {
			return p.refuse("time", "“%s” after it is pinned to %s and could then begin %s at the earliest", other.Name, p.clock(at), p.clock(then))
		}
	}
	return nil
}

// earliest returns when a step can begin at the earliest if all that comes
// before it takes as long as estimated and nothing else is in its way, and the
// link that says so; now and nil where nothing holds it. known keeps what was
// found already. O(links before the step).
func (p *pinner) earliest(st *Step, known map[ID]time.Time) (time.Time, *Link) {
	at := p.snap.At
	var why *Link
	for _, l := range p.snap.Before(st.ID) {
		before := p.snap.Step(l.BeforeID)
		if before == nil {
			continue
		}
		if after := p.point(before, l.From, known).Add(time.Duration(l.MinLag) * time.Minute); after.After(at) {
			at, why = after, &l
		}
	}
	return at, why
}

// point returns the time of a point of a step, as the journal says or else at
// the earliest.
func (p *pinner) point(st *Step, from string, known map[ID]time.Time) time.Time {
	if when, ok, guess := st.point(from, p.snap.At); ok && !guess {
		return when
	}
	start := p.starts(st, known)
	if from == FromStart {
		return start
	}
	done := p.hours.done(start, max(0, st.Attended-st.Worked/60))
	if st.State == InHand {
		done, _, _ = st.point(FromAttended, p.snap.At)
	}
	if from == FromAttended {
		return done
	}
	return done.Add(time.Duration(st.Unattended) * time.Minute)
}

// starts returns when work on a step that is not finished begins or goes on.
func (p *pinner) starts(st *Step, known map[ID]time.Time) time.Time {
	if st.State != Todo {
		return p.snap.At
	}
	at, ok := known[st.ID]
	if !ok {
		at, _ = p.earliest(st, known)
		if pin, pinned := st.Pinned(); pinned && pin.After(at) {
			at = pin
		}
		known[st.ID] = at
	}
	return at
}
