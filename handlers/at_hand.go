package handlers

import (
	"fmt"
	"strings"

	"github.com/gin-gonic/gin"
	"github.com/google/uuid"

	"faceside/models"
	"faceside/models/pattern"
	"faceside/views"
)

// atHand adds to a card what is kept beside the snapshot: its pieces to tap off,
// its notes and its drawing. back is where plain HTML goes on after a tap.
func (s *server) atHand(c *gin.Context, r *room, card *views.StepCard, back string) (views.StepMore, error) {
	st := r.snap.Step(card.ID)
	if st == nil {
		return views.StepMore{}, nil
	}
	k, err := s.keptFor(c, r, back, st.ID)
	if err != nil {
		return views.StepMore{}, err
	}
	return k.more(st, card.Parts), nil
}

// runAtHand adds the same to the steps of a run that are still in hand.
func (s *server) runAtHand(c *gin.Context, r *room, card *views.RunCard) error {
	var ids []models.ID
	for _, step := range card.Steps {
		if len(step.Actions) > 0 {
			ids = append(ids, step.ID)
		}
	}
	k, err := s.keptFor(c, r, "", ids...)
	if err != nil {
		return err
	}
	for i := range card.Steps {
		if step := &card.Steps[i]; len(step.Actions) > 0 {
			step.More = k.more(r.snap.Step(step.ID), step.Parts)
			step.More.Of = step.Row.Name
		}
	}
	return nil
}

// kept is what is kept of steps beside the snapshot.
type kept struct {
	*server
	room   *room
	person *models.Person
	back   string // where plain HTML goes on after a tap
	ticked map[models.ID]models.Ticked
	notes  map[models.ID][]models.NoteOfStep
	built  map[models.ID]*pattern.Built // pieces, each built once
}

func (s *server) keptFor(c *gin.Context, r *room, back string, steps ...models.ID) (*kept, error) {
	k := &kept{server: s, room: r, person: s.person(c, r.snap), back: back, built: map[models.ID]*pattern.Built{}}
	var err error
	if k.ticked, err = s.store.Ticked(c.Request.Context(), steps...); err != nil {
		return nil, err
	}
	k.notes, err = s.store.NotesOf(c.Request.Context(), steps...)
	return k, err
}

// more is what there is of one step; its pieces become ones to tap off.
func (k *kept) more(st *models.Step, parts []views.PartRow) views.StepMore {
	more := views.StepMore{Notes: k.room.noteRows(k.notes[st.ID])}
	if k.person != nil {
		more.NoteHref = stepHref(st.ID) + "/note"
		if k.back == "" {
			more.NoteHref += "?back=bench"
		}
		tickable(parts, st, k.ticked[st.ID], k.person.ID, k.back)
	}
	k.draw(&more, st)
	return more
}

// tickable makes the pieces of a step ones to tap off, where there are several.
func tickable(parts []views.PartRow, st *models.Step, ticked models.Ticked, person models.ID, back string) {
	pieces := 0
	for _, row := range parts {
		pieces += row.Count
	}
	if st.State != models.InHand && st.State != models.PutDown || pieces < 2 {
		return
	}
	for i := range parts {
		row := &parts[i]
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

// draw draws a step's piece with the parts of the step lit, and names them. What
// has no drawing is left out: this is not the place to say why.
func (k *kept) draw(more *views.StepMore, st *models.Step) {
	r, parts := k.room, k.room.partsIn(st)
	piece := r.snap.Piece(st.PieceID)
	if piece == nil || len(parts) == 0 {
		return
	}
	built, known := k.built[piece.ID]
	if !known {
		built, _ = k.rebuild(r, piece)
		k.built[piece.ID] = built
	}
	if built == nil {
		return
	}
	more.Hatch = fmt.Sprintf("pd-hatch-%d", st.ID)
	lit, names := views.LitPiece{Title: piece.Name, Lit: map[string]bool{}, Views: r.say.pieceViews(built), Hatch: more.Hatch}, []string{}
	for _, p := range parts {
		lit.Lit[p.Key] = true
		names = append(names, p.Name)
	}
	svg, err := lit.SVG()
	if err != nil {
		k.log.Error("draw the parts of a step", "step", st.ID, "error", err)
		return
	}
	more.Drawing.SVG, more.Lit = svg, strings.Join(names, ", ")
	if len(parts) == len(r.partsOf(piece.ID)) {
		more.Lit = r.say.say("the whole piece")
	}
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
