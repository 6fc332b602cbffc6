package handlers

import (
	"fmt"
	"sync"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/models/phrase"
	"faceside/models/planner"
	"faceside/views"
)

// takenKept is how many sent forms are remembered.
const takenKept = 256

// takenForms remembers which form became which commission, so that a form sent
// twice takes one commission. Forms are taken one at a time.
type takenForms struct {
	mu    sync.Mutex
	ids   map[string]models.ID
	order []string
}

// once calls take unless the form was taken already.
func (t *takenForms) once(form string, take func() (models.ID, error)) (models.ID, error) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if id, ok := t.ids[form]; ok {
		return id, nil
	}
	id, err := take()
	if err != nil {
		return 0, err
	}
	if t.ids == nil {
		t.ids = map[string]models.ID{}
	}
	t.ids[form] = id
	t.order = append(t.order, form)
	if len(t.order) > takenKept {
		delete(t.ids, t.order[0])
		t.order = t.order[1:]
	}
	return id, nil
}

// take takes a drafted commission in.
func (s *server) take(c *gin.Context) {
	d, err := s.typedDraft(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	id, refusal := s.taken.once(d.formID, func() (models.ID, error) { return s.takeDraft(c, d) })
	if refusal == nil {
		seeOther(c, commissionHref(id))
		return
	}
	forget(c)
	data, built, err := s.draftData(c, d)
	if err != nil {
		s.fail(c, err)
		return
	}
	if built != nil && d.wrong == nil && !anyWrong(data.About) {
		if data.Notice = s.words(c).blame(data.About, refusal); data.Notice == "" && !anyWrong(data.About) {
			data.Notice = s.words(c).sentence(refusal)
		}
	}
	s.page(c, formStatus(refusal), "draft", d.title(), data)
}

func anyWrong(fields []views.Field) bool {
	for _, f := range fields {
		if f.Error != "" {
			return true
		}
	}
	return false
}

func (s *server) takeDraft(c *gin.Context, d *draft) (models.ID, error) {
	if d.wrong != nil {
		return 0, d.wrong
	}
	built, err := s.library.Build(d.in, d.shop)
	if err != nil {
		return 0, &formError{fields: map[string]phrase.Phrase{"": phrase.Name(err.Error())}}
	}
	piece, err := planner.PieceRecords(built, d.piece, d.in, d.room.records)
	if err != nil {
		return 0, fmt.Errorf("the records of %s: %w", d.pattern.Key, err)
	}
	if d.into != nil {
		return s.addDraft(c, d, piece)
	}
	com := d.about
	com.State = models.Open
	taken, err := s.store.TakeCommission(c.Request.Context(), models.NewCommission{Commission: com, Pieces: []models.NewPiece{piece}})
	if err != nil {
		return 0, fmt.Errorf("take the commission: %w", err)
	}
	s.log.Info("commission taken", "id", taken.ID, "steps", len(built.Steps))
	return taken.ID, nil
}
