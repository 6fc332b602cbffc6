package models

import (
	"time"

	"faceside/models/phrase"
)

// besideOthers refuses a start at which steps pinned already, together with this
// one, need more places at a station, people or clamps than there are.
func (p *pinner) besideOthers() error {
	others := p.others()
	for _, other := range others {
		if until, taken := p.stationTaken(other, others); taken {
			return p.refuse("time", "%s is kept until %s by “%s”, which is pinned to %s", p.snap.Station(p.step.StationID).Name, p.clock(until), other.Name, p.clock(*other.PinnedAt))
		}
	}
	if err := p.handsThere(others); err != nil {
		return err
	}
	return p.clampsThere(others)
}

// others lists the other pinned steps of open commissions.
func (p *pinner) others() []*Step {
	var all []*Step
	for i := range p.snap.Steps {
		st := &p.snap.Steps[i]
		c := p.snap.Commission(st.CommissionID)
		if at, ok := st.Pinned(); ok && st.ID != p.step.ID && c.State == Open && !at.Before(p.snap.At.Truncate(time.Minute)) {
			all = append(all, st)
		}
	}
	return all
}

// attends is the time from a step's start to the end of its attended part.
func (p *pinner) attends(st *Step, at time.Time) Opening {
	return Opening{at, p.hours.done(at, st.Attended)}
}

// mine is the attended time of the step that is to be pinned.
func (p *pinner) mine() Opening { return p.attends(p.step, p.at) }

// stationTaken tells whether another pinned step leaves this one no place at its
// station, and until when. Where they want the station set differently, the
// later one waits for its setting too.
func (p *pinner) stationTaken(other *Step, others []*Step) (time.Time, bool) {
	station := p.snap.Station(p.step.StationID)
	if station == nil || other.StationID != station.ID {
		return time.Time{}, false
	}
	mine, theirs := p.mine(), p.attends(other, *other.PinnedAt)
	if p.step.SetupID == nil && other.SetupID == nil {
		if !mine.overlaps(theirs) || p.together(others, func(o *Step) int {
			if o.StationID == station.ID {
				return 1
			}
			return 0
		})+1 <= station.Places {
			return time.Time{}, false
		}
		return theirs.To, true
	}
	first, second := &mine, &theirs
	if theirs.From.Before(mine.From) {
		first, second = second, first
	}
	first.To = p.hours.done(first.To, p.setupBetween(station, other))
	return theirs.To, first.overlaps(*second)
}

// setupBetween is the minutes it takes to set the station from one step's setup
// to the other's.
func (p *pinner) setupBetween(station *Station, other *Step) int {
	if p.step.SetupID == nil || other.SetupID == nil || *p.step.SetupID == *other.SetupID {
		return 0
	}
	return station.SettingMinutes(p.snap.Setup(*p.step.SetupID), p.snap.Setup(*other.SetupID))
}

// together returns the most that other pinned steps need at one moment of this
// step's attended time.
func (p *pinner) together(others []*Step, needs func(*Step) int) int {
	return p.most(others, p.hours.work(p.at, p.step.Attended), needs, func(o *Step) []Opening {
		return p.hours.work(*o.PinnedAt, o.Attended)
	})
}

// most returns the most that others need at one moment of some stretches, each
// in its own. The most is reached where one of them begins.
func (p *pinner) most(others []*Step, mine []Opening, needs func(*Step) int, of func(*Step) []Opening) int {
	held := map[*Step][]Opening{}
	moments := make([]time.Time, 0, len(mine))
	for _, s := range mine {
		moments = append(moments, s.From)
	}
	for _, o := range others {
		if needs(o) == 0 {
			continue
		}
		held[o] = of(o)
		for _, s := range held[o] {
			moments = append(moments, s.From)
		}
	}
	most := 0
	for _, t := range moments {
		if !within(t, mine) {
			continue
		}
		sum := 0
		for o, all := range held {
			if within(t, all) {
				sum += needs(o)
			}
		}
		most = max(most, sum)
	}
	return most
}

func within(t time.Time, all []Opening) bool {
	for _, s := range all {
		if !t.Before(s.From) && t.Before(s.To) {
			return true
		}
	}
	return false
}

// handsThere refuses where fewer people are there that day than this step and
// those pinned beside it take. A step for more people than work here is planned
// with those there are.
func (p *pinner) handsThere(others []*Step) error {
	crew, there := 0, 0
	for _, person := range p.snap.People {
		if person.Active {
			crew++
			if p.hours.There(person.ID, p.at) {
				there++
			}
		}
	}
	if crew == 0 { // planned as for one
		crew, there = 1, 1
	}
	own := min(p.step.Hands, crew)
	need := own + p.together(others, func(o *Step) int { return min(o.Hands, crew) })
	switch {
	case need <= there:
		return nil
	case need == own:
		return p.refuse("date", "it takes %[1]s and %[2]s there that day", people(need), areThere(there))
	}
	return p.refuse("time", "with what is pinned beside it, it takes %[1]s and %[2]s there", people(need), areThere(there))
}

func people(n int) phrase.Phrase {
	if n == 1 {
		return phrase.Of("1 person")
	}
	return phrase.Of("%d people", n)
}

func areThere(n int) phrase.Phrase {
	switch n {
	case 0:
		return phrase.Of("nobody is")
	case 1:
		return phrase.Of("1 is")
	}
	return phrase.Of("%d are", n)
}

// clampsThere refuses where this step and those pinned beside it hold more
// clamps than the rack has.
func (p *pinner) clampsThere(others []*Step) error {
	holds := func(st *Step, at time.Time) []Opening {
		return []Opening{{at, p.attends(st, at).To.Add(time.Duration(st.Unattended) * time.Minute)}}
	}
	for _, use := range p.snap.ClampsOf(p.step.ID) {
		class := p.snap.Clamp(use.ClampClassID)
		if class == nil {
			continue
		}
		beside := p.most(others, holds(p.step, p.at), func(o *Step) int {
			for _, u := range p.snap.ClampsOf(o.ID) {
				if u.ClampClassID == class.ID {
					return u.Count
				}
			}
			return 0
		}, func(o *Step) []Opening { return holds(o, *o.PinnedAt) })
		if beside > 0 && use.Count+beside > class.Count {
			return p.refuse("time", "with what is pinned beside it, it takes %d of %s and %d are there", use.Count+beside, class.Name, class.Count)
		}
	}
	return nil
}
