package handlers

import (
	"net/url"
	"slices"
	"strconv"
	"time"

	"faceside/models"
	"faceside/models/phrase"
	"faceside/views"
)

// tryForms are the changes that can be tried, by topic. typed is what a form that was
// refused was sent with, and what a link names: its commission or step stands first.
func (r *room) tryForms(with []string, typed url.Values) []views.TryGroup {
	f := &trying{room: r, with: with, typed: typed}
	days := views.TryGroup{Title: r.say.say("Days and hands"), Forms: f.forms(models.SteerDayOff, models.SteerDayBack, models.SteerHours, models.SteerHands)}
	machines := views.TryGroup{Title: r.say.say("Machines and clamps"), Forms: f.forms(models.SteerDown, models.SteerStation, models.SteerLend, models.SteerBorrow)}
	commissions := views.TryGroup{Title: r.say.say("Commissions"), Forms: f.forms(models.SteerHold, models.SteerWeight, models.SteerPromise,
		models.SteerResume, models.SteerGlue, models.SteerFinish)}
	groups := []views.TryGroup{days, machines, commissions}
	if st := f.step(); st != nil {
		own := views.TryGroup{Title: r.say.say("“%[1]s”, %[2]s", st.Name, r.commission(st.CommissionID)), Forms: f.forms(models.SteerPin, models.SteerGive)}
		groups = append([]views.TryGroup{own}, groups...)
	} else if typed.Get("commission") != "" {
		groups = []views.TryGroup{commissions, days, machines}
	}
	return slices.DeleteFunc(groups, func(g views.TryGroup) bool { return len(g.Forms) == 0 })
}

// trying draws up the forms.
type trying struct {
	*room
	with  []string
	typed url.Values
}

// tryTitles are the changes as their forms are headed, and the words of their buttons.
var tryTitles = map[models.SteerKind]phrase.Key{
	models.SteerDayOff: "A day off, or somebody is ill", models.SteerDayBack: "A day off taken back", models.SteerHours: "Extra hours", models.SteerHands: "A borrowed pair of hands",
	models.SteerDown: "A station down from now on", models.SteerStation: "A station down for some days", models.SteerLend: "Clamps lent out", models.SteerBorrow: "Clamps borrowed",
	models.SteerHold: "Hold a commission", models.SteerResume: "Go on with a held one", models.SteerWeight: "Raise or lower one",
	models.SteerPromise: "Another promised date", models.SteerGlue: "Another glue", models.SteerFinish: "Another finish",
	models.SteerPin: "Pin it to a day", models.SteerGive: "Give it to somebody",
}

// forms are those of some kinds, without such as there is nothing to choose for.
func (f *trying) forms(kinds ...models.SteerKind) []views.TryForm {
	var all []views.TryForm
	for _, kind := range kinds {
		fields := f.fields(kind)
		if slices.ContainsFunc(fields, func(q views.Field) bool { return q.Kind == "select" && len(q.Options) == 0 }) {
			continue
		}
		form := views.TryForm{Kind: string(kind), With: f.with, Form: views.Form{ID: "try-" + string(kind), Action: "/what-if",
			Title: f.say.tell(tryTitles[kind].Of()), Save: f.say.say("See what it does"), Fields: fields}}
		for i := range fields {
			if asked := f.typed.Get(fields[i].Name); asked != "" {
				fields[i].Value = asked
			}
		}
		form.Open = f.typed.Get(kindField) == string(kind)
		all = append(all, form)
	}
	return all
}

func (f *trying) fields(kind models.SteerKind) []views.Field {
	switch kind {
	case models.SteerPin:
		return []views.Field{f.hidden("step"), f.date(), {Name: "time", Label: f.say.say("Time"), Kind: "time", Help: f.say.say("Left empty, any time of that day will do.")}}
	case models.SteerGive:
		return []views.Field{f.hidden("step"), f.choose("person", f.say.say("Who"), f.peopleOptions(""))}
	case models.SteerHold:
		return []views.Field{f.choose("commission", f.say.say("Commission"), f.commissions(models.Open))}
	case models.SteerResume:
		return []views.Field{f.choose("commission", f.say.say("Commission"), f.commissions(models.Held))}
	case models.SteerWeight:
		return []views.Field{f.choose("commission", f.say.say("Commission"), f.commissions(models.Open)), {Name: "weight", Label: f.say.say("Weight"), Kind: "number", Mode: "numeric",
			Least: "1", Greatest: "9", Value: "9", Help: f.say.say("From 1 to 9: how much a late day hurts.")}}
	case models.SteerPromise:
		return []views.Field{f.choose("commission", f.say.say("Commission"), f.commissions(models.Open, models.Held)), f.date()}
	case models.SteerDayOff:
		return []views.Field{f.date(), f.choose("person", f.say.say("Who"), f.peopleOptions(f.say.say("the whole shop"))), {Name: "reason", Label: f.say.say("Reason"), Kind: "text"}}
	case models.SteerDayBack:
		return []views.Field{f.choose("off", f.say.say("Day"), f.daysOffToCome())}
	case models.SteerHours:
		return []views.Field{f.date(), {Name: "opens", Label: f.say.say("From ## a time of day"), Kind: "time"}, {Name: "closes", Label: f.say.say("Until ## a time of day"), Kind: "time"},
			f.choose("person", f.say.say("Who"), f.peopleOptions(f.say.say("the whole shop")))}
	case models.SteerHands:
		return []views.Field{{Name: "name", Label: f.say.say("Name"), Kind: "text"}, f.date(), f.until()}
	case models.SteerStation:
		return []views.Field{f.choose("station", f.say.say("Station"), f.stationOptions("")), f.date(), f.until()}
	case models.SteerDown:
		return []views.Field{f.choose("station", f.say.say("Station"), f.stationsInOrder()), {Name: "reason", Label: f.say.say("Reason"), Kind: "text"}}
	case models.SteerLend, models.SteerBorrow:
		return []views.Field{f.choose("clamps", f.say.say("Clamps"), options("", f.snap.Clamps, func(r *models.ClampClass) (models.ID, string) { return r.ID, r.Name })), {Name: "count", Label: f.say.say("How many"), Kind: "number", Mode: "numeric", Least: "1", Value: "4"}, f.date(), f.until()}
	case models.SteerGlue:
		return []views.Field{f.choose("commission", f.say.say("Commission"), f.commissions(models.Open)), f.choose("glue", f.say.say("Glue"), f.glueOptions(""))}
	case models.SteerFinish:
		return []views.Field{f.choose("commission", f.say.say("Commission"), f.commissions(models.Open)), f.choose("finish", f.say.say("Finish"), f.finishOptions(""))}
	}
	return nil
}

// step is the step that the forms are about, nil for none.
func (f *trying) step() *models.Step {
	id, err := strconv.ParseInt(f.typed.Get("step"), 10, 64)
	if err != nil {
		return nil
	}
	return f.snap.Step(id)
}

func (f *trying) hidden(name string) views.Field {
	return views.Field{Name: name, Kind: "hidden", Value: f.typed.Get(name)}
}

func (f *trying) date() views.Field {
	today := f.say.now.Format(time.DateOnly)
	return views.Field{Name: "date", Label: f.say.say("Day"), Kind: "date", Value: today, Least: today}
}

func (f *trying) until() views.Field {
	return views.Field{Name: "until", Label: f.say.say("To and with"), Kind: "date", Least: f.say.now.Format(time.DateOnly), Help: f.say.say("Left empty, that one day.")}
}

func (f *trying) choose(name, label string, options []views.Option) views.Field {
	field := views.Field{Name: name, Label: label, Kind: "select", Options: options}
	if len(options) > 0 {
		field.Value = options[0].Value
	}
	return field
}

func (f *trying) daysOffToCome() []views.Option {
	var all []views.Option
	for _, row := range f.daysOff() {
		all = append(all, option(row.ID, row.Date+" · "+row.Who))
	}
	return all
}

// stationsInOrder are those that could go out of order.
func (f *trying) stationsInOrder() []views.Option {
	down := func(o views.Option) bool {
		return slices.ContainsFunc(f.snap.Stations, func(s models.Station) bool { return s.Down && o.Value == chosen(&s.ID) })
	}
	return slices.DeleteFunc(f.stationOptions(""), down)
}

func (f *trying) commissions(states ...models.CommissionState) []views.Option {
	var all []views.Option
	for _, c := range f.snap.Commissions {
		if slices.Contains(states, c.State) {
			all = append(all, option(c.ID, c.Name))
		}
	}
	return all
}

// steerLinks lead from a commission to what can be tried for it.
func (r *room) steerLinks(com *models.Commission) []views.SteerLink {
	switch com.State {
	case models.Held:
		return []views.SteerLink{{Label: r.say.say("What if it goes on?"), Href: tryHref(models.Steer{Kind: models.SteerResume, CommissionID: com.ID})}}
	case models.Open:
		links := []views.SteerLink{
			{Label: r.say.say("What would help"), Href: helpsHref(com.ID)},
			{Label: r.say.say("What if it is held?"), Href: tryHref(models.Steer{Kind: models.SteerHold, CommissionID: com.ID})},
		}
		const most = 9
		if com.Weight < most {
			links = append(links, views.SteerLink{Label: r.say.say("What if it comes first?"), Href: tryHref(models.Steer{Kind: models.SteerWeight, CommissionID: com.ID, Weight: most})})
		}
		return append(links, views.SteerLink{Label: r.say.say("Try another change"), Href: "/what-if?" + url.Values{"commission": {strconv.FormatInt(com.ID, 10)}}.Encode()})
	}
	return nil
}
