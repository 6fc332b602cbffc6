package planner

import (
	"maps"

	"faceside/models"
	"faceside/models/pattern"
	"faceside/models/phrase"
)

// PatternShop is what a pattern must know of the shop.
func PatternShop(snap *models.Snapshot) pattern.Shop {
	shop := pattern.Shop{Units: snap.Shop.Units, Fraction: snap.Shop.Fraction,
		TemperatureC: snap.Shop.TemperatureC, HumidityPct: snap.Shop.HumidityPct}
	zones := map[models.ID]string{}
	for _, z := range snap.Zones {
		zones[z.ID] = z.Key
	}
	for _, s := range snap.Stations {
		station := pattern.Station{Key: s.Key, Name: s.Name, Kind: s.Kind, MaxWidth: s.MaxWidth,
			MaxThickness: s.MaxThickness, MinLength: s.MinLength, OpenEnded: s.OpenEnded}
		if s.ZoneID != nil {
			station.Zone = zones[*s.ZoneID]
		}
		shop.Stations = append(shop.Stations, station)
	}
	for _, c := range snap.Clamps {
		shop.Clamps = append(shop.Clamps, pattern.ClampClass{Key: c.Key, Name: c.Name, Reach: c.Reach, Count: c.Count})
	}
	for _, g := range snap.Glues {
		shop.Glues = append(shop.Glues, pattern.Glue{Key: g.Key, Name: g.Name, OpenMin: g.OpenMin, ClampMin: g.ClampMin,
			CureMin: g.CureMin, LeastTempC: g.LeastTempC, Caution: g.Caution})
	}
	for _, f := range snap.Finishes {
		shop.Finishes = append(shop.Finishes, pattern.Finish{Key: f.Key, Name: f.Name, DryMin: f.DryMin, RecoatLeastMin: f.RecoatLeastMin,
			RecoatGreatestMin: f.RecoatGreatestMin, CureMin: f.CureMin, LeastTempC: f.LeastTempC, Caution: f.Caution})
	}
	for _, p := range snap.People {
		if p.Active {
			shop.Hands++
		}
	}
	return shop
}

// keys finds the shop's records by their keys.
type keys struct {
	stations                map[string]*models.Station
	clamps, glues, finishes map[string]models.ID
}

func newKeys(snap *models.Snapshot) *keys {
	k := &keys{stations: map[string]*models.Station{}, clamps: map[string]models.ID{}, glues: map[string]models.ID{}, finishes: map[string]models.ID{}}
	for i := range snap.Stations {
		k.stations[snap.Stations[i].Key] = &snap.Stations[i]
	}
	for _, c := range snap.Clamps {
		k.clamps[c.Key] = c.ID
	}
	for _, g := range snap.Glues {
		k.glues[g.Key] = g.ID
	}
	for _, f := range snap.Finishes {
		k.finishes[f.Key] = f.ID
	}
	return k
}

// unknown says that a step asks for something that the shop has not.
func unknown(field, key, step string) error {
	return &models.Error{Code: models.Invalid, Field: field, Value: key,
		Sentence: phrase.Of("“%s” asks for the %s %q, which the shop does not have.", step, field, key)}
}

// PieceRecords writes what a pattern made as records to be stored with a
// commission, its keys of stations, clamps, glues and finishes resolved to the
// shop's. name is what the piece is called; in is what it was built from. It
// refuses a key that the shop does not have, as a *models.Error.
func PieceRecords(built *pattern.Built, name string, in pattern.Input, snap *models.Snapshot) (models.NewPiece, error) {
	n := models.NewPiece{Piece: models.Piece{Name: name, Pattern: built.Pattern, Measures: withUnits(built, in.Measures, snap.Shop.Units), Choices: maps.Clone(in.Choices)}}
	for _, p := range built.Parts {
		n.Parts = append(n.Parts, models.Part{Key: p.Key, Name: p.Name, Quantity: p.Quantity,
			Length: p.Finished.Length, Width: p.Finished.Width, Thickness: p.Finished.Thickness,
			RoughLength: p.Rough.Length, RoughWidth: p.Rough.Width, RoughThickness: p.Rough.Thickness,
			Species: p.Species, Grain: p.Grain, Note: p.Note})
	}
	for _, a := range built.Assemblies {
		n.Assemblies = append(n.Assemblies, models.NewAssembly{Assembly: models.Assembly{Key: a.Key, Name: a.Name},
			Parts: quantities(a.Parts), Inner: a.Assemblies})
	}
	k := newKeys(snap)
	for i := range built.Steps {
		step, err := k.step(&built.Steps[i])
		if err != nil {
			return models.NewPiece{}, err
		}
		n.Steps = append(n.Steps, step)
	}
	n.Links = linkRecords(built.Links)
	var err error
	n.Facts, err = factsOf(built, k)
	return n, err
}

// withUnits copies the measures that were typed, lengths with their unit: a bare
// "48" must stay 48 inches when the shop changes to millimetres.
func withUnits(built *pattern.Built, typed map[string]string, units string) map[string]string {
	out := maps.Clone(typed)
	for _, m := range built.Measures {
		if out[m.Key] != "" && m.IsLength {
			out[m.Key] = m.Length.Exactly(units)
		}
	}
	return out
}

// quantities adds up the uses of each part.
func quantities(uses []pattern.PartUse) map[string]int {
	sum := map[string]int{}
	for _, u := range uses {
		sum[u.Part] += u.Quantity
	}
	return sum
}

// step resolves one step.
func (k *keys) step(st *pattern.Step) (models.NewStep, error) {
	n := models.NewStep{Parts: quantities(st.Parts), Assemblies: st.Assemblies, Makes: st.Makes, Clamps: map[models.ID]int{},
		Step: models.Step{Key: st.Key, Name: st.Name, Kind: st.Kind, Phase: string(st.Phase), Verb: st.Verb, Attended: st.Attended,
			Unattended: st.Unattended, Rest: string(st.Rest), Interruptible: st.Interruptible, Hands: st.Hands, Dusty: st.Dusty,
			Wet: st.Wet, OpenTime: st.OpenTime, Cautions: st.Cautions, Note: st.Note}}
	station := k.stations[st.Station]
	if station == nil {
		return n, unknown("station", st.Station, st.Name)
	}
	n.StationID = station.ID
	if st.Setup != nil {
		needs(&n, st.Setup, station)
	}
	for _, c := range st.Clamps {
		id, ok := k.clamps[c.Class]
		if !ok {
			return n, unknown("clamp class", c.Class, st.Name)
		}
		n.Clamps[id] += c.Count
	}
	var err error
	if n.GlueID, err = optional(k.glues, st.Glue, "glue", st.Name); err != nil {
		return n, err
	}
	n.FinishID, err = optional(k.finishes, st.Finish, "finish", st.Name)
	return n, err
}

// needs gives a step its setup. A station where several steps find room at once
// is not set up as a whole; there the instruction is a note.
func needs(n *models.NewStep, setup *pattern.Setup, at *models.Station) {
	if at.Places <= 1 {
		n.Setup = &models.Setup{StationID: at.ID, Family: setup.Family, State: setup.State, Instruction: setup.Instruction}
		return
	}
	if n.Note != "" {
		n.Note += " "
	}
	n.Note += setup.Instruction
}

// optional resolves a key that may be empty.
func optional(in map[string]models.ID, key, field, step string) (*models.ID, error) {
	if key == "" {
		return nil, nil
	}
	id, ok := in[key]
	if !ok {
		return nil, unknown(field, key, step)
	}
	return &id, nil
}

// linkRecords writes links, one for each pair of steps and point measured from.
func linkRecords(links []pattern.Link) []models.NewLink {
	var out []models.NewLink
	for _, l := range pattern.NarrowLinks(links) {
		out = append(out, models.NewLink{Before: l.Before, After: l.After,
			Link: models.Link{From: string(l.From), MinLag: l.Min, MaxLag: l.Max, Why: l.Why}})
	}
	return out
}
