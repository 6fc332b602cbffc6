package planner

import (
	"sort"

	"faceside/models"
	"faceside/models/sequence"
)

// addStations declares the stations that steps stand at. One on which any step
// needs a setup takes one step at a time and someone's hands to be set.
func (q *posed) addStations() {
	states := map[models.ID]map[models.ID]bool{} // by station, the setups asked for
	used := map[models.ID]bool{}
	for _, it := range q.items {
		if !it.station || it.left == 0 {
			continue
		}
		used[it.StationID] = true
		if it.setup {
			if states[it.StationID] == nil {
				states[it.StationID] = map[models.ID]bool{}
			}
			states[it.StationID][*it.SetupID] = true
		}
	}
	for i := range q.snap.Stations {
		s := &q.snap.Stations[i]
		if !used[s.ID] {
			continue
		}
		r := sequence.Resource{ID: stationName(s.ID), Capacity: max(1, s.Places)}
		if states[s.ID] != nil {
			r.Capacity, r.Setups = 1, q.setupsOf(s, states[s.ID])
		}
		q.Resources = append(q.Resources, r)
	}
}

// setupsOf says what changing a station costs: less within a family, nothing
// the first time where nobody has said how it is set now.
func (q *posed) setupsOf(s *models.Station, asked map[models.ID]bool) *sequence.Setups {
	out := &sequence.Setups{Default: q.uncutSetup(s.SetupMinutes), Hands: &sequence.Amount{Resource: handsName, Amount: 1}}
	if now := q.setTo(s); now != nil {
		name := setupName(*now)
		out.Initial = &name
		asked[*now] = true
	}
	ids := make([]models.ID, 0, len(asked))
	for id := range asked {
		ids = append(ids, id)
	}
	sort.Slice(ids, func(a, b int) bool { return ids[a] < ids[b] })
	for _, a := range ids {
		for _, b := range ids {
			from, to := q.snap.Setup(a), q.snap.Setup(b)
			if a != b && from != nil && to != nil && from.Family == to.Family {
				out.Pairs = append(out.Pairs, sequence.Pair{From: setupName(a), To: setupName(b), Minutes: q.uncutSetup(s.ResetMinutes)})
			}
		}
	}
	return out
}

// setTo returns the setup a station has now: that of the step in hand on it, or
// what was tapped last.
func (q *posed) setTo(s *models.Station) *models.ID {
	for _, it := range q.items {
		if it.stand == held && it.StationID == s.ID && it.station && it.setup {
			return it.SetupID
		}
	}
	return s.SetupID
}

// uncutSetup is a setup's minutes, as far as they fit into one opening: a
// setup that no opening could hold would keep its steps from ever being done.
func (q *posed) uncutSetup(minutes int) int { return min(minutes, q.line.longest()) }
