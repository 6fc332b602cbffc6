package models

import (
	"context"
	"fmt"
	"slices"
	"sync"

	"gorm.io/gorm"

	"faceside/models/phrase"
)

// AnswerRequest is what a person wants done about a returned tap.
type AnswerRequest struct {
	ID       string // of the returned tap
	PersonID ID
	Tap      *TapRequest // tapped in its place; nil: it is let be
	Note     *StepNote   // kept with the step where it is let be; its text is enough, and an id
}

// AnswerTap settles what becomes of a returned tap, once. A tap in its place
// that is refused leaves the question open.
func (s *Store) AnswerTap(ctx context.Context, r AnswerRequest) error {
	return s.write(ctx, "settle the returned tap", func(tx *gorm.DB) (*Change, error) {
		t := tapper{store: s, tx: tx, now: s.Now()}
		back, err := t.returned(r.ID)
		if err != nil {
			return nil, err
		}
		if back == nil {
			return nil, &Error{Code: NotFound, Field: "tap", Value: r.ID, Sentence: phrase.Of("There is no returned tap %q.", r.ID)}
		}
		if back.Answer == AnswerLeft || back.Answer == AnswerTapped {
			return nil, conflict("tap", r.ID, "That tap was answered already.")
		}
		if _, err := get[Person](tx, "person", r.PersonID); err != nil {
			return nil, err
		}
		if r.Tap == nil {
			return t.letBe(back, r)
		}
		t.request = *r.Tap
		var result TapResult
		change, err := t.record(&result)
		if err != nil {
			return nil, err
		}
		return change, t.answer(back, AnswerTapped, r.PersonID)
	})
}

// letBe writes that nothing was tapped in a returned tap's place, and the note of it
// if one is to be kept.
func (t *tapper) letBe(back *ReturnedTap, r AnswerRequest) (*Change, error) {
	change := &Change{Kind: ChangedTablet}
	if r.Note != nil {
		note := *r.Note
		note.StepID, note.PersonID, note.At = back.Request.StepID, r.PersonID, t.now
		if err := note.check(nil); err != nil {
			return nil, err
		}
		known, err := note.known(t.tx)
		if err != nil {
			return nil, err
		}
		if known { // kept already; the question is answered all the same
			return change, t.answer(back, AnswerLeft, r.PersonID)
		}
		if err := note.fits(t.tx); err != nil {
			return nil, err
		}
		if err := t.tx.Create(&note).Error; err != nil {
			return nil, fmt.Errorf("store note %s: %w", note.ID, err)
		}
		change.Kind = ChangedNote
	}
	return change, t.answer(back, AnswerLeft, r.PersonID)
}

// answer writes what became of a returned tap.
func (t *tapper) answer(back *ReturnedTap, answer TapAnswer, by ID) error {
	back.Answer, back.AnsweredBy, back.AnsweredAt = answer, &by, &t.now
	err := t.tx.Model(back).Where("id = ?", back.ID).Select("Answer", "AnsweredBy", "AnsweredAt").Updates(back).Error
	if err != nil {
		return fmt.Errorf("note the answer about tap %s: %w", back.ID, err)
	}
	return nil
}

// returnedAtOnce is how many are asked for by their ids at once.
const returnedAtOnce = 100

// returnedCache keeps the taps that wait for an answer: as long as they do they do not
// change, and where nobody answers they are many.
type returnedCache struct {
	mu  sync.Mutex
	all map[string]ReturnedTap
}

// open reads them, oldest first, and forgets those that were answered since.
func (c *returnedCache) open(tx *gorm.DB) ([]ReturnedTap, error) {
	var ids []string
	if err := tx.Model(&ReturnedTap{}).Where("answer = ''").Order("came_at, tablet_seq").Pluck("id", &ids).Error; err != nil {
		return nil, err
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	unknown := slices.DeleteFunc(slices.Clone(ids), func(id string) bool { _, known := c.all[id]; return known })
	all := make(map[string]ReturnedTap, len(ids))
	for some := range slices.Chunk(unknown, returnedAtOnce) {
		var read []ReturnedTap
		if err := tx.Where("id IN ?", some).Find(&read).Error; err != nil {
			return nil, err
		}
		for _, row := range read {
			all[row.ID] = row
		}
	}
	rows := make([]ReturnedTap, len(ids))
	for i, id := range ids {
		if known, ok := c.all[id]; ok {
			all[id] = known
		}
		rows[i] = all[id]
	}
	c.all = all
	return rows, nil
}

// readReturned fills in the taps that wait for an answer, oldest first.
func (s *Snapshot) readReturned(tx *gorm.DB, cache *returnedCache) error {
	var err error
	if s.Returned, err = cache.open(tx); err != nil {
		return fmt.Errorf("read the returned taps: %w", err)
	}
	return nil
}

// Returned lists the taps on a step that came too late, oldest first: those that
// were answered, too.
func (s *Store) Returned(ctx context.Context, step ID) ([]ReturnedTap, error) {
	var rows []ReturnedTap
	err := s.read(ctx, "read what came too late", func(tx *gorm.DB) error {
		return tx.Where("answer <> ? AND json_extract(request, '$.StepID') = ?", AnswerTold, step).Order("came_at, tablet_seq").Find(&rows).Error
	})
	return rows, err
}
