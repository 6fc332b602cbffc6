package handlers

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode"

	ics "github.com/arran4/golang-ical"

	"faceside/models"
	"faceside/models/phrase"
	"faceside/models/planner"
)

const (
	// feedBack is how many days that are over a calendar still shows.
	feedBack = 7
	// feedAhead is how many days ahead it shows at most.
	feedAhead = 400
	// feedRefresh is how often a program is asked to read it anew.
	feedRefresh = "PT15M"
)

// stint is a stretch of one person's time on a step, or on a run of steps under one
// setup: what a calendar shows as one entry.
type stint struct {
	person   models.ID // 0: nobody was found
	from, to time.Time
	jobs     []*job
}

// calendar writes the calendar of a person, or for nil of the shop, by RFC 5545.
// Times are in UTC, so that no program needs the shop's time zone to be right on the
// days the clocks change.
func (r *room) calendar(person *models.ID, origin string) ([]byte, error) {
	cal := ics.NewCalendarFor("Faceside")
	cal.SetProductId("-//Faceside//Faceside//EN")
	cal.SetMethod(ics.MethodPublish)
	cal.SetCalscale("GREGORIAN")
	name := r.snap.Shop.Name
	if person != nil {
		name = r.say.say("%[1]s, %[2]s ## a person and the shop", r.who(person), name)
	}
	cal.SetName(calendarText(name))       // RFC 7986
	cal.SetXWRCalName(calendarText(name)) // what most programs read
	cal.SetXWRTimezone(r.snap.Shop.TimeZone)
	cal.SetRefreshInterval(feedRefresh, ics.WithValue("DURATION"))
	cal.SetXPublishedTTL(feedRefresh)

	w := r.feedRoom()
	counted := map[string]int{}
	for _, st := range w.stints() {
		if person == nil || st.person == *person {
			w.addStint(cal, st, counted, person == nil, origin)
		}
	}
	r.addPromises(cal, origin)
	if len(cal.Components) == 0 {
		addUTC(cal)
	}
	var out bytes.Buffer
	if err := cal.SerializeTo(&out, ics.WithNewLineWindows); err != nil {
		return nil, fmt.Errorf("write the calendar: %w", err)
	}
	return out.Bytes(), nil
}

// feedRoom lays out the plan from a week ago to its end.
func (r *room) feedRoom() *weekRoom {
	from := midnight(r.say.now).AddDate(0, 0, -feedBack)
	last := r.say.now
	if r.snap.Plan != nil {
		for i := range r.snap.Plan.Steps {
			if end := r.snap.Plan.Steps[i].AttendedEnd; end.After(last) {
				last = end
			}
		}
	}
	return r.weekRoom(weekAsked{from: from, span: min(daysBetween(from, last.In(from.Location()))+1, feedAhead)})
}

// stints joins the shifts of the plan that follow one another without a break and
// belong to one step, or stand under one setup.
func (w *weekRoom) stints() []stint {
	var all []stint
	last := map[models.ID]int{} // by person, the place of the latest
	for _, s := range w.shifts {
		if i, known := last[s.person]; known && !s.at.From.After(all[i].to) && together(all[i].jobs[len(all[i].jobs)-1], s.job) {
			all[i].add(s)
			continue
		}
		last[s.person] = len(all)
		all = append(all, stint{person: s.person, from: s.at.From, to: s.at.To, jobs: []*job{s.job}})
	}
	return all
}

func (st *stint) add(s shift) {
	if s.at.To.After(st.to) {
		st.to = s.at.To
	}
	if !slices.Contains(st.jobs, s.job) {
		st.jobs = append(st.jobs, s.job)
	}
}

func together(a, b *job) bool {
	return a == b || a.step.StationID == b.step.StationID && a.step.SetupID != nil && b.step.SetupID != nil && *a.step.SetupID == *b.step.SetupID
}

// addStint writes one stint. Its UID hangs on the step with the least number, so that
// it stays the same entry when a new plan moves it or does the run in another order.
func (w *weekRoom) addStint(cal *ics.Calendar, st stint, counted map[string]int, ofShop bool, origin string) {
	least := slices.MinFunc(st.jobs, func(a, b *job) int { return int(a.step.ID - b.step.ID) }).step.ID
	key := fmt.Sprintf("step-%d-person-%d", least, st.person)
	counted[key]++
	e := w.event(cal, fmt.Sprintf("%s-%d", key, counted[key]))
	e.SetStartAt(st.from)
	e.SetEndAt(st.to)
	first := st.jobs[0].step
	title := w.say.say("%[1]s, %[2]s ## a step and its commission", first.Name, w.commission(first.CommissionID))
	if len(st.jobs) > 1 {
		title = w.say.say("%[1]s: %[2]d steps ## a setup", w.setting(first.SetupID), len(st.jobs))
	}
	if ofShop {
		who := w.who(&st.person)
		if who == "" {
			who = w.say.say("Nobody yet")
		}
		title = w.say.say("%[1]s: %[2]s ## who does what", who, title)
		e.SetTimeTransparency(ics.TransparencyTransparent)
	}
	e.SetSummary(calendarText(title))
	if station := w.snap.Station(first.StationID); station != nil {
		e.SetLocation(calendarText(station.Name))
	}
	e.SetDescription(calendarText(w.stintWords(st)))
	e.SetURL(origin + stepHref(first.ID))
}

// event begins an entry with what each has.
func (r *room) event(cal *ics.Calendar, uid string) *ics.VEvent {
	e := cal.AddEvent(uid + "@" + r.snap.Shop.UID)
	e.SetDtStampTime(r.at)
	if plan := r.snap.Plan; plan != nil { // a newer plan has a greater number
		e.SetSequence(int(plan.ID))
		e.SetModifiedAt(plan.MadeAt)
	}
	return e
}

// stintWords tells how the station is set, and then each step.
func (w *weekRoom) stintWords(st stint) string {
	var lines []string
	if setup := w.snap.SetupOf(st.jobs[0].step); setup != nil {
		lines = append(lines, setup.Instruction)
	}
	for _, j := range st.jobs {
		line := w.say.say("%[1]s, %[2]s ## a step and its commission", j.step.Name, w.commission(j.step.CommissionID))
		if j.past {
			line += ": " + w.say.standing(models.StandsDone)
		} else {
			line += ": " + w.say.say("about %s", span(j.step.Attended))
		}
		if !j.rest.Empty() {
			line += ", " + w.say.say("%[1]s until %[2]s", w.say.rest(j.step.Rest), w.dated(j.rest.To))
		}
		lines = append(lines, line)
	}
	return strings.Join(lines, "\n")
}

// dated says a moment so that it can be read on any day: "Thu 3 Dec 8:00".
func (r *room) dated(t time.Time) string {
	t = t.In(r.say.now.Location())
	return r.say.tell(phrase.ShortDate(t)) + " " + phrase.Clock(t)
}

// addPromises writes the promised dates of what is open or held, a day each.
func (r *room) addPromises(cal *ics.Calendar, origin string) {
	forecasts := forecastsByID(planner.Forecasts(r.snap))
	for i := range r.snap.Commissions {
		com := &r.snap.Commissions[i]
		day, err := time.Parse(time.DateOnly, com.PromisedOn)
		if err != nil {
			continue // the records hold no other
		}
		e := r.event(cal, fmt.Sprintf("promise-%d", com.ID))
		e.SetProperty(ics.ComponentPropertyDtStart, day.Format("20060102"), ics.WithValue("DATE"))
		e.SetProperty(ics.ComponentPropertyDtEnd, day.AddDate(0, 0, 1).Format("20060102"), ics.WithValue("DATE"))
		e.SetTimeTransparency(ics.TransparencyTransparent)
		e.SetSummary(calendarText(r.say.say("Promised: %s", com.Name)))
		said := r.commissionRow(r.summary(com), forecasts[com.ID]).State
		if ends := forecasts[com.ID].Ends; !ends.IsZero() {
			said = r.say.say("done %s", r.dated(ends)) + ", " + said
		}
		e.SetDescription(calendarText(said))
		e.SetURL(origin + commissionHref(com.ID))
	}
}

// addUTC puts into an otherwise empty calendar what no entry needs: RFC 5545, section
// 3.6, has no calendar without a component.
func addUTC(cal *ics.Calendar) {
	zone := cal.AddTimezone("UTC")
	standard := zone.AddStandard()
	standard.AddProperty(ics.ComponentPropertyDtStart, "19700101T000000")
	standard.AddProperty(ics.ComponentProperty(ics.PropertyTzoffsetfrom), "+0000")
	standard.AddProperty(ics.ComponentProperty(ics.PropertyTzoffsetto), "+0000")
}

// calendarText is a text as a calendar can hold it: without control characters but
// the end of a line (RFC 5545, section 3.3.11).
func calendarText(text string) string {
	return strings.Map(func(c rune) rune {
		if c != '\n' && unicode.IsControl(c) {
			return -1
		}
		return c
	}, strings.ToValidUTF8(text, "?"))
}
