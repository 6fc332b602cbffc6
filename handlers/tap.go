package handlers

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"github.com/gin-gonic/gin"

	"faceside/handlers/tapform"
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
	tap, wrong := tapform.Read(c.Request.PostForm)
	req := models.TapRequest{
		ID: tap.ID, Kind: models.TapKind(tap.Kind), Run: tap.Run, Tablet: tabletID(c), Note: tap.Note, SaidAt: tap.SaidAt,
		StepID: tap.Step, Steps: tap.Steps, StationID: tap.Station, SetupID: tap.Setup, HelperID: tap.Helper, PersonID: tap.Person, Undoes: tap.Undoes,
		Trouble: troubleSaid(tap.Trouble),
	}
	if wrong != nil {
		return req, &models.Error{Code: models.Invalid, Field: wrong.Field, Value: wrong.Value, Sentence: wrong.Sentence}
	}
	if tap.Queue != nil {
		s.queuedTap(c, &req, tap) // whatever else is wrong with it: the store keeps it
		return req, nil
	}
	if !slices.Contains(tapKinds, req.Kind) {
		return req, refused("kind", tap.Kind, "There is no tap called %q.", tap.Kind)
	}
	var err error
	req.PersonID, err = s.whoTaps(c)
	return req, err
}

// troubleSaid is what was said of trouble, as the records have it.
func troubleSaid(t *tapform.Trouble) *models.Trouble {
	if t == nil {
		return nil
	}
	return &models.Trouble{Kind: models.TroubleKind(t.Kind), Parts: t.Parts, Assemblies: t.Assemblies,
		FirstID: t.First, ExpectedOn: t.ExpectedOn, HelperID: t.Helper, Left: t.Left}
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
