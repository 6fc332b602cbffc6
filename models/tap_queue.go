package models

import (
	"errors"
	"fmt"
	"time"

	"gorm.io/gorm"
	"gorm.io/gorm/clause"

	"faceside/models/phrase"
)

// Queued says where a tap stands among those of its tablet, and how long it
// waited there.
type Queued struct {
	Queue  string        // the tablet's queue, an id made on the tablet
	Number int64         // 1, 2, 3 … in the order tapped
	First  bool          // the tablet has nothing left of what came before
	Late   bool          // it could not be sent when it was tapped
	Waited time.Duration // by the tablet's own count, where it is late
	Heard  *time.Time    // the server's clock as the tablet last heard it before the tap; nil: it does not say
}

// tapQueue is how far a tablet's queue was answered.
type tapQueue struct {
	ID     string
	Tablet string
	Last   int64
}

// ReturnedTap is a tap from a tablet's queue that the records did not allow when
// it came. It is kept whole, with the reason, until a person has answered.
type ReturnedTap struct {
	ID         string // of the tap
	Tablet     string
	Queue      string
	TabletSeq  int64
	Request    TapRequest    `gorm:"serializer:json"`
	Why        phrase.Phrase `gorm:"serializer:json"` // what the records said
	At         time.Time     // when it was tapped
	CameAt     time.Time
	Answer     TapAnswer
	AnsweredBy *ID
	AnsweredAt *time.Time
}

// TapAnswer is what became of a returned tap.
type TapAnswer string

// The answers. AnswerOpen still asks a person.
const (
	AnswerOpen   TapAnswer = ""
	AnswerTold   TapAnswer = "told"   // it was refused to the face of who tapped
	AnswerLeft   TapAnswer = "left"   // let be
	AnswerTapped TapAnswer = "tapped" // tapped again as what was possible then
)

// fromQueue records a tap of a tablet's queue. The taps of one tablet are taken
// in its order: one whose predecessor has not come is sent back unwritten, with
// the number to send from. One that is refused still has its turn, and is kept.
func (t *tapper) fromQueue(result *TapResult) (change *Change, refusal *Error, err error) {
	q := t.request.Queued
	if q.Queue == "" || len(q.Queue) > tapIDLimit || q.Number < 1 || t.request.ID == "" || len(t.request.ID) > tapIDLimit {
		return nil, nil, invalid("number", q.Number, "A tap of a tablet's queue needs the queue's id, a number from 1 on and an id of its own; it has %q, %d and %q.", q.Queue, q.Number, t.request.ID)
	}
	last, err := t.lastAnswered()
	if err != nil {
		return nil, nil, err
	}
	if answered, refusal, change, err := t.answered(last, result); answered || err != nil {
		return change, refusal, err
	}
	if q.Number > last+1 && !q.First {
		result.SendFrom = last + 1
		return nil, nil, &Error{Code: Stale, Field: "number", Value: fmt.Sprint(q.Number),
			Sentence: phrase.Of("Tap %d of this tablet came before tap %d: send from %d.", q.Number, last+1, last+1)}
	}
	if q.Number <= last {
		refusal = conflict("number", q.Number, "Tap %d of this tablet was answered before, and was another one.", q.Number)
	} else if change, refusal, err = t.turn(result); err != nil {
		return nil, nil, err
	}
	if refusal != nil {
		if change, err = t.giveBack(refusal, result); err != nil {
			return nil, nil, err
		}
	}
	return change, refusal, t.advance(last)
}

// turn records the tap as any other, once it is known whose it is. What a refused one
// had begun to write is rolled back, and nothing else.
func (t *tapper) turn(result *TapResult) (change *Change, refusal *Error, err error) {
	if refusal, err = t.unproven(); refusal != nil || err != nil {
		return nil, refusal, err
	}
	outer := t.tx
	defer func() { t.tx = outer }()
	err = outer.Transaction(func(inner *gorm.DB) error {
		t.tx = inner
		change, err = t.record(result)
		return err
	})
	var refused *Error
	if errors.As(err, &refused) && refused.Code.Refusal() {
		*result = TapResult{}
		return nil, refused, nil
	}
	return change, nil, err
}

// answered finds what a tap with this id came to when it was sent before.
func (t *tapper) answered(last int64, result *TapResult) (answered bool, refusal *Error, change *Change, err error) {
	if there, err := repeatedTap(t.tx, t.request, result); there || err != nil {
		return there, nil, nil, err
	}
	t.isNew = true
	back, err := t.returned(t.request.ID)
	if err != nil {
		return false, nil, nil, err
	}
	if back == nil {
		answered, err = t.withdrawn(last, result)
		return answered, nil, nil, err
	}
	// Nobody may have seen the first answer: ask.
	if back.Answer == AnswerTold && t.request.Queued.Late {
		back.Answer, change = AnswerOpen, &Change{Kind: ChangedTablet}
		if err := t.tx.Model(back).Where("id = ?", back.ID).UpdateColumn("answer", back.Answer).Error; err != nil {
			return true, nil, nil, fmt.Errorf("ask about tap %s: %w", back.ID, err)
		}
	}
	result.Returned = back
	return true, &Error{Code: Conflict, Field: "tap id", Value: back.ID, Sentence: back.Why}, change, nil
}

// withdrawn says whether an undo that had its turn has withdrawn a returned tap: that
// leaves nothing of its own by which it would be known when it is sent again.
func (t *tapper) withdrawn(last int64, result *TapResult) (bool, error) {
	r := t.request
	if r.Kind != TapUndo || r.UndoesID == "" || r.Queued.Number > last {
		return false, nil
	}
	back, err := t.returned(r.UndoesID)
	if err != nil || back == nil || back.Answer != AnswerLeft {
		return false, err
	}
	result.Returned = back
	return true, nil
}

func (t *tapper) returned(id string) (*ReturnedTap, error) {
	row, err := one[ReturnedTap](t.tx.Where("id = ?", id))
	if err != nil {
		return nil, fmt.Errorf("look for tap %s among the returned: %w", id, err)
	}
	return row, nil
}

// giveBack keeps a refused tap: as a question where nobody stands there any more
// to read the refusal.
func (t *tapper) giveBack(refusal *Error, result *TapResult) (*Change, error) {
	q := t.request.Queued
	row := ReturnedTap{ID: t.request.ID, Tablet: t.request.Tablet, Queue: q.Queue, TabletSeq: q.Number, Request: t.request,
		Why: refusal.Sentence, At: t.told(), CameAt: t.now, Answer: AnswerTold}
	if q.Late {
		row.Answer = AnswerOpen
	}
	if err := t.tx.Create(&row).Error; err != nil {
		return nil, fmt.Errorf("keep the returned tap: %w", err)
	}
	result.Returned = &row
	return &Change{Kind: ChangedTablet}, noteTablet(t.tx, t.request, t.now)
}

func (t *tapper) lastAnswered() (int64, error) {
	q, err := one[tapQueue](t.tx.Where("id = ?", t.request.Queued.Queue))
	if err != nil {
		return 0, fmt.Errorf("look how far the tablet's queue was answered: %w", err)
	}
	if q == nil {
		return 0, nil
	}
	return q.Last, nil
}

// advance notes that the tap had its turn.
func (t *tapper) advance(last int64) error {
	q := tapQueue{ID: t.request.Queued.Queue, Tablet: t.request.Tablet, Last: max(last, t.request.Queued.Number)}
	err := t.tx.Clauses(clause.OnConflict{Columns: []clause.Column{{Name: "id"}}, DoUpdates: clause.AssignmentColumns([]string{"tablet", "last"})}).Create(&q).Error
	if err != nil {
		return fmt.Errorf("note how far the tablet's queue was answered: %w", err)
	}
	return nil
}

// undoByID finds the row of the tap that an undo names by its id, as a tablet
// does that had not sent it yet. Where that tap was returned it is let be, and
// no row is needed.
func (t *tapper) undoByID(result *TapResult) (done bool, err error) {
	r := &t.request
	if r.Kind != TapUndo || r.Undoes != 0 || r.UndoesID == "" {
		return false, nil
	}
	row, err := one[Tap](t.tx.Where("id = ?", r.UndoesID))
	if err != nil {
		return false, fmt.Errorf("look for the tap to take back: %w", err)
	}
	if row != nil {
		r.Undoes = row.Seq
		return false, nil
	}
	back, err := t.returned(r.UndoesID)
	if err != nil {
		return false, err
	}
	if back == nil || back.Answer == AnswerTapped {
		return false, invalid("undoes", r.UndoesID, "There is no tap %q to take back.", r.UndoesID)
	}
	result.Returned = back
	return true, t.answer(back, AnswerLeft, r.PersonID)
}
