package handlers

import (
	"slices"
	"strings"
	"time"

	"faceside/models"
	"faceside/models/phrase"
	"faceside/views"
)

// weekFit is the width of the chart in pixels on a tablet held level.
const weekFit = 1046

// chart lays the shifts out as a drawing.
func (w *weekRoom) chart() views.WeekChart {
	c := views.WeekChart{
		Say:   w.say.speaker,
		Title: w.say.say("The plan, %s", w.title()), Heading: w.title(),
		Now: w.say.now, Fit: weekFit, ByDay: w.span == weekMonth, Loads: w.loads(),
	}
	for _, d := range w.days {
		c.Days = append(c.Days, views.ChartDay{Day: d.date, Name: w.say.tell(phrase.ShortDate(d.date)), Short: shortest(w.say.tell(phrase.ShortWeekday(d.date.Weekday()))),
			Closed: d.closed, Open: d.open, Said: w.summaryOf(d), Month: w.say.tell(phrase.ShortMonth(d.date.Month())), Href: w.over(1).on(d.date).href()})
	}
	for _, p := range w.looks {
		c.Commissions = append(c.Commissions, views.ChartCommission{Name: p.com.Name, Href: w.planners(commissionHref(p.com.ID)),
			Promised: p.forecast.PromisedBy, Ends: p.forecast.Ends, State: p.state, Verdict: p.verdict(w.say), Date: w.say.date(p.com.PromisedOn)})
	}
	for _, s := range []views.ChartSection{
		{Name: w.say.say("Hands"), Kind: views.HandsSection, Rows: w.handRows()},
		{Name: w.say.say("At rest"), Kind: views.RestSection, Rows: w.restRows(c.ByDay)},
		{Name: w.say.say("Stations"), Kind: views.StationSection, Rows: w.stationRows()},
	} {
		if len(s.Rows) > 0 {
			c.Sections = append(c.Sections, s)
		}
	}
	return c
}

// handRows is a row for everyone who works here, and one for work that found nobody.
func (w *weekRoom) handRows() []views.ChartRow {
	var rows []views.ChartRow
	for _, p := range w.snap.People {
		row := views.ChartRow{Name: p.Name, Note: w.daysNote(p.ID), Blocks: w.handBlocks(p.ID)}
		if p.Active || len(row.Blocks) > 0 {
			rows = append(rows, row)
		}
	}
	if blocks := w.handBlocks(0); len(blocks) > 0 {
		rows = append(rows, views.ChartRow{Name: w.say.say("Nobody yet"), Blocks: blocks})
	}
	return rows
}

// daysNote names the days on which a person is off, and the hours of their own.
func (w *weekRoom) daysNote(person models.ID) string {
	var days, notes []string
	for _, d := range w.days {
		if _, off := d.away[person]; off && len(d.open) > 0 {
			days = append(days, w.say.tell(phrase.ShortWeekday(d.date.Weekday())))
		}
	}
	if len(days) > 0 {
		notes = append(notes, w.say.say("off %s", strings.Join(days, ", ")))
	}
	for _, d := range w.days {
		for _, o := range d.own {
			if o.People[person] {
				notes = append(notes, w.say.say("also %[1]s %[2]s–%[3]s ## a person, by the shop's hours", phrase.ShortWeekday(d.date.Weekday()), w.shortClock(o.From), w.shortClock(o.To)))
			}
		}
	}
	return strings.Join(notes, " · ")
}

func (w *weekRoom) handBlocks(person models.ID) []views.ChartBlock {
	var all []views.ChartBlock
	for _, s := range w.shifts {
		if s.person == person {
			all = append(all, w.block(s.job, s.at, s.setup, person))
		}
	}
	return all
}

// block is a person's shift as it is drawn.
func (w *weekRoom) block(j *job, at views.Stretch, setup bool, person models.ID) views.ChartBlock {
	b := views.ChartBlock{
		Kind: views.Work, Commission: w.letter[j.step.CommissionID], State: j.state, At: at,
		Label: j.step.Name, Group: capital(w.say.phase(j.step.Phase)), Title: w.blockTitle(j, at), Href: stepHref(j.step.ID),
		Listed: "#" + itemKey(midnight(at.From.In(w.say.now.Location())), person, j.step.ID),
	}
	if j.past {
		b.State = views.StateDone
	}
	if was := w.morning(j.step.ID); was != nil && !setup {
		b.Moved, b.Title = was.Minutes, b.Title+" "+w.say.say("This morning: %s.", w.say.at(was.From))
	}
	if w.isHeavy(j.step.ID) && !j.past && !setup {
		b.Heavy, b.Title = true, b.Title+" "+w.weighs(j.step)
	}
	if j.pinned && !setup {
		b.Pinned, b.Title = at.From.Equal(j.work.From), b.Title+" "+w.say.say("Pinned there.")
	}
	if setup {
		b.Kind, b.Label = views.SetupWork, w.setting(j.step.SetupID)
		b.Title += " " + w.say.say("Set first: %s.", b.Label)
	}
	return b
}

// blockTitle says all of a block: what, for which commission, when, where.
func (w *weekRoom) blockTitle(j *job, at views.Stretch) string {
	said := w.say.say("%[1]s (%[2]s, %[3]s). %[4]s to %[5]s", j.step.Name, w.commission(j.step.CommissionID), w.say.standing(models.Standing(j.state)), w.say.at(at.From), w.clock(at.To))
	if s := w.snap.Station(j.step.StationID); s != nil {
		said += ", " + s.Name
	}
	return said + "."
}

// shortest is a weekday in two letters.
func shortest(day string) string { return string([]rune(day)[:2]) }

// clock says a time of day: "8:05".
func (w *weekRoom) clock(t time.Time) string {
	return phrase.Clock(t.In(w.say.now.Location()))
}

// shortClock says it where there is little room: "8", "8:05".
func (w *weekRoom) shortClock(t time.Time) string { return strings.TrimSuffix(w.clock(t), ":00") }

// stationRows is a row for every station that is used on these days or down.
func (w *weekRoom) stationRows() []views.ChartRow {
	var rows []views.ChartRow
	for _, st := range w.snap.Stations {
		row := views.ChartRow{Name: st.Name, Blocks: w.stationBlocks(st.ID)}
		if st.Down {
			row.Note = w.say.say("down ## a station")
		}
		if st.Down || len(row.Blocks) > 0 {
			rows = append(rows, row)
		}
	}
	return rows
}

// stationBlocks labels work by its setup, so that a run reads as one.
func (w *weekRoom) stationBlocks(station models.ID) []views.ChartBlock {
	var all []views.ChartBlock
	for i := range w.jobs {
		j := &w.jobs[i]
		if j.step.StationID != station {
			continue
		}
		for _, part := range w.parts(j, j.setup) {
			all = append(all, w.block(j, part, true, w.whose(j, part)))
		}
		for _, part := range w.parts(j, j.work) {
			b := w.block(j, part, false, w.whose(j, part))
			if state := w.setting(j.step.SetupID); state != "" {
				b.Label, b.Group = state, state
			}
			all = append(all, b)
		}
	}
	return all
}

// whose is the one who has a part of a job: where several do, the first listed.
func (w *weekRoom) whose(j *job, part views.Stretch) models.ID {
	for _, s := range w.shifts {
		if s.job == j && s.at == part {
			return s.person
		}
	}
	return first(j.people)
}

// restRows is a row for each kind of rest that falls into these days. By the day only
// how many rest at once is shown.
func (w *weekRoom) restRows(byDay bool) []views.ChartRow {
	if byDay {
		return nil
	}
	var rows []views.ChartRow
	for _, kind := range []string{string(models.StandsInClamps), string(models.StandsDrying), string(models.StandsResting)} {
		row := views.ChartRow{Name: capital(w.say.rest(kind))}
		for i := range w.jobs {
			if j := &w.jobs[i]; j.step.Rest == kind && !j.rest.Overlap(w.shown()).Empty() {
				row.Blocks = append(row.Blocks, w.restBlock(j))
			}
		}
		if len(row.Blocks) > 0 {
			rows = append(rows, row)
		}
	}
	return rows
}

func (w *weekRoom) restBlock(j *job) views.ChartBlock {
	until, short := w.say.at(j.rest.To), w.clock(j.rest.To)
	if daysBetween(j.rest.From.In(w.say.now.Location()), j.rest.To.In(w.say.now.Location())) > 0 {
		short = w.say.tell(phrase.ShortWeekday(j.rest.To.In(w.say.now.Location()).Weekday())) + " " + short
	}
	return views.ChartBlock{
		Kind: views.RestTime, Commission: w.letter[j.step.CommissionID], State: views.State(j.step.Rest), At: j.rest,
		Label: w.made(j.step), Until: short,
		Title: w.say.say("%[1]s (%[2]s): %[3]s from %[4]s until %[5]s.", j.step.Name, w.commission(j.step.CommissionID), w.say.rest(j.step.Rest), w.say.at(j.rest.From), until),
		Href:  stepHref(j.step.ID),
	}
}

// made is what rests: the assembly a step makes, or else the step.
func (w *weekRoom) made(st *models.Step) string {
	if st.MakesID != nil {
		if a := w.snap.Assembly(*st.MakesID); a != nil {
			return a.Name
		}
	}
	return st.Name
}

// loads says how many clamps of each class are in use, for those that are, and how
// many things dry.
func (w *weekRoom) loads() []views.ChartLoad {
	var all []views.ChartLoad
	for _, class := range w.snap.Clamps {
		if used := w.load(class.ID); len(used) > 0 {
			all = append(all, views.ChartLoad{Name: class.Name, Of: class.Count, Used: used})
		}
	}
	if used := w.drying(); len(used) > 0 {
		all = append(all, views.ChartLoad{Name: capital(w.say.rest(string(models.StandsDrying))), Used: used})
	}
	return all
}

// drying counts what dries.
func (w *weekRoom) drying() []views.LoadChange {
	var changes []views.LoadChange
	for i := range w.jobs {
		if j := &w.jobs[i]; j.step.Rest == string(models.StandsDrying) && !j.rest.Overlap(w.shown()).Empty() {
			changes = append(changes, views.LoadChange{From: j.rest.From, Used: 1}, views.LoadChange{From: j.rest.To, Used: -1})
		}
	}
	return inUse(changes)
}

// load adds up the clamps that steps hold from their start to the end of their rest.
func (w *weekRoom) load(class models.ID) []views.LoadChange {
	var changes []views.LoadChange
	for i := range w.jobs {
		j := &w.jobs[i]
		held := views.Stretch{From: j.work.From, To: j.work.To}
		if j.rest.To.After(held.To) {
			held.To = j.rest.To
		}
		if held.Overlap(w.shown()).Empty() {
			continue
		}
		for _, c := range w.snap.ClampsOf(j.step.ID) {
			if c.ClampClassID == class {
				changes = append(changes, views.LoadChange{From: held.From, Used: c.Count}, views.LoadChange{From: held.To, Used: -c.Count})
			}
		}
	}
	return inUse(changes)
}

// inUse adds up what comes and goes.
func inUse(changes []views.LoadChange) []views.LoadChange {
	slices.SortStableFunc(changes, func(a, b views.LoadChange) int { return a.From.Compare(b.From) })
	var used []views.LoadChange
	for n, c := range changes {
		if n > 0 {
			c.Used += used[len(used)-1].Used
		}
		if len(used) > 0 && used[len(used)-1].From.Equal(c.From) {
			used[len(used)-1].Used = c.Used
			continue
		}
		used = append(used, c)
	}
	return used
}
