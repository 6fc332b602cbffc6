package handlers

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"

	"github.com/gin-gonic/gin"
	"github.com/google/uuid"

	"faceside/models"
	"faceside/models/phrase"
)

// tapKinds are the kinds of tap the forms can send.
var tapKinds = []models.TapKind{
	models.TapStart, models.TapPutDown, models.TapFinish, models.TapOut,
	models.TapTrouble, models.TapSettled, models.TapSet, models.TapUndo,
	models.TapStartRun, models.TapJoinRun, models.TapPutDownRun, models.TapHelp, models.TapManage, models.TapDown, models.TapUp,
}

// tap writes one row of the journal and shows what follows from it, or tells
// the tablet's queue.
func (s *server) tap(c *gin.Context) {
	req, err := s.tapRequest(c)
	var result models.TapResult
	if err == nil {
		result, err = s.store.Tap(c.Request.Context(), req)
	}
	s.measures.tap(req.Queued, result, err)
	forget(c)
	back := localPath(c.PostForm("back"))
	if req.Trouble != nil && req.Trouble.Kind == models.TroubleHand {
		back = "/" // the work goes on
	}
	switch {
	case queued(c):
		s.answerQueue(c, result, err)
	case err != nil && statusOf(err) >= http.StatusInternalServerError:
		s.fail(c, err)
	case err != nil && c.PostForm("from") == "trouble":
		s.troubleAgain(c, req.StepID, err)
	case err != nil:
		s.tapRefused(c, back, err)
	default:
		seeOther(c, back)
	}
}

// tapRefused shows the screen the tap came from, with the reason above it.
func (s *server) tapRefused(c *gin.Context, back string, refusal error) {
	if s.stationRefused(c, back, refusal) {
		return
	}
	var id models.ID
	if _, err := fmt.Sscanf(back, "/steps/%d", &id); err == nil {
		if data, err := s.stepData(c, id); err == nil {
			data.Notice = s.words(c).sentence(refusal)
			s.page(c, statusOf(refusal), "step", data.Card.Name, data)
			return
		}
	}
	if back == gatesHref {
		s.gatesPage(c, statusOf(refusal), s.words(c).sentence(refusal))
		return
	}
	data, err := s.benchData(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	data.Notice = s.words(c).sentence(refusal)
	s.page(c, statusOf(refusal), "bench", s.words(c).say("Bench"), data)
}

// tapRequest reads the form of a tap.
func (s *server) tapRequest(c *gin.Context) (models.TapRequest, error) {
	if err := parseForm(c); err != nil {
		return models.TapRequest{}, err
	}
	req := models.TapRequest{
		ID: c.PostForm("tap_id"), Kind: models.TapKind(c.PostForm("kind")), Run: c.PostForm("run"),
		Tablet: tabletID(c), Note: tapNote(c), SaidAt: saidAt(c.PostForm("said_at")),
	}
	if err := tapNumbers(c, &req); err != nil {
		return req, err
	}
	if _, err := uuid.Parse(req.ID); err != nil {
		return req, refused("tap_id", req.ID, "The tap has no id of its own (%q): load the page again.", req.ID)
	}
	if err := troubleSaid(c, &req); err != nil {
		return req, err
	}
	if queued(c) {
		return req, s.queuedTap(c, &req) // whatever else is wrong with it: the store keeps it
	}
	if !slices.Contains(tapKinds, req.Kind) {
		return req, refused("kind", string(req.Kind), "There is no tap called %q.", req.Kind)
	}
	var err error
	req.PersonID, err = s.whoTaps(c)
	return req, err
}

// whoTaps is who is at the asking tablet: a refusal where nobody said so.
func (s *server) whoTaps(c *gin.Context) (models.ID, error) {
	snap, err := s.snapshot(c)
	if err != nil {
		return 0, err
	}
	person := s.person(c, snap)
	if person == nil {
		return 0, refused("person", "", "Say first who is at this tablet: the journal names who tapped.")
	}
	return person.ID, nil
}

// tapNumbers reads the numbers of records that a tap names.
func tapNumbers(c *gin.Context, req *models.TapRequest) error {
	for _, number := range []struct {
		name string
		to   *int64
	}{{"step", &req.StepID}, {"station", &req.StationID}, {"setup", &req.SetupID}, {"undoes", &req.Undoes}, {"helper", &req.HelperID}, {"person", &req.PersonID}} {
		var err error
		if *number.to, err = numberSaid(number.name, c.PostForm(number.name)); err != nil {
			return err
		}
	}
	for _, text := range c.PostFormArray("steps") {
		id, err := numberSaid("step", text)
		if err != nil {
			return err
		}
		req.Steps = append(req.Steps, id)
	}
	return nil
}

// numberSaid reads the number of a record; "" is none.
func numberSaid(what, text string) (models.ID, error) {
	if text == "" {
		return 0, nil
	}
	id, err := strconv.ParseInt(text, 10, 64)
	if err != nil {
		return 0, refused(what, text, "The %s has no number %q.", models.Named(what), text)
	}
	return id, nil
}

// tapNote is the reason that was tapped and the note that was typed.
func tapNote(c *gin.Context) string {
	reason, note := strings.TrimSpace(c.PostForm("reason")), strings.TrimSpace(c.PostForm("note"))
	if reason == "" || note == "" {
		return reason + note
	}
	return reason + ": " + note
}

// saidAt is the tablet's own clock, if it told.
func saidAt(text string) *time.Time {
	t, err := time.Parse(time.RFC3339, text)
	if err != nil {
		return nil
	}
	return &t
}

// refused is a refusal made here and not in the store.
func refused(field, value, format string, args ...any) error {
	return &models.Error{Code: models.Invalid, Field: field, Value: value, Sentence: phrase.Of(format, args...)}
}

// localPath keeps a path of this server and turns anything else into the bench.
// Browsers take control characters out of an address, so that "/\t/there" is "//there".
func localPath(path string) string {
	if !strings.HasPrefix(path, "/") || strings.HasPrefix(path, "//") || strings.ContainsFunc(path, func(r rune) bool { return r == '\\' || unicode.IsControl(r) }) {
		return "/"
	}
	return path
}

// idOf is the number in the path.
func idOf(c *gin.Context) (models.ID, error) {
	text := c.Param("id")
	id, err := strconv.ParseInt(text, 10, 64)
	if err != nil || id < 1 {
		return 0, &models.Error{Code: models.NotFound, Field: "id", Value: text, Sentence: phrase.Of("%q is no number of a record.", text)}
	}
	return id, nil
}
