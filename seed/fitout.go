package seed

import (
	"context"
	"fmt"
	"time"

	"faceside/models"
)

// FitOut gives an empty shop what every shop has: opening hours, a zone, a
// bench, a place to finish, and the usual classes of glue and finish. People,
// machines and clamps are its owner's to enter. A shop that has hours, people or
// commissions is left as it is; one whose fitting out was cut short is completed.
// zone is the IANA name of the shop's time zone. What is entered here is in English, as
// all that is shipped, and the screens say it in the shop's language (package tongues)
// for as long as its owner leaves it so: nothing here is ever renamed.
func FitOut(ctx context.Context, store *models.Store, zone string) error {
	snap, err := store.Snapshot(ctx)
	if err != nil {
		return fmt.Errorf("reading the shop: %w", err)
	}
	if len(snap.Hours) > 0 || len(snap.People) > 0 || len(snap.Commissions) > 0 {
		return nil
	}
	shop := snap.Shop
	shop.Name, shop.TimeZone = "Our shop", zone
	if err := store.SaveShop(ctx, shop); err != nil {
		return fmt.Errorf("naming the shop: %w", err)
	}
	if err := addMaterials(ctx, store, snap); err != nil {
		return err
	}
	if err := addFirstStations(ctx, store, snap); err != nil {
		return err
	}
	// Last, as they mark a shop that is fitted out.
	if err := store.SaveHours(ctx, usualWeek()); err != nil {
		return fmt.Errorf("entering the hours: %w", err)
	}
	return nil
}

// usualWeek is Monday to Friday, eight to five, with half an hour at noon.
func usualWeek() []models.Hours {
	var week []models.Hours
	for day := time.Monday; day <= time.Friday; day++ {
		week = append(week,
			models.Hours{Weekday: day, Opens: 8 * 60, Closes: 12 * 60},
			models.Hours{Weekday: day, Opens: 12*60 + 30, Closes: 17 * 60})
	}
	return week
}

// addMaterials enters the generic glues and finishes that snap has not.
func addMaterials(ctx context.Context, store *models.Store, snap *models.Snapshot) error {
	have := map[string]bool{}
	for _, g := range snap.Glues {
		have[g.Key] = true
	}
	for _, f := range snap.Finishes {
		have[f.Key] = true
	}
	if _, err := Library(); err != nil {
		return err // without it there are no glues and finishes either
	}
	for _, g := range Glues() {
		if have[g.Key] {
			continue
		}
		record := models.Glue{Key: g.Key, Name: g.Name, OpenMin: g.OpenMin, ClampMin: g.ClampMin,
			CureMin: g.CureMin, LeastTempC: g.LeastTempC, Caution: g.Caution}
		if _, err := store.SaveGlue(ctx, record); err != nil {
			return fmt.Errorf("entering the glue %s: %w", g.Key, err)
		}
	}
	for _, f := range Finishes() {
		if have[f.Key] {
			continue
		}
		record := models.Finish{Key: f.Key, Name: f.Name, DryMin: f.DryMin, RecoatLeastMin: f.RecoatLeastMin,
			RecoatGreatestMin: f.RecoatGreatestMin, CureMin: f.CureMin, LeastTempC: f.LeastTempC, Caution: f.Caution}
		if _, err := store.SaveFinish(ctx, record); err != nil {
			return fmt.Errorf("entering the finish %s: %w", f.Key, err)
		}
	}
	return nil
}

// addFirstStations enters the bench and the finish corner with the air they share.
func addFirstStations(ctx context.Context, store *models.Store, snap *models.Snapshot) error {
	zones := map[string]models.ID{}
	for _, z := range snap.Zones {
		zones[z.Key] = z.ID
	}
	const corner = "finish-corner"
	if zones[corner] == 0 {
		z, err := store.SaveZone(ctx, models.Zone{Key: corner, Name: "Finish corner"})
		if err != nil {
			return fmt.Errorf("entering the zone %s: %w", corner, err)
		}
		zones[corner] = z.ID
	}
	have := map[string]bool{}
	for _, st := range snap.Stations {
		have[st.Key] = true
	}
	finishing := zones[corner]
	for _, st := range []models.Station{
		{Key: "bench-1", Name: "Bench", Kind: "bench", Places: 2},
		{Key: "finish-1", Name: "Finish corner", Kind: "finish-room", Places: 4, ZoneID: &finishing, Caution: finishCaution},
	} {
		if have[st.Key] {
			continue
		}
		if _, err := store.SaveStation(ctx, st); err != nil {
			return fmt.Errorf("entering the station %s: %w", st.Key, err)
		}
	}
	return nil
}
