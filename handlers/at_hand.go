package handlers

import (
	"fmt"
	"html/template"
	"strings"
	"sync"

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
}

func (s *server) keptFor(c *gin.Context, r *room, back string, steps ...models.ID) (*kept, error) {
	k := &kept{server: s, room: r, person: s.person(c, r.snap), back: back}
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

// litDrawing is a step's piece with the parts of the step lit, and their names. What
// has no drawing is empty: this is not the place to say why.
type litDrawing struct {
	svg   template.HTML
	lit   string
	hatch string
}

// litKey is what a drawing hangs on. All that is of a commission changes with its
// edition, and the patterns with their library.
type litKey struct {
	step     models.ID
	edition  int64
	patterns *pattern.Library
	units    string
	fraction int
	language string
}

// litDrawings keeps what was drawn: the benches of many tablets are drawn anew after
// each tap, and their pieces stay the same.
type litDrawings struct {
	mu   sync.Mutex
	kept map[litKey]litDrawing
}

// litMost is how many are kept at most.
const litMost = 200

// get returns a drawing that is kept, or draws and keeps it.
func (l *litDrawings) get(key litKey, draw func() litDrawing) litDrawing {
	l.mu.Lock()
	defer l.mu.Unlock()
	if d, known := l.kept[key]; known {
		return d
	}
	if l.kept == nil || len(l.kept) >= litMost {
		l.kept = map[litKey]litDrawing{}
	}
	d := draw()
	l.kept[key] = d
	return d
}

// draw adds a step's drawing, drawn once for each edition of its commission.
func (k *kept) draw(more *views.StepMore, st *models.Step) {
	com, shop := k.room.snap.Commission(st.CommissionID), &k.room.snap.Shop
	if com == nil {
		return
	}
	key := litKey{st.ID, com.Edition, k.library.now.Load(), shop.Units, shop.Fraction, shop.Language}
	d := k.drawings.get(key, func() litDrawing { return k.lit(st) })
	more.Drawing.SVG, more.Lit, more.Hatch = d.svg, d.lit, d.hatch
}

// lit draws a step's piece with the parts of the step lit.
func (k *kept) lit(st *models.Step) litDrawing {
	r, parts := k.room, k.room.partsIn(st)
	piece := r.snap.Piece(st.PieceID)
	if piece == nil || len(parts) == 0 {
		return litDrawing{}
	}
	built, _ := k.rebuild(r, piece)
	if built == nil {
		return litDrawing{}
	}
	d := litDrawing{hatch: fmt.Sprintf("pd-hatch-%d", st.ID)}
	lit, names := views.LitPiece{Title: piece.Name, Lit: map[string]bool{}, Views: r.say.pieceViews(built), Hatch: d.hatch}, []string{}
	for _, p := range parts {
		lit.Lit[p.Key] = true
		names = append(names, p.Name)
	}
	var err error
	if d.svg, err = lit.SVG(); err != nil {
		k.log.Error("draw the parts of a step", "step", st.ID, "error", err)
		return litDrawing{}
	}
	if d.lit = strings.Join(names, ", "); len(parts) == len(r.partsOf(piece.ID)) {
		d.lit = r.say.say("the whole piece")
	}
	return d
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
