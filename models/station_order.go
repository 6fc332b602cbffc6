package models

import (
	"context"
	"fmt"

	"gorm.io/gorm"
)

// A station goes out of order, and comes back in order, by a tap: who, when and
// why stand in the journal, and it can be taken back.

// stationOrder is a tap that says that a station is out of order, or in order.
func (t *tapper) stationOrder() (TapResult, error) {
	station, err := get[Station](t.tx, "station", t.request.StationID)
	if err != nil {
		return TapResult{}, err
	}
	down := t.request.Kind == TapDown
	switch {
	case down && station.Down:
		return TapResult{}, conflict("station", station.Name, "%s is out of order already.", station.Name)
	case !down && !station.Down:
		return TapResult{}, conflict("station", station.Name, "%s is in order already.", station.Name)
	}
	row := t.row()
	row.StationID = &station.ID
	if row.PlanID, err = currentPlanID(t.tx); err != nil {
		return TapResult{}, err
	}
	if err := t.add(&row); err != nil {
		return TapResult{}, err
	}
	return TapResult{Tap: row}, saveDown(t.tx, station.ID, down)
}

// currentPlanID is the number of the plan the shop works by, nil before the first.
func currentPlanID(tx *gorm.DB) (*ID, error) {
	var ids []ID
	if err := tx.Model(&Plan{}).Where("current = 1").Limit(1).Pluck("id", &ids).Error; err != nil {
		return nil, fmt.Errorf("look which plan is followed: %w", err)
	}
	if len(ids) == 0 {
		return nil, nil
	}
	return &ids[0], nil
}

// saveDown writes whether a station is out of order.
func saveDown(tx *gorm.DB, station ID, down bool) error {
	if err := tx.Model(&Station{}).Where("id = ?", station).UpdateColumn("down", down).Error; err != nil {
		return fmt.Errorf("note whether station %d is out of order: %w", station, err)
	}
	return nil
}

// undoOrder takes back the newest tap that put a station out of order, or back.
func (t *tapper) undoOrder(back *Tap, row Tap) (TapResult, error) {
	station, err := get[Station](t.tx, "station", *back.StationID)
	if err != nil {
		return TapResult{}, err
	}
	var taps []Tap
	err = t.tx.Where("station_id = ? AND (kind IN ? OR undoes IN (SELECT seq FROM taps WHERE station_id = ? AND kind IN ?))",
		station.ID, orderKinds, station.ID, orderKinds).Order("seq").Find(&taps).Error
	if err != nil {
		return TapResult{}, fmt.Errorf("read when station %d was out of order: %w", station.ID, err)
	}
	if err := newest(back, Effective(taps), station.Name); err != nil {
		return TapResult{}, err
	}
	if err := t.add(&row); err != nil {
		return TapResult{}, err
	}
	return TapResult{Tap: row}, saveDown(t.tx, station.ID, back.Kind == TapUp)
}

var orderKinds = []TapKind{TapDown, TapUp}

// StationTaps are the newest rows that count for a station: how it was set, and
// that it went out of order or came back; nil where there is none.
type StationTaps struct {
	Set   *Tap
	Order *Tap
}

// StationTaps returns them for every station that has any.
func (s *Store) StationTaps(ctx context.Context) (map[ID]StationTaps, error) {
	all := map[ID]StationTaps{}
	err := s.read(ctx, "read what was tapped for the stations", func(tx *gorm.DB) error {
		var rows []Tap
		newest := `SELECT max(t.seq) FROM taps t WHERE t.station_id IS NOT NULL AND t.kind <> 'undo'
			AND NOT EXISTS (SELECT 1 FROM taps u WHERE u.undoes = t.seq) GROUP BY t.station_id, t.kind IN ?`
		if err := tx.Where("seq IN ("+newest+")", orderKinds).Find(&rows).Error; err != nil {
			return err
		}
		for i := range rows {
			of := all[*rows[i].StationID]
			if rows[i].Kind == TapDown || rows[i].Kind == TapUp {
				of.Order = &rows[i]
			} else {
				of.Set = &rows[i]
			}
			all[*rows[i].StationID] = of
		}
		return nil
	})
	return all, err
}
