package models

import (
	"fmt"

	"github.com/google/uuid"

	"faceside/models/phrase"
)

// A station that is out of order from now on, until somebody says otherwise. That is a
// row of the journal, as if it had been tapped at the station.

func (s *steerer) down(c *Steer) (was SteerWas, says phrase.Phrase, err error) {
	at, err := get[Station](s.tx, "station", c.StationID)
	if err != nil {
		return was, says, err
	}
	if err := textAtMost("reason", c.Name, noteLimit); err != nil {
		return was, says, err
	}
	who, err := s.teller()
	if err != nil {
		return was, says, err
	}
	if was.Tap, err = s.tapped(TapRequest{Kind: TapDown, StationID: at.ID, PersonID: who, Note: c.Name}); err != nil {
		return was, says, err
	}
	return was, phrase.Of("“%[1]s” is out of order from now on%[2]s", at.Name, colon(c.Name)), nil
}

// up says that it is in order again, where it still is out of order for that.
func (s *steerer) up(row *Steered) error {
	at, err := one[Station](s.tx.Where("id = ?", row.Change.StationID))
	if err != nil {
		return fmt.Errorf("read station %d: %w", row.Change.StationID, err)
	}
	if at == nil || !at.Down {
		return nil
	}
	newest, err := one[Tap](s.tx.Where("station_id = ? AND kind = ?", at.ID, TapDown).Order("seq DESC"))
	if err != nil {
		return fmt.Errorf("look why station %d is out of order: %w", at.ID, err)
	}
	if newest == nil || newest.Seq != row.Was.Tap {
		return conflict("station", at.Name, "“%s” went out of order once more since: say on its own screen that it is in order.", at.Name)
	}
	who, err := s.teller()
	if err != nil {
		return err
	}
	_, err = s.tapped(TapRequest{Kind: TapUp, StationID: at.ID, PersonID: who})
	return err
}

// tapped records the tap and returns its number.
func (s *steerer) tapped(r TapRequest) (int64, error) {
	r.ID = uuid.NewString()
	t := tapper{store: s.Store, tx: s.tx, now: s.now, request: r}
	var result TapResult
	if _, err := t.record(&result); err != nil {
		return 0, err
	}
	return result.Tap.Seq, nil
}

// teller is who the journal names. For a trial anybody will do, as nothing of it stays.
func (s *steerer) teller() (ID, error) {
	if s.by != 0 {
		return s.by, nil
	}
	if s.tries {
		p, err := one[Person](s.tx.Where("active").Order("id"))
		if err != nil {
			return 0, fmt.Errorf("look who works here: %w", err)
		}
		if p != nil {
			return p.ID, nil
		}
	}
	return 0, invalid("person", "", "Say first, on the Bench, who is at this tablet: the journal names who says this.")
}
