package models

import (
	"context"
	"fmt"
	"time"

	"gorm.io/gorm"
)

// Times is the attended time of finished steps of one kind in one commission.
type Times struct {
	CommissionID ID
	Commission   string
	Kind         string
	Verb         string
	Steps        int
	InRuns       int // of them, taken in hand with others: their time is a share
	Estimated    int // minutes, as first estimated
	Later        int // minutes, as somebody said at last; the same where nobody did
	Actual       int // seconds
	Helped       int // seconds of further hands, not in Actual
}

// TimeBook returns the attended times of all steps whose attended part is done,
// in every commission that was not dropped, the newest commission first.
func (s *Store) TimeBook(ctx context.Context) ([]Times, error) {
	var rows []Times
	err := s.read(ctx, "read the time book", func(tx *gorm.DB) error {
		return tx.Raw(`SELECT c.id AS commission_id, c.name AS commission, s.kind, max(s.verb) AS verb, count(*) AS steps,
			sum(CASE WHEN s.first_attended > 0 THEN s.first_attended ELSE s.attended END) AS estimated, sum(s.attended) AS later, sum(s.worked) AS actual, sum(s.helped) AS helped,
			sum(EXISTS (SELECT 1 FROM taps t WHERE t.step_id = s.id AND t.kind IN ('start', 'gather') AND t.act <> ''
				AND NOT EXISTS (SELECT 1 FROM taps u WHERE u.undoes = t.seq))) AS in_runs
			FROM steps s JOIN commissions c ON c.id = s.commission_id
			WHERE s.state IN ('resting', 'done') AND c.state <> ?
			GROUP BY c.id, s.kind ORDER BY c.id DESC, min(s.position)`, Dropped).Scan(&rows).Error
	})
	return rows, err
}

// Booked is the time that is booked for a person, in seconds: of what they had in
// hand, where a run counts once, and of what they helped with.
type Booked struct{ Own, Helped int }

// book adds what a change of a step's progress books for people.
func (r *Replayed) book(was, is Progress, at time.Time) {
	if at.Before(r.from) || !r.to.IsZero() && !at.Before(r.to) {
		return
	}
	if was.PersonID != nil && is.Worked > was.Worked {
		b := r.Hours[*was.PersonID]
		b.Own += is.Worked - was.Worked
		r.Hours[*was.PersonID] = b
	}
	if is.Helped == was.Helped {
		return
	}
	for _, h := range was.Helpers {
		if !is.helps(h.PersonID) {
			b := r.Hours[h.PersonID]
			b.Helped += seconds(h.Since, at)
			r.Hours[h.PersonID] = b
		}
	}
}

// PersonHours is the time that is booked for one person.
type PersonHours struct {
	PersonID ID
	Name     string
	Booked
}

// inHandBetween are the steps whose hands were on them between two times, and those
// whose time in runs hangs together with theirs.
const inHandBetween = `WITH RECURSIVE near (id) AS (
		SELECT id FROM steps WHERE started_at < @to AND (finished_at IS NULL OR finished_at >= @from)
		UNION SELECT o.step_id FROM near JOIN taps t ON t.step_id = near.id AND t.kind IN @kinds AND t.act <> ''
			JOIN taps o ON o.act = t.act AND o.act <> '' AND o.kind IN @kinds)
	SELECT id FROM near`

// Hours returns the time that was booked for each person from one time to another, by
// name. What is in hand is booked when it leaves the hand. Of the journal it reads what
// was ever tapped for the steps that were worked on between the two.
func (s *Store) Hours(ctx context.Context, from, to time.Time) ([]PersonHours, error) {
	var all []PersonHours
	err := s.read(ctx, "read the hours", func(tx *gorm.DB) error {
		between := map[string]any{"from": from.UTC(), "to": to.UTC(), "kinds": intoRun}
		var taps []Tap
		if err := tx.Omit("note", "details").Where("step_id IN ("+inHandBetween+")", between).Order("seq").Find(&taps).Error; err != nil {
			return fmt.Errorf("read the journal: %w", err)
		}
		var people []Person
		if err := tx.Order("name").Find(&people).Error; err != nil {
			return fmt.Errorf("read the people: %w", err)
		}
		says, err := replay(taps, restsOf(taps), from, to)
		if err != nil {
			return fmt.Errorf("replay the journal: %w", err)
		}
		for _, p := range people {
			if b, known := says.Hours[p.ID]; known {
				all = append(all, PersonHours{PersonID: p.ID, Name: p.Name, Booked: b})
			}
		}
		return nil
	})
	return all, err
}

// restsOf has every step rest after its work: no hours hang on how long, and a rest
// that was edited away since may have been ended by a tap.
func restsOf(taps []Tap) map[ID]int {
	rests := map[ID]int{}
	for _, t := range taps {
		rests[*t.StepID] = 1
	}
	return rests
}
