package handlers

import (
	"fmt"
	"net/http"

	"github.com/gin-gonic/gin"
	"github.com/google/uuid"

	"faceside/models"
	"faceside/models/phrase"
	"faceside/views"
)

// answerTap settles what becomes of a tap that came back.
func (s *server) answerTap(c *gin.Context) {
	req, err := s.answerRequest(c)
	if err == nil {
		err = s.store.AnswerTap(c.Request.Context(), req)
	}
	forget(c)
	back := localPath(c.PostForm("back"))
	switch {
	case err != nil && statusOf(err) >= http.StatusInternalServerError:
		s.fail(c, err)
	case err != nil:
		s.tapRefused(c, back, err)
	default:
		seeOther(c, back)
	}
}

// answerRequest reads the answer: "left", "noted" (left, and what was tapped kept as
// a note), "again" as it was tapped, or the kind of tap that is possible now.
func (s *server) answerRequest(c *gin.Context) (models.AnswerRequest, error) {
	req := models.AnswerRequest{ID: c.Param("id")}
	if err := parseForm(c); err != nil {
		return req, err
	}
	var err error
	if req.PersonID, err = s.whoTaps(c); err != nil {
		return req, err
	}
	answer := c.PostForm("answer")
	if answer == "left" {
		return req, nil
	}
	snap, err := s.snapshot(c)
	if err != nil {
		return req, err
	}
	for _, back := range snap.Returned {
		if back.ID != req.ID {
			continue
		}
		if answer == "noted" {
			req.Note, err = s.noteOf(c, back)
			return req, err
		}
		tap := back.Request
		tap.ID, tap.Tablet, tap.PersonID = c.PostForm("tap_id"), tabletID(c), req.PersonID
		tap.Queued, tap.ClockOff, tap.SaidAt = nil, nil, nil
		if answer != "again" {
			tap.Kind, tap.Note, tap.Trouble = models.TapKind(answer), "", nil
		}
		req.Tap = &tap
		return req, nil
	}
	return req, &models.Error{Code: models.Conflict, Field: "tap", Value: req.ID, Sentence: phrase.Of("That tap was answered already.")}
}

// noteOf is a returned tap as a note: what was tapped, and what the records said.
func (s *server) noteOf(c *gin.Context, back models.ReturnedTap) (*models.StepNote, error) {
	id := c.PostForm("tap_id")
	if _, err := uuid.Parse(id); err != nil {
		return nil, refused("tap_id", id, "The note has no id of its own (%q): load the page again.", id)
	}
	r, err := s.room(c)
	if err != nil {
		return nil, err
	}
	q := r.question(back, "")
	text := q.Said
	if q.Note != "" {
		text += " “" + q.Note + "”"
	}
	text += "\n" + r.say.say("The records said:") + " " + q.Why
	return &models.StepNote{ID: id, Tablet: tabletID(c), Text: text}, nil
}

// questions are the taps that came back and wait for an answer: those of one
// tablet, or for "" those of all.
func (r *room) questions(tablet, back string) []views.TapQuestion {
	var all []views.TapQuestion
	for _, tap := range r.snap.Returned {
		if tablet == "" || tap.Tablet == tablet {
			all = append(all, r.question(tap, back))
		}
	}
	return all
}

// question tells both versions: what was tapped, and what the records say.
func (r *room) question(tap models.ReturnedTap, back string) views.TapQuestion {
	req := tap.Request
	q := views.TapQuestion{ID: tap.ID, Href: "/taps/" + tap.ID, Back: back, TapID: uuid.NewString(), Why: r.say.tell(tap.Why), Note: req.Note}
	if t := r.snap.Tablet(tap.Tablet); t != nil {
		q.Tablet = t.Name
	}
	of := r.say.say("step %d", req.StepID)
	if st := r.snap.Step(req.StepID); st != nil {
		of, q.OfHref = st.Name, stepHref(st.ID)
		for _, a := range r.actions(st, r.standing(st), "") {
			q.Actions = append(q.Actions, views.AnswerAction{Answer: a.Kind, Label: a.Label})
		}
	}
	if req.StepID == 0 {
		of = r.say.say("a station")
		if st := r.snap.Station(req.StationID); st != nil {
			of = st.Name
		}
		q.Actions = []views.AnswerAction{{Answer: "again", Label: r.say.say("Tap it again")}}
	}
	who := r.who(&req.PersonID)
	if who == "" {
		who = r.say.say("Somebody")
	}
	key, known := lateTaps[req.Kind]
	if !known {
		key = lateOther
	}
	q.Said = r.say.say(string(key), who, of, r.say.at(tap.At), r.say.at(tap.CameAt))
	return q
}

// lateOther says a late tap of a kind without a sentence of its own.
var lateOther = phrase.Key("%[1]s tapped something for “%[2]s” at %[3]s; it reached the server at %[4]s.")

// lateTaps say a late tap: who, of what, when, and when it came.
var lateTaps = map[models.TapKind]phrase.Key{
	models.TapStart:   "%[1]s started “%[2]s” at %[3]s; it reached the server at %[4]s.",
	models.TapPutDown: "%[1]s put “%[2]s” down at %[3]s; it reached the server at %[4]s.",
	models.TapFinish:  "%[1]s finished “%[2]s” at %[3]s; it reached the server at %[4]s.",
	models.TapOut:     "%[1]s took “%[2]s” out at %[3]s; it reached the server at %[4]s.",
	models.TapTrouble: "%[1]s reported trouble with “%[2]s” at %[3]s; it reached the server at %[4]s.",
	models.TapHelp:    "%[1]s gave “%[2]s” further hands at %[3]s; it reached the server at %[4]s.",
	models.TapManage:  "%[1]s freed the helping hands of “%[2]s” at %[3]s; it reached the server at %[4]s.",
	models.TapJoinRun: "%[1]s took “%[2]s” along in a run at %[3]s; it reached the server at %[4]s.",
	models.TapSettled: "%[1]s settled the trouble with “%[2]s” at %[3]s; it reached the server at %[4]s.",
	models.TapSet:     "%[1]s set “%[2]s” at %[3]s; it reached the server at %[4]s.",
	models.TapUndo:    "%[1]s took back a tap on “%[2]s” at %[3]s; it reached the server at %[4]s.",
}

// cameLate tells what came too late for a step, and what became of it: what
// somebody tapped is not lost from sight, whatever was answered.
func (s *server) cameLate(c *gin.Context, r *room, step models.ID) ([]views.LateTap, error) {
	rows, err := s.store.Returned(c.Request.Context(), step)
	if err != nil {
		return nil, fmt.Errorf("read what came too late for step %d: %w", step, err)
	}
	var all []views.LateTap
	for _, tap := range rows {
		q := r.question(tap, "")
		late := views.LateTap{Said: q.Said, Why: q.Why, Answer: r.say.say("Nobody has answered it yet.")}
		switch tap.Answer {
		case models.AnswerLeft:
			late.Answer = r.say.say("%s let it be.", r.who(tap.AnsweredBy))
		case models.AnswerTapped:
			late.Answer = r.say.say("%s tapped what was possible then.", r.who(tap.AnsweredBy))
		}
		all = append(all, late)
	}
	return all, nil
}
