package handlers

import (
	"net/url"
	"strconv"

	"faceside/models"
	"faceside/models/phrase"
)

// The fields of a change as a form names them; a what-if carries the changes that are
// tried already as whole forms of their own.
const (
	kindField = "kind"
	withField = "with"
)

// whatIfAsked is what a query asks: the changes that are tried already, and the one of
// its own, if it names one; err says what of that could not be read.
type whatIfAsked struct {
	with []string // as carried
	of   []models.Steer
	kind models.SteerKind // "" for none
	in   *reader
	err  error
}

// askedIf reads a what-if out of a query or a form.
func askedIf(form url.Values, say words) whatIfAsked {
	a := whatIfAsked{in: newReader(form, say)}
	for _, text := range form[withField] {
		fields, err := url.ParseQuery(text)
		if err != nil {
			a.err = &models.Error{Code: models.Invalid, Field: withField, Value: text, Sentence: phrase.Of("%q is no change that can be tried.", text)}
			return a
		}
		in := newReader(fields, say)
		change := in.steer(models.SteerKind(fields.Get(kindField)))
		if a.err = in.err(); a.err != nil {
			return a
		}
		a.with, a.of = append(a.with, text), append(a.of, change)
	}
	if a.kind = models.SteerKind(form.Get(kindField)); a.kind == "" {
		return a
	}
	change := a.in.steer(a.kind)
	if a.err = a.in.err(); a.err == nil {
		a.with, a.of = append(a.with, steerFields(change).Encode()), append(a.of, change)
	}
	return a
}

// others are the changes without that of the query's own.
func (a *whatIfAsked) others() []string {
	if a.kind != "" && a.err == nil {
		return a.with[:len(a.with)-1]
	}
	return a.with
}

// whatIfHref leads to the what-if of changes.
func whatIfHref(with []string) string {
	return "/what-if?" + url.Values{withField: with}.Encode()
}

// tryHref leads to the what-if of one change.
func tryHref(c models.Steer) string { return whatIfHref([]string{steerFields(c).Encode()}) }

// steer reads the fields of one change.
func (r *reader) steer(kind models.SteerKind) models.Steer {
	c := models.Steer{Kind: kind}
	switch kind {
	case models.SteerPin:
		c.StepID, c.Date = r.needed("step"), r.text("date")
		c.Opens, c.Timed = r.minute("time")
	case models.SteerGive:
		c.StepID, c.PersonID = r.needed("step"), r.needed("person")
	case models.SteerHold, models.SteerResume:
		c.CommissionID = r.needed("commission")
	case models.SteerWeight:
		c.CommissionID, c.Weight = r.needed("commission"), r.whole("weight")
	case models.SteerPromise:
		c.CommissionID, c.Date = r.needed("commission"), r.text("date")
	case models.SteerDayOff:
		c.Date, c.Name = r.text("date"), r.text("reason")
		if p := r.record("person"); p != nil {
			c.PersonID = *p
		}
	case models.SteerDayBack:
		c.DayOffID = r.needed("off")
	case models.SteerHours:
		c.Date = r.text("date")
		c.Opens, c.Closes = r.clock("opens"), r.clock("closes")
		if p := r.record("person"); p != nil {
			c.PersonID = *p
		}
	case models.SteerWeek:
		c.Week = models.OpeningsOf(r.week())
	case models.SteerHands:
		c.Name, c.Date, c.Until = r.text("name"), r.text("date"), r.text("until")
	case models.SteerStation:
		c.StationID, c.Date, c.Until = r.needed("station"), r.text("date"), r.text("until")
	case models.SteerDown:
		c.StationID, c.Name = r.needed("station"), r.text("reason")
	case models.SteerLend, models.SteerBorrow:
		c.ClampClassID, c.Count, c.Date, c.Until = r.needed("clamps"), r.whole("count"), r.text("date"), r.text("until")
	case models.SteerGlue:
		c.CommissionID, c.MaterialID = r.needed("commission"), r.needed("glue")
	case models.SteerFinish:
		c.CommissionID, c.MaterialID = r.needed("commission"), r.needed("finish")
	}
	return c
}

// needed reads the number of a record that must be chosen.
func (r *reader) needed(name string) models.ID {
	id := r.record(name)
	if id == nil {
		if !r.refused(name) {
			r.refuse(name, "Nothing was chosen here.")
		}
		return 0
	}
	return *id
}

// steerFields writes a change as the fields that steer reads.
func steerFields(c models.Steer) url.Values {
	v := url.Values{kindField: {string(c.Kind)}}
	text := func(name, value string) {
		if value != "" {
			v.Set(name, value)
		}
	}
	number := func(name string, n models.ID) {
		if n != 0 {
			v.Set(name, strconv.FormatInt(n, 10))
		}
	}
	number("step", c.StepID)
	number("commission", c.CommissionID)
	number("person", c.PersonID)
	number("station", c.StationID)
	number("clamps", c.ClampClassID)
	number("off", c.DayOffID)
	number("count", models.ID(c.Count))
	number("weight", models.ID(c.Weight))
	text("date", c.Date)
	text("until", c.Until)
	switch c.Kind {
	case models.SteerPin:
		if c.Timed {
			v.Set("time", clockTime(c.Opens))
		}
	case models.SteerHours:
		v.Set("opens", clockTime(c.Opens))
		v.Set("closes", clockTime(c.Closes))
	case models.SteerWeek:
		writeWeek(v, c.Week)
	case models.SteerDayOff, models.SteerDown:
		text("reason", c.Name)
	case models.SteerHands:
		text("name", c.Name)
	case models.SteerGlue:
		number("glue", c.MaterialID)
	case models.SteerFinish:
		number("finish", c.MaterialID)
	}
	return v
}
