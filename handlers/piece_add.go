package handlers

import (
	"fmt"
	"net/http"
	"strconv"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/models/pattern"
	"faceside/models/phrase"
	"faceside/models/planner"
	"faceside/views"
)

func addPieceHref(commission models.ID) string { return commissionHref(commission) + "/add-piece" }

// addPiecePatterns asks what piece is added to a commission.
func (s *server) addPiecePatterns(c *gin.Context) {
	com, err := s.addable(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	s.page(c, http.StatusOK, "patterns", s.words(c).say("Another piece"), views.Patterns{Title: s.words(c).say("Another piece for %s", com.Name), Back: commissionHref(com.ID),
		Patterns: s.patternCards(s.words(c), func(key string) string { return addPieceHref(com.ID) + "/" + key })})
}

// addable reads the commission the path names, and refuses one that is closed.
func (s *server) addable(c *gin.Context) (*models.Commission, error) {
	_, com, err := s.commissionRead(c)
	if err != nil {
		return nil, err
	}
	if com.State != models.Open && com.State != models.Held {
		return nil, &models.Error{Code: models.Conflict, Field: "commission", Value: com.Name,
			Sentence: phrase.Of("“%s” is %s: no piece is added to it any more.", com.Name, com.State.Words())}
	}
	return com, nil
}

// addsTo makes of a draft one more piece of the commission the path names.
func (s *server) addsTo(c *gin.Context, d *draft) error {
	com, err := s.addable(c)
	if err != nil {
		return err
	}
	d.into, d.about, d.piece = com, *com, d.title()
	taken := map[string]bool{}
	for i, p := range d.room.snap.Pieces { // as they are shown, and as they are kept
		for _, name := range []string{p.Name, d.room.records.Pieces[i].Name} {
			taken[name] = taken[name] || p.CommissionID == com.ID
		}
	}
	for n := 2; taken[d.piece]; n++ {
		d.piece = fmt.Sprintf("%s %d", d.title(), n)
	}
	return nil
}

// tellInto turns the form of a new commission into that of one more piece.
func (d *draft) tellInto(data *views.Draft) {
	data.Into, data.IntoHref, data.Edition = d.into.Name, commissionHref(d.into.ID), d.into.Edition
	data.Action, data.Another = addPieceHref(d.into.ID)+"/"+d.pattern.Key, addPieceHref(d.into.ID)
	data.About = []views.Field{{Name: "piece", Label: d.room.say.say("Name of the piece"), Kind: "text", Value: d.piece, Help: d.room.say.say("So that it is told apart from the others of the commission.")}}
}

// thinkOut plans with a drafted piece.
func (s *server) thinkOut(c *gin.Context, d *draft, built *pattern.Built) (*planner.Draft, error) {
	if d.into != nil {
		return s.planner.DraftPiece(c.Request.Context(), built, d.into.ID, d.effort)
	}
	return s.planner.Draft(c.Request.Context(), built, d.about.PromisedOn, d.about.Weight, d.effort)
}

// addDraft adds a drafted piece to its commission.
func (s *server) addDraft(c *gin.Context, d *draft, piece models.NewPiece) (models.ID, error) {
	edition, err := strconv.ParseInt(d.form.Get("edition"), 10, 64)
	if err != nil {
		edition = -1 // no edition: it is refused as stale
	}
	id, err := s.store.AddPiece(c.Request.Context(), d.into.ID, edition, piece)
	if err != nil {
		return 0, fmt.Errorf("add the piece: %w", err)
	}
	s.log.Info("piece added", "commission", d.into.ID, "piece", id, "steps", len(piece.Steps))
	return d.into.ID, nil
}
