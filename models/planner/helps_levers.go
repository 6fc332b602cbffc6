package planner

import (
	"slices"
	"time"

	"faceside/models"
)

// candidates lists what is tried for a commission, in an order that hangs on the
// records alone.
func (h *helping) candidates() [][]models.Steer {
	var all [][]models.Steer
	for _, more := range []func() [][]models.Steer{h.evenings, h.closedDays, h.hands, h.clamps, h.together, h.glues, h.finishes, h.promises, h.raise} {
		all = append(all, more()...)
	}
	return all[:min(len(all), helpsMost)]
}

func one(c models.Steer) []models.Steer { return []models.Steer{c} }

// last is the later of when the commission ends and what it is promised for.
func (h *helping) last() time.Time { return later(h.Before.Ends, h.Before.PromisedBy) }

// workDays are the next days on which the shop is open, up to the end of the commission.
func (h *helping) workDays(most int) []time.Time {
	cal := localCalendar(h.snap)
	var days []time.Time
	for i := 0; len(days) < most && i <= reach; i++ {
		noon := cal.Noon(h.snap.At, i)
		if noon.After(h.last().Add(12 * time.Hour)) {
			break
		}
		if open := cal.Day(h.snap.At, i); len(open) > 0 && open[len(open)-1].To.After(h.snap.At) {
			days = append(days, noon)
		}
	}
	return days
}

// evenings are two hours more on one of the next days, and on all of them.
func (h *helping) evenings() [][]models.Steer {
	cal := localCalendar(h.snap)
	var all [][]models.Steer
	var every []models.Steer
	for _, noon := range h.workDays(helpsEvenings) {
		open := cal.Day(noon, 0)
		closes := open[len(open)-1].To.In(cal.Zone)
		from := closes.Hour()*60 + closes.Minute()
		if from == 0 || from+helpsEvening > 22*60 {
			continue
		}
		c := models.Steer{Kind: models.SteerHours, Date: cal.Date(noon), Opens: from, Closes: from + helpsEvening}
		all, every = append(all, one(c)), append(every, c)
	}
	if len(every) > 1 {
		all = append(all, every)
	}
	return all
}

// closedDays are the first opening of an ordinary day on the next two days on which
// the shop is not open and the shop has not taken off: a Saturday. Not a Sunday, on
// which working is not allowed in many places.
func (h *helping) closedDays() [][]models.Steer {
	cal := localCalendar(h.snap)
	var usual []models.Opening
	var all [][]models.Steer
	for i := 0; len(all) < 2 && i <= reach && cal.Noon(h.snap.At, i-1).Before(h.last()); i++ {
		noon := cal.Noon(h.snap.At, i)
		open := cal.Day(noon, 0)
		if len(open) > 0 {
			usual = open
			continue
		}
		if _, off := cal.DayOff(cal.Date(noon)); off || len(usual) == 0 || noon.Weekday() == time.Sunday {
			continue
		}
		from, to := usual[0].From.In(cal.Zone), usual[0].To.In(cal.Zone)
		all = append(all, one(models.Steer{Kind: models.SteerHours, Date: cal.Date(noon),
			Opens: from.Hour()*60 + from.Minute(), Closes: to.Hour()*60 + to.Minute()}))
	}
	return all
}

// hands are a borrowed pair of hands on the days of the commission's next glue-ups, on
// the next days, and on all of these.
func (h *helping) hands() [][]models.Steer {
	cal := localCalendar(h.snap)
	var days []string
	add := func(day string) {
		if !slices.Contains(days, day) && len(days) < 4 {
			days = append(days, day)
		}
	}
	for _, st := range h.toDo() {
		if p := h.snap.Planned(st.ID); p != nil && len(h.snap.ClampsOf(st.ID)) > 0 && len(days) < 2 {
			add(cal.Date(p.Start))
		}
	}
	next := h.workDays(3)
	for _, noon := range next {
		add(cal.Date(noon))
	}
	var all [][]models.Steer
	for _, day := range days {
		all = append(all, one(models.Steer{Kind: models.SteerHands, Name: h.helper, Date: day, Until: day}))
	}
	if len(next) > 1 {
		all = append(all, one(models.Steer{Kind: models.SteerHands, Name: h.helper, Date: cal.Date(next[0]), Until: cal.Date(next[len(next)-1])}))
	}
	return all
}

// toDo lists the steps of the commission that are not begun, in the order of the plan.
func (h *helping) toDo() []*models.Step {
	var all []*models.Step
	for _, st := range h.snap.StepsOf(h.commission.ID) {
		if st.State == models.Todo {
			all = append(all, st)
		}
	}
	slices.SortStableFunc(all, func(a, b *models.Step) int { return h.starts(a).Compare(h.starts(b)) })
	return all
}

func (h *helping) starts(st *models.Step) time.Time {
	if p := h.snap.Planned(st.ID); p != nil {
		return p.Start
	}
	return h.last()
}

// clamps are a few more of each class that the commission takes.
func (h *helping) clamps() [][]models.Steer {
	cal := localCalendar(h.snap)
	var all [][]models.Steer
	for _, class := range h.snap.Clamps {
		takes := slices.ContainsFunc(h.toDo(), func(st *models.Step) bool {
			return slices.ContainsFunc(h.snap.ClampsOf(st.ID), func(c models.StepClamp) bool { return c.ClampClassID == class.ID })
		})
		if takes {
			all = append(all, one(models.Steer{Kind: models.SteerBorrow, ClampClassID: class.ID, Count: helpsClamps,
				Date: cal.Date(h.snap.At), Until: cal.Date(h.last())}))
		}
	}
	return all
}

// together are steps of other commissions that want the setup which a step of this one
// wants, pinned to follow it at once: one setting serves both.
func (h *helping) together() [][]models.Steer {
	const most = 4
	cal := localCalendar(h.snap)
	var all [][]models.Steer
	for _, st := range h.toDo() {
		p := h.snap.Planned(st.ID)
		if st.SetupID == nil || p == nil {
			continue
		}
		for i := range h.snap.Steps {
			other := &h.snap.Steps[i]
			at := h.snap.Planned(other.ID)
			same := other.CommissionID != st.CommissionID && other.SetupID != nil && *other.SetupID == *st.SetupID && other.State == models.Todo
			if !same || at == nil || !at.Start.After(p.AttendedEnd) || len(all) == most {
				continue
			}
			when := p.AttendedEnd.In(cal.Zone)
			all = append(all, one(models.Steer{Kind: models.SteerPin, StepID: other.ID, Date: cal.Date(when), Timed: true, Opens: when.Hour()*60 + when.Minute()}))
			break // one for each of its steps
		}
	}
	return all
}

// glues are those of the shop that are sooner out of the clamps than what the
// commission is still to be glued with.
func (h *helping) glues() [][]models.Steer {
	slowest := 0
	for _, st := range h.toDo() {
		if st.GlueID != nil {
			if g := h.snap.Glue(*st.GlueID); g != nil {
				slowest = max(slowest, g.ClampMin)
			}
		}
	}
	var all [][]models.Steer
	for _, g := range h.snap.Glues {
		if g.ClampMin < slowest {
			all = append(all, one(models.Steer{Kind: models.SteerGlue, CommissionID: h.commission.ID, MaterialID: g.ID}))
		}
	}
	return all
}

// finishes are those that are sooner dry, or take the next coat sooner.
func (h *helping) finishes() [][]models.Steer {
	var slowest *models.Finish
	for _, st := range h.toDo() {
		if st.FinishID != nil {
			if f := h.snap.Finish(*st.FinishID); f != nil && (slowest == nil || f.DryMin+f.RecoatLeastMin > slowest.DryMin+slowest.RecoatLeastMin) {
				slowest = f
			}
		}
	}
	var all [][]models.Steer
	for _, f := range h.snap.Finishes {
		if slowest != nil && f.DryMin+f.RecoatLeastMin < slowest.DryMin+slowest.RecoatLeastMin {
			all = append(all, one(models.Steer{Kind: models.SteerFinish, CommissionID: h.commission.ID, MaterialID: f.ID}))
		}
	}
	return all
}

// promises are its own for the first day on which it is complete and the shop open, and those of
// the others, one and three working days later.
func (h *helping) promises() [][]models.Steer {
	cal := localCalendar(h.snap)
	var all [][]models.Steer
	if o, ok := cal.next(h.Before.Ends); ok && h.Before.Late { // what ends at night is there in the morning
		all = append(all, one(models.Steer{Kind: models.SteerPromise, CommissionID: h.commission.ID, Date: cal.Date(o.From)}))
	}
	for i := range h.snap.Commissions {
		c := &h.snap.Commissions[i]
		promised, err := time.ParseInLocation(time.DateOnly, c.PromisedOn, cal.Zone)
		if c.State != models.Open || c.ID == h.commission.ID || err != nil || c.PromisedOn > cal.Date(h.last().AddDate(0, 0, 7)) {
			continue
		}
		for _, days := range []int{1, 3} {
			if date := h.workDayAfter(promised, days); date != "" {
				all = append(all, one(models.Steer{Kind: models.SteerPromise, CommissionID: c.ID, Date: date}))
			}
		}
	}
	return all
}

// workDayAfter is so many working days after a day, and not before today.
func (h *helping) workDayAfter(day time.Time, days int) string {
	cal := localCalendar(h.snap)
	day = later(day.Add(12*time.Hour), h.snap.At)
	for i := 1; i <= reach; i++ {
		if len(cal.Day(day, i)) > 0 {
			if days--; days == 0 {
				return cal.Date(cal.Noon(day, i))
			}
		}
	}
	return ""
}

// raise has a late day of this commission hurt most.
func (h *helping) raise() [][]models.Steer {
	const most = 9
	if h.commission.Weight == most {
		return nil
	}
	return [][]models.Steer{one(models.Steer{Kind: models.SteerWeight, CommissionID: h.commission.ID, Weight: most})}
}
