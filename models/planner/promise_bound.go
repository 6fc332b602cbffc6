package planner

import (
	"context"
	"fmt"
	"time"

	"faceside/models"
	"faceside/models/pattern"
	"faceside/models/phrase"
	"faceside/models/sequence"
)

// Bound is when a commission can be complete at the earliest, by the estimates: no
// plan can do better.
type Bound struct {
	At      time.Time
	Hands   bool // the hands set it; else steps that follow one another
	WorkMin int  // attended minutes of all hands, or along the steps
	RestMin int  // in clamps, drying and waiting between those steps
	First   phrase.Phrase
	Last    phrase.Phrase // of those steps
	People  int
}

// Bound says when a piece could be complete at the earliest as a new commission. It
// refuses what Draft refuses.
func (s *Service) Bound(ctx context.Context, built *pattern.Built, promisedOn string, weight int) (*Bound, error) {
	c, err := drafted(built, promisedOn, weight)
	if err != nil {
		return nil, err
	}
	snap, err := s.store.Snapshot(ctx)
	if err != nil {
		return nil, fmt.Errorf("reading the shop: %w", err)
	}
	piece, err := PieceRecords(built, built.Title, pattern.Input{}, snap)
	if err != nil {
		return nil, err
	}
	q, err := pose(taken(snap, piece, c))
	if err != nil {
		return nil, err
	}
	return q.bound(c.ID)
}

// bound is the later of two: the steps of a commission that follow one another, as if
// it had the shop to itself, and the work of all of them by all hands.
func (q *posed) bound(commission models.ID) (*Bound, error) {
	end, chain, err := sequence.Earliest(q.Problem, commissionName(commission))
	if err != nil {
		return nil, fmt.Errorf("the earliest end of a commission: %w", err)
	}
	b := &Bound{People: q.hands}
	for _, it := range q.items {
		if it.CommissionID == commission {
			b.WorkMin += it.left * max(1, it.hands)
		}
	}
	if by := q.line.forward(0, (b.WorkMin+q.hands-1)/q.hands); by > end {
		b.At, b.Hands = q.line.time(by), true
		return b, nil
	}
	b.At, b.WorkMin = q.line.time(end), 0
	var steps []*item
	for _, id := range chain {
		if step, ok := stepOf(id); ok {
			steps = append(steps, q.byStep[step])
		}
	}
	for _, it := range steps {
		b.WorkMin += it.left
		b.RestMin += it.rest(q)
	}
	b.First, b.Last = quoted(steps[0].Step), quoted(steps[len(steps)-1].Step) // the last one is of the commission
	return b, nil
}

// Sentence says what sets the bound.
func (b *Bound) Sentence() phrase.Phrase {
	if b.Hands {
		return phrase.Of("It is %[1]s of work for %[2]d pairs of hands.", minuteWords(b.WorkMin), b.People)
	}
	return phrase.Of("From %[1]s to %[2]s, %[3]s of work and %[4]s in clamps and drying follow one another.", b.First, b.Last, minuteWords(b.WorkMin), minuteWords(b.RestMin))
}
