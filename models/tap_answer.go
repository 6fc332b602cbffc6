package models

import (
	"context"
	"fmt"

	"gorm.io/gorm"

	"faceside/models/phrase"
)

// AnswerRequest is what a person wants done about a returned tap.
type AnswerRequest struct {
	ID       string // of the returned tap
	PersonID ID
	Tap      *TapRequest // tapped in its place; nil: it is let be
}

// AnswerTap settles what becomes of a returned tap, once. A tap in its place
// that is refused leaves the question open.
func (s *Store) AnswerTap(ctx context.Context, r AnswerRequest) error {
	return s.write(ctx, "settle the returned tap", func(tx *gorm.DB) (*Change, error) {
		t := tapper{tx: tx, now: s.Now()}
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
			return &Change{Kind: ChangedTablet}, t.answer(back, AnswerLeft, r.PersonID)
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

// answer writes what became of a returned tap.
func (t *tapper) answer(back *ReturnedTap, answer TapAnswer, by ID) error {
	back.Answer, back.AnsweredBy, back.AnsweredAt = answer, &by, &t.now
	err := t.tx.Model(back).Where("id = ?", back.ID).Select("Answer", "AnsweredBy", "AnsweredAt").Updates(back).Error
	if err != nil {
		return fmt.Errorf("note the answer about tap %s: %w", back.ID, err)
	}
	return nil
}

// readReturned fills in the taps that wait for an answer, oldest first.
func (s *Snapshot) readReturned(tx *gorm.DB) error {
	if err := tx.Where("answer = ''").Order("came_at, tablet_seq").Find(&s.Returned).Error; err != nil {
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
