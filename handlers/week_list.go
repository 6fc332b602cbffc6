package handlers

import (
	"fmt"
	"strings"
	"time"

	"faceside/models"
	"faceside/models/phrase"
	"faceside/views"
)

// list tells the days one after the other, as a person would say them.
func (w *weekRoom) list() []views.WeekDay {
	var all []views.WeekDay
	unfolded := w.unfolded()
	for i, d := range w.days {
		day := views.WeekDay{Key: "day-" + d.date.Format(time.DateOnly), Name: w.say.tell(phrase.Date(d.date)), Today: d.date.Equal(midnight(w.say.now)), Summary: w.summaryOf(d),
			Open: i == unfolded && (w.span == 1 || w.weekAsked.list), Shut: len(d.open) == 0}
		if w.span > 1 {
			day.Href = w.over(1).on(d.date).href()
		}
		if w.span == weekMonth {
			all = append(all, day)
			continue
		}
		if len(d.open) > 0 {
			for _, p := range w.snap.People {
				if person, there := w.personDay(d, p); there {
					day.People = append(day.People, person)
				}
			}
			if items := w.items(d, 0); len(items) > 0 {
				day.People = append(day.People, views.WeekPerson{Name: w.say.say("Nobody yet"), Items: items})
			}
		}
		day.Resting = w.overnight(d)
		all = append(all, day)
	}
	return all
}

// unfolded is the place of the day that is told in full from the start where there is
// no chart of several: today or, if it is not among those shown, the first day on which
// the shop is open.
func (w *weekRoom) unfolded() int {
	first := 0
	for i := len(w.days) - 1; i >= 0; i-- {
		if w.days[i].date.Equal(midnight(w.say.now)) {
			return i
		}
		if len(w.days[i].open) > 0 {
			first = i
		}
	}
	return first
}

// personDay is one person's day; false for somebody who left and has no part in it.
func (w *weekRoom) personDay(d weekDay, p models.Person) (views.WeekPerson, bool) {
	day := views.WeekPerson{Name: p.Name, Away: d.away[p.ID], Items: w.items(d, p.ID)}
	if day.Away == "" {
		day.Hours = w.say.say("%s of\u00a0%s ## hours", span(w.minutesOf(d, p.ID)), span(d.minutesFor(p.ID)))
	}
	return day, p.Active || len(day.Items) > 0
}

// minutesOf adds up a person's shifts of a day; those at the same time count once.
func (w *weekRoom) minutesOf(d weekDay, person models.ID) int {
	sum, until := 0, time.Time{}
	for _, s := range w.shifts {
		at := s.at.Overlap(d.whole())
		if s.person != person || at.Empty() {
			continue
		}
		if at.From.Before(until) {
			at.From = until
		}
		if !at.Empty() {
			sum, until = sum+shift{at: at}.minutes(), at.To
		}
	}
	return sum
}

// items lists a person's jobs of a day. A job cut by a break is one item.
func (w *weekRoom) items(d weekDay, person models.ID) []views.WeekItem {
	var all []views.WeekItem
	var last *job
	var from time.Time
	setup, listed := "", map[models.ID]bool{}
	for _, s := range w.shifts {
		if s.person != person || s.at.Overlap(d.whole()).Empty() {
			continue
		}
		if s.setup {
			setup = w.setting(s.job.step.SetupID)
			continue
		}
		if s.job == last {
			all[len(all)-1].When = w.fromTo(from, s.at.To)
			continue
		}
		last, from = s.job, s.at.From
		item := w.item(s.job, w.fromTo(s.at.From, s.at.To), setup)
		if !listed[s.job.step.ID] { // one that was put down between is listed twice
			item.Key, listed[s.job.step.ID] = itemKey(d.date, person, s.job.step.ID), true
		}
		all, setup = append(all, item), ""
	}
	return all
}

// itemKey names a person's step of a day in the page.
func itemKey(date time.Time, person, step models.ID) string {
	return fmt.Sprintf("at-%s-%d-%d", date.Format(time.DateOnly), person, step)
}

func (w *weekRoom) item(j *job, when, setup string) views.WeekItem {
	state := models.Standing(j.state)
	if j.past {
		state = models.StandsDone
	}
	said, class := "", ""
	if state != models.StandsWaiting && state != models.StandsReady { // those are just planned
		said, class = w.say.standing(state), mark(state)
	}
	was := ""
	if m := w.morning(j.step.ID); m != nil && said == "" {
		was = w.say.at(m.From)
	}
	i := w.letter[j.step.CommissionID]
	return views.WeekItem{
		Was:    was,
		Pinned: j.pinned,
		Heavy:  w.isHeavy(j.step.ID) && !j.past,
		When:   when, Letter: views.Letter(i), Look: views.Look(i), Name: j.step.Name, Of: w.commission(j.step.CommissionID),
		Setup: setup, State: said, Mark: class, Href: stepHref(j.step.ID),
	}
}

func (w *weekRoom) fromTo(from, to time.Time) string { return w.clock(from) + "–" + w.clock(to) }

// overnight lists what is still in clamps or drying when the shop closes; on a
// day off, what is all day.
func (w *weekRoom) overnight(d weekDay) []views.WeekItem {
	var all []views.WeekItem
	for i := range w.jobs {
		j := &w.jobs[i]
		if j.rest.Empty() || !j.rest.From.Before(d.whole().To) || !j.rest.To.After(d.closing()) {
			continue
		}
		item := w.item(j, w.say.say("%[1]s until %[2]s", w.say.rest(j.step.Rest), w.say.at(j.rest.To)), "")
		item.Name, item.State, item.Pinned, item.Heavy = w.made(j.step), "", false, false
		all = append(all, item)
	}
	return all
}

// summaryOf is a day in one line: "Close two glue-ups before noon, lay one
// coat, nine steps, three setups, 6 h 10 of 16 h."
func (w *weekRoom) summaryOf(d weekDay) string {
	if len(d.open) == 0 {
		if d.closed != "" {
			return w.say.say("Closed: %s.", d.closed)
		}
		return w.say.say("Closed.")
	}
	said := w.gluing(d)
	if n := w.restsBegun(d, "drying", d.whole().To); n > 0 {
		said = append(said, w.say.say("lay %s", counted(n, "one coat", "%s coats")))
	}
	setups := 0
	for _, s := range w.shifts {
		if s.setup && !s.at.From.Before(d.date) && s.at.From.Before(d.whole().To) && s.at.From.Equal(s.job.setup.From) {
			setups++
		}
	}
	if n := w.stepsOf(d); n > 0 {
		said = append(said, w.say.tell(counted(n, "one step", "%s steps")))
	}
	if setups > 0 {
		said = append(said, w.say.tell(counted(setups, "one setup", "%s setups")))
	}
	if planned, hands := w.handsOf(d); planned > 0 || hands > 0 {
		said = append(said, w.say.say("%s of\u00a0%s ## hours", span(planned), span(hands)))
	} else {
		said = append(said, w.say.say("nobody is there"))
	}
	return capital(strings.Join(said, ", ")) + "."
}

// stepsOf counts the steps that are worked on in a day.
func (w *weekRoom) stepsOf(d weekDay) int {
	worked := map[models.ID]bool{}
	for _, s := range w.shifts {
		if !s.setup && !s.at.Overlap(d.whole()).Empty() {
			worked[s.job.step.ID] = true
		}
	}
	return len(worked)
}

// gluing says how many glue-ups are to be closed on a day, and by when.
func (w *weekRoom) gluing(d weekDay) []string {
	noon := time.Date(d.date.Year(), d.date.Month(), d.date.Day(), 12, 0, 0, 0, d.date.Location())
	morning := w.restsBegun(d, string(models.StandsInClamps), noon)
	later := w.restsBegun(d, string(models.StandsInClamps), d.whole().To) - morning
	switch {
	case morning > 0 && later > 0:
		return []string{w.say.say("close %s before noon and %s before closing time", counted(morning, "one glue-up", "%s glue-ups"), inWords(later))}
	case morning > 0:
		return []string{w.say.say("close %s before noon", counted(morning, "one glue-up", "%s glue-ups"))}
	case later > 0:
		return []string{w.say.say("close %s before closing time", counted(later, "one glue-up", "%s glue-ups"))}
	}
	return nil
}

// restsBegun counts the rests of a kind that begin on a day up to a time, and
// are not begun yet.
func (w *weekRoom) restsBegun(d weekDay, rest string, until time.Time) int {
	n := 0
	for i := range w.jobs {
		j := &w.jobs[i]
		if j.step.Rest == rest && !j.past && !j.rest.Empty() && !j.rest.From.Before(d.date) && !j.rest.From.After(until) && j.rest.From.Before(d.whole().To) {
			n++
		}
	}
	return n
}

// handsOf is how many minutes of all hands are planned, and how many there are.
func (w *weekRoom) handsOf(d weekDay) (planned, hands int) {
	for _, p := range w.snap.People {
		planned += w.minutesOf(d, p.ID)
		if _, off := d.away[p.ID]; p.Active && !off {
			hands += d.minutesFor(p.ID)
		}
	}
	return planned, hands
}

var numbers = []phrase.Key{"no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"}

// inWords says a small number as a word.
func inWords(n int) phrase.Phrase {
	if n >= 0 && n < len(numbers) {
		return numbers[n].Of()
	}
	return phrase.Of("%d", n)
}

// counted says a number with its noun: "two setups".
func counted(n int, one, many phrase.Key) phrase.Phrase {
	if n == 1 {
		return one.Of()
	}
	return many.Of(inWords(n))
}
