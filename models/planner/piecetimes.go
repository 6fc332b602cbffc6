package planner

import (
	"time"

	"faceside/models"
	"faceside/models/checks"
)

// PieceTimes is when the steps of a piece happen, for the checks: as the current
// plan has them, and as the journal says of those whose work is behind them. A
// step that neither knows of is missing.
func PieceTimes(snap *models.Snapshot, piece models.ID) checks.Plan {
	times := checks.Plan{}
	for i := range snap.Steps {
		st := &snap.Steps[i]
		if st.PieceID != piece {
			continue
		}
		if t, known := stepTimes(snap, st); known {
			times[st.Key] = t
		}
	}
	return times
}

// stepTimes counts minutes from the moment of the snapshot.
func stepTimes(snap *models.Snapshot, st *models.Step) (checks.Times, bool) {
	minute := func(t time.Time) int { return int(t.Sub(snap.At) / time.Minute) }
	if st.FinishedAt != nil && st.StartedAt != nil {
		t := checks.Times{Starts: minute(*st.StartedAt), AttendedEnds: minute(*st.FinishedAt), Ends: minute(*st.FinishedAt), Worked: true}
		if st.RestEndsAt != nil {
			t.Ends = minute(*st.RestEndsAt)
		}
		return t, true
	}
	p := snap.Planned(st.ID)
	if p == nil {
		return checks.Times{}, false
	}
	return checks.Times{Starts: minute(p.Start), AttendedEnds: minute(p.AttendedEnd), Ends: minute(p.End)}, true
}
