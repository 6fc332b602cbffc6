package handlers

import (
	"faceside/models"
	"faceside/models/planner"
	"faceside/views"
)

// promisesNamed is how many promises are told what room a step leaves to them.
const promisesNamed = 5

// whyThen tells why a step is planned for when it is, and what hangs on it; nil where no
// plan has it.
func (r *room) whyThen(st *models.Step) *views.WhyThen {
	why := planner.WhyThen(r.snap, st.ID)
	if why == nil {
		return nil
	}
	data := &views.WhyThen{Held: r.say.tellAll(why.Held), Nor: r.say.tell(why.Nor), Kept: r.say.tellAll(why.Kept)}
	if len(why.Held) > 0 {
		data.Planned = r.say.tell(why.Planned)
	}
	for i, room := range why.Rooms {
		if i == promisesNamed || room.FloatMin >= mostToSpare && room.CommissionID != st.CommissionID {
			continue
		}
		data.Rooms = append(data.Rooms, r.promiseRoom(room))
	}
	if more := len(why.Rooms) - len(data.Rooms); more > 0 {
		data.More = r.say.say("%d promises have more to spare.", more)
	}
	data.Weighs = r.weighs(st)
	if why.Stuck {
		data.Stuck = r.say.say("If it waits an hour, a pin or a greatest time between two steps has to give.")
	}
	return data
}

func (r *room) promiseRoom(room planner.Room) views.PromiseRoom {
	row := views.PromiseRoom{Name: room.Name, Href: r.planners(commissionHref(room.CommissionID)), Promised: r.say.say("promised %s", r.say.at(room.PromisedBy))}
	switch spare := span(room.FloatMin); {
	case room.FloatMin >= mostToSpare:
		row.Spare = r.say.say("%s or more to spare", span(mostToSpare/60*60))
	case room.Late && room.FloatMin == 0:
		row.Spare = r.say.say("late already, and then later still")
	case room.Late:
		row.Spare = r.say.say("late already; at least %s before it gets later", spare)
	case room.FloatMin == 0:
		row.Spare = r.say.say("nothing to spare")
	default:
		row.Spare = r.say.say("at least %s to spare", spare)
	}
	if f, p := (planner.Forecast{PromisedBy: room.PromisedBy, Late: room.Late}), r.played.Of(room.CommissionID); onlyByPlan(f, p) {
		row.Holds = r.say.holds(f, p)
	}
	if s := room.Hour; s != nil {
		row.Hour = r.say.say("An hour later it is ready %[1]s instead of %[2]s.", r.say.at(s.To), r.say.at(s.From))
	}
	return row
}
