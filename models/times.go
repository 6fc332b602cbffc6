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

// Hours returns the time that is booked for each person, by name. What is in hand
// now is booked when it leaves the hand.
func (s *Store) Hours(ctx context.Context) ([]PersonHours, error) {
	var all []PersonHours
	err := s.read(ctx, "read the hours", func(tx *gorm.DB) error {
		var taps []Tap
		if err := tx.Omit("note", "details").Where("step_id IS NOT NULL").Order("seq").Find(&taps).Error; err != nil {
			return fmt.Errorf("read the journal: %w", err)
		}
		var people []Person
		if err := tx.Order("name").Find(&people).Error; err != nil {
			return fmt.Errorf("read the people: %w", err)
		}
		says, err := Replay(taps, restsOf(taps))
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
