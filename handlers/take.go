package handlers

import (
	"fmt"
	"sync"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/models/pattern"
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
	if data.Preview.Early {
		data.Early = d.about.PromisedOn
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

// tooEarly refuses a promise that no plan keeps, unless the maker said that they know.
// Where no bound is found, as in a shop without hours, nothing is refused: the plan
// says why there is none.
func (s *server) tooEarly(c *gin.Context, d *draft, built *pattern.Built) error {
	if c.PostForm("early") == d.about.PromisedOn {
		return nil
	}
	b, err := s.planner.Bound(c.Request.Context(), built, d.about.PromisedOn, d.about.Weight)
	if by, ok := planner.PromisedBy(d.room.records, &d.about); err != nil || !ok || !by.Before(b.At) {
		return nil
	}
	w := d.room.say
	return &models.Error{Code: models.Conflict, Field: "promised_date", Value: d.about.PromisedOn,
		Sentence: phrase.Of("The promise, %[1]s, is earlier than can be: it is not complete before %[2]s. %[3]s", w.date(d.about.PromisedOn), w.at(b.At), b.Sentence())}
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
	if err := s.tooEarly(c, d, built); err != nil {
		return 0, err
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
