package handlers

import (
	"strings"

	"github.com/gin-gonic/gin"
	"github.com/google/uuid"

	"faceside/models"
	"faceside/views"
)

// atHand adds to a card what is kept beside the snapshot: its pieces to tap off,
// its notes and its drawing. back is where plain HTML goes on after a tap.
func (s *server) atHand(c *gin.Context, r *room, card *views.StepCard, back string) (views.StepMore, error) {
	var more views.StepMore
	st := r.snap.Step(card.ID)
	if st == nil {
		return more, nil
	}
	if person := s.person(c, r.snap); person != nil {
		more.NoteHref = stepHref(st.ID) + "/note"
		if back == "" {
			more.NoteHref += "?back=bench"
		}
		ticked, err := s.store.Ticked(c.Request.Context(), st.ID)
		if err != nil {
			return more, err
		}
		tickable(card, st, ticked, person.ID, back)
	}
	notes, err := s.store.NotesOf(c.Request.Context(), st.ID)
	if err != nil {
		return more, err
	}
	more.Notes = r.noteRows(notes)
	more.Drawing, more.Lit = s.litDrawing(r, st)
	return more, nil
}

// tickable makes the pieces of a card ones to tap off, where there are several.
func tickable(card *views.StepCard, st *models.Step, ticked models.Ticked, person models.ID, back string) {
	pieces := 0
	for _, row := range card.Parts {
		pieces += row.Count
	}
	if st.State != models.InHand && st.State != models.PutDown || pieces < 2 {
		return
	}
	for i := range card.Parts {
		row := &card.Parts[i]
		for n := 1; n <= row.Count; n++ {
			t := views.Tick{ID: uuid.NewString(), Step: st.ID, Part: row.Part, Person: person, Number: n, Of: row.Count,
				Name: row.Name, Done: ticked[row.Part][n], Back: back}
			if t.Done {
				row.Done++
			}
			row.Ticks = append(row.Ticks, t)
		}
	}
}

// litDrawing draws a step's piece with the parts of the step lit, and names them.
// What has no drawing is left out: this is not the place to say why.
func (s *server) litDrawing(r *room, st *models.Step) (views.Drawing, string) {
	piece := r.snap.Piece(st.PieceID)
	parts := r.partsIn(st)
	if piece == nil || len(parts) == 0 {
		return views.Drawing{}, ""
	}
	built, _ := s.rebuild(r, piece)
	if built == nil {
		return views.Drawing{}, ""
	}
	lit, keys, names := views.LitPiece{Title: piece.Name, Lit: map[string]bool{}}, map[string]string{}, []string{}
	for _, p := range built.Parts {
		keys[p.Key] = p.Name
	}
	for _, p := range parts {
		lit.Lit[p.Key] = true
		names = append(names, p.Name)
	}
	for _, v := range built.Views {
		lit.Views = append(lit.Views, r.say.pieceView(v, keys))
	}
	svg, err := lit.SVG()
	if err != nil {
		s.log.Error("draw the parts of a step", "step", st.ID, "error", err)
		return views.Drawing{}, ""
	}
	if len(parts) == len(r.partsOf(piece.ID)) {
		return views.Drawing{SVG: svg}, r.say.say("the whole piece")
	}
	return views.Drawing{SVG: svg}, strings.Join(names, ", ")
}

// partsIn are the parts that a step works on, those in its assemblies too.
func (r *room) partsIn(st *models.Step) []*models.Part {
	ids := map[models.ID]bool{}
	for _, use := range r.snap.PartsOf(st.ID) {
		ids[use.PartID] = true
	}
	inside := map[models.ID]bool{}
	var open []models.ID
	for _, use := range r.snap.AssembliesOf(st.ID) {
		open = append(open, use.AssemblyID)
	}
	for ; len(open) > 0; open = open[1:] {
		if inside[open[0]] {
			continue
		}
		inside[open[0]] = true
		for _, inner := range r.snap.AssemblyAssemblies {
			if inner.AssemblyID == open[0] {
				open = append(open, inner.InnerID)
			}
		}
	}
	for _, use := range r.snap.AssemblyParts {
		if inside[use.AssemblyID] {
			ids[use.PartID] = true
		}
	}
	var parts []*models.Part
	for i := range r.snap.Parts {
		if p := &r.snap.Parts[i]; ids[p.ID] && p.PieceID == st.PieceID {
			parts = append(parts, p)
		}
	}
	return parts
}
