package planner

import (
	"math"

	"faceside/models"
	"faceside/models/sequence"
)

// Who is away without notice: ill, or kept from work by something else. Days off that are
// noted before are in the plan; these are drawn. They come in spells.
const (
	// Of all working hours in the United Kingdom 2.0 % were lost through sickness or injury
	// in 2018 (Office for National Statistics, Sickness absence in the UK labour market:
	// 2018). A shop's own record outweighs that after a year of one person.
	priorAway     = 0.02
	awayCounts    = 220.0 // days
	awaySpell     = 3.0   // working days, on average: common practice, no source
	awayLongest   = 60    // days: who is away longer is replaced, or the promises are made anew
	mostAwayShare = 0.5
)

// learnAway finds how often people are away without notice, by what the shop noted.
func (p *pace) learnAway(turned *models.Outcomes) {
	days := float64(turned.Away)
	p.away = (awayCounts*priorAway + days) / (awayCounts + days + float64(turned.There))
	p.awaySpells = (awayCounts*priorAway + days) / awaySpell
}

// presence is the days on which a person is going to be there by the plan, each from when
// they come until they go.
type presence struct {
	days  []sequence.Window
	hands []int // the places in the problem of what is missed with them
	away  bool  // on the day before the first of them, without notice
}

// findCrew lists who is there when. A day that has begun is as it is.
func (w *weeks) findCrew(q *posed) {
	own := map[string]int{}
	for r := range w.problem.Resources {
		own[w.problem.Resources[r].ID] = r
	}
	for _, p := range q.crew {
		one := presence{hands: []int{own[handsName]}}
		if r, asked := own[personName(p.ID)]; asked {
			one.hands = append(one.hands, r)
		}
		today := q.cal.Date(q.at)
		for _, off := range q.snap.DaysOff {
			if off.PersonID != nil && *off.PersonID == p.ID && off.Date == today && off.Unannounced() {
				one.away = true
			}
		}
		one.days = q.daysOf(p, w.problem.Calendars[shopName])
		w.crew = append(w.crew, one)
	}
}

// daysOf are the days of somebody within some openings.
func (q *posed) daysOf(p *models.Person, open []sequence.Window) []sequence.Window {
	var all []sequence.Window
	last := open[len(open)-1][1]
	for i := 0; ; i++ {
		noon := q.cal.Noon(q.line.origin, i)
		if q.line.minute(noon) > last {
			return all
		}
		date := q.cal.Date(noon)
		if !q.cal.Here(p.ID, date) || q.cal.Off(date)[p.ID] {
			continue
		}
		day := q.cal.Whole(noon, 0)
		for _, o := range q.cal.Own(noon, 0) {
			if o.People[p.ID] {
				day = append(day, o.Opening)
			}
		}
		if len(day) == 0 {
			continue
		}
		from, to := day[0].From, day[0].To
		for _, o := range day[1:] {
			if o.From.Before(from) {
				from = o.From
			}
			to = later(to, o.To)
		}
		if w := (sequence.Window{q.line.minute(from), q.line.minute(to)}); w[0] >= 0 {
			all = append(all, w)
		}
	}
}

// dealAway draws who is away when: how often in this play, then spell after spell.
func (d *dealer) dealAway() {
	d.gone = d.gone[:0]
	spread := 1 / math.Sqrt(d.pace.awaySpells)
	share := min(d.pace.away*math.Exp(spread*d.rng.NormFloat64()-spread*spread/2), mostAwayShare)
	begins := share / (1 - share) / awaySpell // the chance on a day
	for i := range d.crew {
		c := &d.crew[i]
		day := 0
		if c.away && d.rng.Float64() < 1-1/awaySpell {
			day = d.stayAway(c, 0)
		}
		for {
			// Days until the next spell are drawn at once, as there are many without.
			if day += int(d.rng.ExpFloat64() / -math.Log1p(-begins)); day >= len(c.days) || day < 0 {
				break
			}
			day = d.stayAway(c, day) + 1
		}
	}
}

// stayAway has somebody be away from a day on, and returns the day on which they are back.
func (d *dealer) stayAway(c *presence, from int) int {
	days := 1 + int(d.rng.ExpFloat64()/-math.Log1p(-1/awaySpell))
	until := min(from+min(days, awayLongest), len(c.days))
	for _, w := range c.days[from:until] {
		for _, r := range c.hands {
			d.gone = append(d.gone, sequence.Gone{Resource: r, Amount: 1, From: w[0], To: w[1]})
		}
	}
	return until
}
