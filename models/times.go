package models

import (
	"context"

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
			sum(EXISTS (SELECT 1 FROM taps t WHERE t.step_id = s.id AND t.kind = 'start' AND t.act <> ''
				AND NOT EXISTS (SELECT 1 FROM taps u WHERE u.undoes = t.seq))) AS in_runs
			FROM steps s JOIN commissions c ON c.id = s.commission_id
			WHERE s.state IN ('resting', 'done') AND c.state <> ?
			GROUP BY c.id, s.kind ORDER BY c.id DESC, min(s.position)`, Dropped).Scan(&rows).Error
	})
	return rows, err
}
