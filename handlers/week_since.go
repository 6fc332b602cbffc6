package handlers

import (
	"context"
	"fmt"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/models/phrase"
	"faceside/models/planner"
	"faceside/views"
)

// sinceKey is what is kept of the morning beside a reading of the records.
type sinceKey struct{}

type sinceRead struct {
	since *planner.Since
	err   error
}

// since compares the plan with the day's first, once for all who are shown the same
// records; nil where no plan was made on this day yet.
func (s *server) since(c *gin.Context, snap *models.Snapshot) (*planner.Since, error) {
	read := snap.Keep(sinceKey{}, func() any {
		// Others are shown the same: it is read to the end, though this page be closed.
		first, moves, err := s.store.DaySince(context.WithoutCancel(c.Request.Context()))
		if err != nil || first == nil || snap.Plan == nil {
			return sinceRead{err: err}
		}
		since := planner.SinceMorning(snap, first, moves)
		return sinceRead{since: &since}
	}).(sinceRead)
	return read.since, read.err
}

// morning is where a step was planned in the morning, nil where it is there still.
func (w *weekRoom) morning(step models.ID) *planner.Displaced {
	if w.since == nil {
		return nil
	}
	if d, moved := w.since.Moved[step]; moved {
		return &d
	}
	return nil
}

// movedNamed is how many steps of a cause are named at once.
const movedNamed = 12

// tellSince tells what moved since the morning, and why.
func (w *weekRoom) tellSince() *views.WeekSince {
	if w.since == nil {
		return nil
	}
	at := w.clock(w.since.MadeAt)
	if len(w.since.Causes) == 0 {
		return &views.WeekSince{Says: w.say.say("No step has moved by half an hour or more since the day's first plan, made at %s.", at)}
	}
	v := &views.WeekSince{Says: w.say.say("Compared with the day's first plan, made at %[1]s: %[2]s, %[3]s.", at,
		w.say.say("%d steps moved", len(w.since.Moved)), w.say.say("%d stand where they stood", w.since.Stayed))}
	for _, m := range w.since.Causes {
		cause := views.WeekCause{Key: fmt.Sprintf("since-%d", m.ID), Says: w.why(&m)}
		switch {
		case len(m.Steps) > 0:
			cause.Count = w.say.say("%d steps moved", len(m.Steps))
		default:
			cause.Count = w.say.say("%d steps came in", m.Added)
		}
		for i, d := range m.Steps {
			if i < movedNamed {
				cause.Steps = append(cause.Steps, w.displaced(d))
			} else {
				cause.Others = append(cause.Others, w.displaced(d))
			}
		}
		v.Causes = append(v.Causes, cause)
	}
	return v
}

func (w *weekRoom) displaced(d planner.Displaced) views.WeekMoved {
	st := w.snap.Step(d.StepID)
	i := w.letter[st.CommissionID]
	by := w.say.say("%s later", w.openSpan(d.Minutes))
	if d.Minutes < 0 {
		by = w.say.say("%s earlier", w.openSpan(-d.Minutes))
	}
	return views.WeekMoved{Letter: views.Letter(i), Look: views.Look(i), Name: st.Name, Of: w.commission(st.CommissionID),
		From: w.say.at(d.From), To: w.say.at(d.To), By: by, Href: stepHref(st.ID)}
}

// openSpan says open minutes, in days where that is easier to grasp.
func (w *weekRoom) openSpan(minutes int) string {
	if day := w.fullDay(); minutes >= 2*day {
		return w.say.say("%d working days", minutes/day)
	}
	return span(minutes)
}

// besideNamed is how many things that came together are named.
const besideNamed = 6

// why says what happened: all of it, where several things came together.
func (w *weekRoom) why(m *planner.MovedFor) string {
	at := w.say.at(m.At)
	first := w.happened(&models.CameBetween{Cause: m.Cause, TapSeq: m.TapSeq, StepID: m.StepID, CommissionID: m.CommissionID, Tap: m.Tap, Steered: m.Steered}, at)
	if len(m.Beside) == 0 {
		return first
	}
	all := []string{first}
	for i := range m.Beside[:min(len(m.Beside), besideNamed-1)] {
		all = append(all, w.happened(&m.Beside[i], at))
	}
	if more := len(m.Beside) - len(all) + 1; more > 0 {
		all = append(all, w.say.say("and %d more", more))
	}
	return w.say.say("These came close together, and which of them moved what cannot be told apart: %s", strings.Join(all, " "))
}

// happened says one thing that a plan was made for.
func (w *weekRoom) happened(m *models.CameBetween, at string) string {
	switch m.Cause {
	case models.MovedByTap:
		return w.tapped(m.Tap)
	case models.MovedByWork:
		return w.worked(*m.StepID, m.Tap)
	case models.MovedByTaking:
		return w.say.say("“%[1]s” came in, %[2]s.", w.commission(*m.CommissionID), at)
	case models.MovedByCommission:
		return w.say.say("A commission was changed, %s.", at)
	case models.MovedByShop:
		return w.say.say("The shop's hours, people or places were changed, %s.", at)
	case models.MovedBySteering:
		if m.Steered.LetGoAt != nil {
			return w.say.say("Let go, %[1]s: %[2]s", w.say.at(*m.Steered.LetGoAt), m.Steered.Says)
		}
		return w.say.say("Kept, %[1]s: %[2]s", at, m.Steered.Says)
	}
	return w.say.say("Nothing was tapped, and it got later than planned.")
}

// tapsSay say what a tap on a step or a station was: who, where, when.
var tapsSay = map[models.TapKind]phrase.Key{
	models.TapSettled: "%[1]s said that the trouble with “%[2]s” is over, %[3]s.",
	models.TapHelp:    "%[1]s had one more pair of hands for “%[2]s”, %[3]s.",
	models.TapManage:  "%[1]s manages “%[2]s” without further hands, %[3]s.",
	models.TapDown:    "%[1]s put “%[2]s” out of order, %[3]s.",
	models.TapUp:      "%[1]s put “%[2]s” in order again, %[3]s.",
	models.TapSet:     "%[1]s set “%[2]s” otherwise, %[3]s.",
}

// tapped says a tap that changed what is to be done with what.
func (w *weekRoom) tapped(tap *models.Tap) string {
	where := ""
	if tap.StepID != nil {
		if st := w.snap.Step(*tap.StepID); st != nil {
			where = st.Name
		}
	} else if tap.StationID != nil {
		if st := w.snap.Station(*tap.StationID); st != nil {
			where = st.Name
		}
	}
	says, known := tapsSay[tap.Kind]
	if tap.Kind == models.TapTrouble {
		says, known = troubleSays[tap.Trouble]
	}
	if !known || where == "" {
		return w.say.say("%[1]s took something back, %[2]s.", w.who(&tap.PersonID), w.say.at(tap.At))
	}
	return w.say.tell(says.Of(w.who(&tap.PersonID), where, w.say.at(tap.At)))
}

// worked says how far the work on a step is, beside where the morning's plan had it.
func (w *weekRoom) worked(step models.ID, tap *models.Tap) string {
	st := w.snap.Step(step)
	if st == nil {
		return w.say.say("A commission that is complete by now was worked on.")
	}
	at := w.say.at(tap.At)
	switch tap.Kind {
	case models.TapPutDown:
		return w.say.say("“%[1]s” was put down unfinished, %[2]s.", st.Name, at)
	case models.TapOut:
		return w.say.say("“%[1]s” was taken out, %[2]s.", st.Name, at)
	case models.TapFinish:
		return doneSays.of(w, st.Name, tap.At, w.since.Planned(step).AttendedEnd)
	}
	return takenSays.of(w, st.Name, tap.At, w.since.Planned(step).Start)
}

// besideMorning says when something was done, beside when the morning's plan had it:
// then, on another day, later or earlier.
type besideMorning struct{ then, otherDay, later, earlier phrase.Key }

var (
	doneSays = besideMorning{
		then:     phrase.Key("“%[1]s” was done at %[2]s."),
		otherDay: phrase.Key("“%[1]s” was done at %[2]s; planned was %[3]s."),
		later:    phrase.Key("“%[1]s” was done at %[2]s, %[3]s later than planned in the morning."),
		earlier:  phrase.Key("“%[1]s” was done at %[2]s, %[3]s earlier than planned in the morning."),
	}
	takenSays = besideMorning{
		then:     phrase.Key("“%[1]s” was taken up at %[2]s."),
		otherDay: phrase.Key("“%[1]s” was taken up at %[2]s; planned was %[3]s."),
		later:    phrase.Key("“%[1]s” was taken up at %[2]s, %[3]s later than planned in the morning."),
		earlier:  phrase.Key("“%[1]s” was taken up at %[2]s, %[3]s earlier than planned in the morning."),
	}
)

func (b besideMorning) of(w *weekRoom, name string, at, planned time.Time) string {
	minutes, zone := int(at.Sub(planned).Minutes()), w.say.now.Location()
	switch {
	case planned.IsZero() || minutes == 0:
		return w.say.tell(b.then.Of(name, w.say.at(at)))
	case daysBetween(planned.In(zone), at.In(zone)) != 0:
		return w.say.tell(b.otherDay.Of(name, w.say.at(at), w.say.at(planned)))
	case minutes > 0:
		return w.say.tell(b.later.Of(name, w.say.at(at), span(minutes)))
	}
	return w.say.tell(b.earlier.Of(name, w.say.at(at), span(-minutes)))
}
