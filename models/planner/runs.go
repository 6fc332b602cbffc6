package planner

import (
	"slices"
	"sort"
	"time"

	"faceside/models"
)

// layRuns puts the steps of each run in hand one after another, in the order in
// which they were taken: one pair of hands does them at one station.
func (q *posed) layRuns(opens int) {
	for _, run := range q.snap.Runs {
		at, first := opens, true
		for _, id := range run.Steps {
			it := q.byStep[id]
			if it == nil || it.stand != held || it.Run != run.ID {
				continue
			}
			it.start, it.follows, first = at, !first, false
			at = q.line.opens(q.doneBy(it))
		}
	}
}

// RunOffer is what can be taken in hand together at a station under one setup.
type RunOffer struct {
	StationID models.ID
	SetupID   models.ID
	Steps     []models.ID // in the plan's order
	Attended  int         // minutes estimated of them
}

// RunOffers lists, for each setup, the steps of all commissions that can be
// begun now one after another by one person, where there are two or more. Their
// links allow it, and there are clamps for all of them. What is taken up at the
// station, or keeps it out of order, is for the caller to see. The most steps
// stand first.
func RunOffers(snap *models.Snapshot, at time.Time) []RunOffer {
	var all []RunOffer
	for _, o := range readyBySetup(snap, at) {
		if len(o.Steps) > 1 {
			all = append(all, *o)
		}
	}
	sort.Slice(all, func(i, j int) bool {
		if len(all[i].Steps) != len(all[j].Steps) {
			return len(all[i].Steps) > len(all[j].Steps)
		}
		return all[i].SetupID < all[j].SetupID
	})
	return all
}

// Along lists the steps that can be taken along with what is in hand at a station
// under a setup, in the plan's order.
func Along(snap *models.Snapshot, station, setup models.ID, at time.Time) []models.ID {
	st := snap.Station(station)
	if o := readyBySetup(snap, at)[setup]; o != nil && st != nil && !st.Down {
		return o.Steps
	}
	return nil
}

// readyBySetup gathers what can be begun now, by setup.
func readyBySetup(snap *models.Snapshot, at time.Time) map[models.ID]*RunOffer {
	b := newBench(snap, at)
	by := map[models.ID]*RunOffer{}
	clamps := map[models.ID]map[models.ID]int{} // by setup, what its steps would hold
	for _, st := range b.ready() {
		o := by[*st.SetupID]
		if o == nil {
			o = &RunOffer{StationID: st.StationID, SetupID: *st.SetupID}
			by[o.SetupID], clamps[o.SetupID] = o, map[models.ID]int{}
		}
		if b.clampsFor(st, clamps[o.SetupID]) {
			o.Steps = append(o.Steps, st.ID)
			o.Attended += left(st, at)
		}
	}
	return by
}

// OfferFor returns the run under a setup; false where there are not two steps.
func OfferFor(offers []RunOffer, setup models.ID) (RunOffer, bool) {
	i := slices.IndexFunc(offers, func(o RunOffer) bool { return o.SetupID == setup })
	if i < 0 {
		return RunOffer{}, false
	}
	return offers[i], true
}

// ready lists the steps under a setup whose links and air let them begin now, in
// the plan's order.
func (b *bench) ready() []*models.Step {
	var all []*models.Step
	for i := range b.snap.Steps {
		if st := &b.snap.Steps[i]; st.SetupID != nil && b.offered(st) && b.linksAllow(st) && b.airFree(st) {
			all = append(all, st)
		}
	}
	sort.SliceStable(all, func(x, y int) bool { return b.before(all[x], all[y]) })
	return all
}

// airFree tells whether nothing wet or dusty keeps a step from its station's air.
func (b *bench) airFree(st *models.Step) bool {
	s := b.snap.Station(st.StationID)
	if s == nil || s.ZoneID == nil {
		return true
	}
	return !(st.Wet && b.dusty[*s.ZoneID] != nil) && !(st.Dusty && !st.Wet && b.wet[*s.ZoneID] != nil)
}

// clampsFor tells whether there are clamps for a step beside those held and
// those of the run so far, and counts them in.
func (b *bench) clampsFor(st *models.Step, run map[models.ID]int) bool {
	uses := b.snap.ClampsOf(st.ID)
	for _, c := range uses {
		class := b.snap.Clamp(c.ClampClassID)
		if class != nil && b.clamps[class.ID]+run[class.ID]+c.Count > class.Count {
			return false
		}
	}
	for _, c := range uses {
		run[c.ClampClassID] += c.Count
	}
	return true
}
