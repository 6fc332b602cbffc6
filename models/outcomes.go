package models

import (
	"context"
	"fmt"
	"time"

	"gorm.io/gorm"
)

// Outcomes is how the work turned out so far: what forecasts learn from.
type Outcomes struct {
	Steps   []Outcome
	Stops   []int // minutes around the clock that a step stood in trouble until it went on
	Spoiled int   // how often parts were spoiled
	Again   int   // minutes that the steps which came back for them are estimated at
	Away    int   // days on which somebody was away without notice, of all people together
	There   int   // days on which somebody tapped, since days off are noted
}

// Outcome is the attended time of one finished step beside its estimate.
type Outcome struct {
	CommissionID ID
	Kind         string
	Estimated    int    // minutes, as first estimated, and what it took to set its station where that stood otherwise
	Actual       int    // seconds
	Run          string // the act that took it in hand together with others, "" for one that was done alone
}

// Outcomes reads how steps turned out whose attended part is done, in every
// commission that was not dropped, and the troubles that were not taken back.
func (s *Store) Outcomes(ctx context.Context) (*Outcomes, error) {
	all := &Outcomes{}
	err := s.read(ctx, "read how the work turned out", func(tx *gorm.DB) error {
		for _, read := range []struct {
			into any
			sql  string
		}{
			{&all.Steps, outcomesOfSteps}, {&all.Stops, stopsOfSteps}, {&all.Spoiled, countSpoiled}, {&all.Again, minutesAgain},
		} {
			if err := tx.Raw(read.sql).Scan(read.into).Error; err != nil {
				return err
			}
		}
		return all.readPresence(tx, s.Now())
	})
	if err != nil {
		return nil, err
	}
	return all, nil
}

// readPresence counts the days on which people were there, and away without notice.
func (o *Outcomes) readPresence(tx *gorm.DB, now time.Time) error {
	shop, err := get[Shop](tx, "shop", 1)
	if err != nil {
		return err
	}
	zone, err := shop.Location()
	if err != nil {
		return err
	}
	var off []DayOff
	day := now.In(zone).Format(time.DateOnly)
	if err := tx.Where("person_id IS NOT NULL AND noted_on <> '' AND date <= ?", day).Order("person_id, date").Find(&off).Error; err != nil {
		return err
	}
	o.Away = unannounced(off)
	// The days are the shop's: where it is far from Greenwich one day's work lies in two
	// of UTC. Half of a year may be an hour off, which matters to who works at midnight.
	_, east := now.In(zone).Zone()
	return tx.Raw(daysThere, fmt.Sprintf("%+d seconds", east)).Scan(&o.There).Error
}

// Unannounced tells whether a day off was noted only when it had begun.
func (d *DayOff) Unannounced() bool { return d.NotedOn >= d.Date }

// unannounced counts the days off of people, by person and date, that came without
// notice: noted on the day itself or later, or following such a day, over a weekend too.
func unannounced(off []DayOff) int {
	n, spell := 0, false
	for i := range off {
		goesOn := spell && *off[i-1].PersonID == *off[i].PersonID && follows(off[i-1].Date, off[i].Date)
		if spell = goesOn || off[i].Unannounced(); spell {
			n++
		}
	}
	return n
}

// follows tells whether a day comes after another with no more than a weekend between.
func follows(day, next string) bool {
	at, err := time.Parse(time.DateOnly, day)
	if err != nil {
		return false
	}
	for at = at.AddDate(0, 0, 1); at.Weekday() == time.Saturday || at.Weekday() == time.Sunday; at = at.AddDate(0, 0, 1) {
		if at.Format(time.DateOnly) == next {
			return true
		}
	}
	return at.Format(time.DateOnly) == next
}

// outcomesOfSteps has a step set its station where the one begun before it there
// wanted it otherwise. A step of a run is booked a share of the run's time.
const outcomesOfSteps = `
	WITH begun AS (
		SELECT s.*, u.family, lag(u.id) OVER told AS stood, lag(u.family) OVER told AS stood_family
		FROM steps s LEFT JOIN setups u ON u.id = s.setup_id
		WHERE s.started_at IS NOT NULL
		WINDOW told AS (PARTITION BY s.station_id, s.setup_id IS NULL ORDER BY s.started_at, s.id))
	SELECT b.commission_id, b.kind, b.worked AS actual,
		CASE WHEN b.first_attended > 0 THEN b.first_attended ELSE b.attended END
			+ CASE WHEN b.setup_id IS NULL OR b.stood IS NULL OR b.stood = b.setup_id THEN 0
				WHEN b.stood_family = b.family THEN t.reset_minutes ELSE t.setup_minutes END AS estimated,
		coalesce((SELECT max(p.act) FROM taps p WHERE p.step_id = b.id AND p.kind = 'start'
			AND NOT EXISTS (SELECT 1 FROM taps u WHERE u.undoes = p.seq)), '') AS run
	FROM begun b JOIN commissions c ON c.id = b.commission_id JOIN stations t ON t.id = b.station_id
	WHERE b.state IN ('resting', 'done') AND b.worked > 0 AND c.state <> 'dropped'
	ORDER BY b.id`

// stopsOfSteps counts troubles that held a step, until somebody said that they are
// over or took it up again.
const stopsOfSteps = `
	SELECT CAST(round((julianday(min(u.at)) - julianday(taps.at)) * 1440) AS INTEGER)
	FROM taps JOIN taps u ON u.step_id = taps.step_id AND u.seq > taps.seq AND u.kind IN ('settled', 'start')
		AND NOT EXISTS (SELECT 1 FROM taps v WHERE v.undoes = u.seq)
	WHERE taps.kind = 'trouble' AND taps.trouble IN ('', 'missing') AND NOT EXISTS (SELECT 1 FROM taps u WHERE u.undoes = taps.seq)
	GROUP BY taps.seq ORDER BY taps.seq`

// daysThere counts the days of each person on which they tapped anything. Where no day
// off was ever noted nothing is said of who was away, either.
const daysThere = `
	SELECT count(*) FROM (SELECT DISTINCT person_id, date(at, ?) FROM taps
		WHERE at >= (SELECT min(noted_on) FROM days_off WHERE noted_on <> ''))`

const countSpoiled = `SELECT count(*) FROM taps WHERE trouble = 'spoiled' AND ` + standingTroubles

const minutesAgain = `SELECT coalesce(sum(attended), 0) FROM steps WHERE again_of IS NOT NULL`
