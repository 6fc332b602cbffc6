package handlers

import (
	"time"

	"faceside/models"
	"faceside/models/planner"
	"faceside/views"
)

// weekRoom is a room with some days of the plan laid out.
type weekRoom struct {
	*room
	weekAsked
	days   []weekDay
	jobs   []job
	shifts []shift
	letter map[models.ID]int // place of each commission, which is its letter
	looks  []outlook         // by letter
	since  *planner.Since    // nil: no plan was made on this day yet
	heavy  []planner.Weighs  // the steps that matter most
}

// weekDay is one day shown.
type weekDay struct {
	date   time.Time // midnight in the shop's time zone
	open   []views.Stretch
	own    []models.OwnOpening  // those in which only some people work
	closed string               // why the whole shop is off
	away   map[models.ID]string // why a person is off
}

func (d weekDay) whole() views.Stretch {
	return views.Stretch{From: d.date, To: d.date.AddDate(0, 0, 1)}
}

// minutesFor is how long one person is there, who is not off.
func (d weekDay) minutesFor(person models.ID) int {
	sum := d.minutes()
	for _, o := range d.own {
		if !o.People[person] {
			sum -= int(o.To.Sub(o.From).Minutes())
		}
	}
	return sum
}

// minutes is how long the shop is open, for all or for some.
func (d weekDay) minutes() int {
	sum := time.Duration(0)
	for _, o := range d.open {
		sum += o.To.Sub(o.From)
	}
	return int(sum.Minutes())
}

// closing is when the shop closes for the day; midnight of a day off.
func (d weekDay) closing() time.Time {
	if len(d.open) == 0 {
		return d.date
	}
	return d.open[len(d.open)-1].To
}

func midnight(t time.Time) time.Time {
	y, m, d := t.Date()
	return time.Date(y, m, d, 0, 0, 0, 0, t.Location())
}

// weekRoom lays out the working days asked for, with the days off between them.
func (r *room) weekRoom(asked weekAsked) *weekRoom {
	w := &weekRoom{room: r, weekAsked: asked, letter: map[models.ID]int{}}
	for i, working := 0, 0; working < w.span && i < longest(w.span); i++ {
		day := w.day(w.from.AddDate(0, 0, i))
		w.days = append(w.days, day)
		if len(day.open) > 0 {
			working++
		}
	}
	for i, c := range r.snap.Commissions {
		w.letter[c.ID] = i
	}
	w.jobs = w.allJobs()
	w.shifts = w.allShifts()
	w.looks = w.outlooks()
	w.heavy = r.heaviest()
	return w
}

// longest is how many days are shown at most, should the shop be closed for long.
func longest(span int) int { return 2*span + 5 }

func (w *weekRoom) day(date time.Time) weekDay {
	d := weekDay{date: date, away: map[models.ID]string{}, own: planner.OwnHours(w.snap, date)}
	for _, o := range planner.Openings(w.snap, date) {
		d.open = append(d.open, views.Stretch{From: o.From, To: o.To})
	}
	for _, off := range w.snap.DaysOff {
		if off.Date != date.Format(time.DateOnly) {
			continue
		}
		reason := off.Reason
		if reason == "" {
			reason = w.say.say("day off")
		}
		if off.PersonID == nil {
			d.closed = reason
		} else {
			d.away[*off.PersonID] = reason
		}
	}
	return d
}

// earlier is the day from which on as many working days lie before those shown.
func (w *weekRoom) earlier() time.Time {
	date := w.from
	for i, working := 0, 0; working < w.span && i < longest(w.span); i++ {
		date = date.AddDate(0, 0, -1)
		if len(planner.Openings(w.snap, date)) > 0 {
			working++
		}
	}
	return date
}

// shown is all the time between the first day's beginning and the last one's end.
func (w *weekRoom) shown() views.Stretch {
	return views.Stretch{From: w.days[0].date, To: w.days[len(w.days)-1].whole().To}
}

// openParts cuts time to the openings of the days shown.
func (w *weekRoom) openParts(s views.Stretch) []views.Stretch {
	var all []views.Stretch
	for _, d := range w.days {
		for _, o := range d.open {
			if part := o.Overlap(s); !part.Empty() {
				all = append(all, part)
			}
		}
	}
	return all
}
