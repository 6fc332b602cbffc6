package models

import (
	"fmt"
	"time"

	"gorm.io/gorm"
)

// When a tap happened. This is the one place that decides it.
//
// The order of the journal is the server's: Seq, as the taps came. The time of
// a row (At) is the server's clock too. For a tap that was sent at once it is
// when the tap came. A tap that had waited on its tablet happened earlier: At is
// then the server's clock less the time the tap waited by the tablet's own
// count, which does not hang on how the tablet's clock is set. That is believed
// within bounds, the later of:
//
//   - a week before it came;
//   - when the tablet last heard from the server before the tap: then it was
//     connected, and the tap would have been sent;
//   - the row before it from the same tablet;
//   - the newest row of the same step, and of the steps before it (of the same
//     station, where the tap is of a station): what came after them did not begin
//     before them;
//   - the newest row that freed the hands into which something comes: nobody has
//     hands in two places.
//
// A tap that the records refuse is kept with what its tablet alone can say. It
// never lies in the future. CameAt keeps when the tap came, SaidAt what the
// tablet's own clock said; nothing is reckoned from SaidAt.

// waitedMost is how long before it came a tap is believed to have been made.
const waitedMost = 7 * 24 * time.Hour

// happened says when the request's tap was made.
func (t *tapper) happened() (time.Time, error) {
	q := t.request.Queued
	if q == nil || !q.Late {
		return t.now, nil
	}
	at := t.told()
	before, err := t.lastBefore(q.Queue)
	if err != nil {
		return t.now, err
	}
	if before.After(at) {
		at = before
	}
	freed, err := t.handsFreed(at)
	if err != nil {
		return t.now, err
	}
	if freed.After(at) {
		at = freed
	}
	if at.After(t.now) {
		at = t.now
	}
	return at, nil
}

// told is when a queued tap was made as far as its tablet alone can say.
func (t *tapper) told() time.Time {
	q := t.request.Queued
	if !q.Late {
		return t.now
	}
	at := t.now.Add(-min(max(q.Waited, 0), waitedMost)).Truncate(time.Millisecond)
	if q.Heard != nil && q.Heard.After(at) {
		at = q.Heard.UTC().Truncate(time.Millisecond)
	}
	if at.After(t.now) {
		return t.now
	}
	return at
}

// lastBefore is the newest time of a row that cannot have come after the tap:
// of its tablet, its step, the steps before that, its station.
func (t *tapper) lastBefore(queue string) (time.Time, error) {
	rows := t.tx.Where("queue = ?", queue)
	steps, err := t.ofSteps()
	if err != nil {
		return time.Time{}, err
	}
	if len(steps) > 0 {
		before := t.tx.Session(&gorm.Session{NewDB: true}).Model(&Link{}).Select("before_id").Where("after_id IN ?", steps)
		rows = rows.Or("step_id IN ?", steps).Or("step_id IN (?)", before)
	}
	if onStation(t.request.Kind) {
		rows = rows.Or("station_id = ?", t.request.StationID)
	}
	newest, err := one[Tap](rows.Order("at DESC"))
	if err != nil {
		return time.Time{}, fmt.Errorf("look what was tapped before: %w", err)
	}
	if newest == nil {
		return time.Time{}, nil
	}
	return newest.At, nil
}

// ofSteps lists the steps that the tap is of, those in hand that one is taken along
// with among them.
func (t *tapper) ofSteps() (ids []ID, err error) {
	var members []Step
	switch {
	case t.request.Kind == TapJoinRun:
		members, err = t.inHand()
	case t.request.Kind == TapPutDownRun:
		members, err = inRun(t.tx, t.request.Run)
	}
	for i := range members {
		ids = append(ids, members[i].ID)
	}
	if t.request.StepID != 0 {
		ids = append(ids, t.request.StepID)
	}
	return append(ids, t.request.Steps...), err
}

// freeing are the kinds of tap by which hands can come free.
var freeing = []TapKind{TapFinish, TapPutDown, TapTrouble, TapManage}

// handsFreed is the newest time after the given one at which the hands came free
// into which the tap puts something; zero where it puts nothing in hands, or they
// were free.
func (t *tapper) handsFreed(after time.Time) (time.Time, error) {
	person := t.request.PersonID
	switch t.request.Kind {
	case TapStart, TapStartRun:
	case TapHelp:
		person = t.request.HelperID
	default:
		return time.Time{}, nil
	}
	newest, err := one[Tap](t.tx.Where("at > ? AND kind IN ?", after, freeing).
		Where(`step_id IN (SELECT step_id FROM taps h WHERE h.helper_id = ?)
			OR (SELECT s.person_id FROM taps s WHERE s.step_id = taps.step_id AND s.kind = ? AND s.seq < taps.seq ORDER BY s.seq DESC LIMIT 1) = ?`,
			person, TapStart, person).
		Order("at DESC"))
	if err != nil {
		return time.Time{}, fmt.Errorf("look when the hands of person %d came free: %w", person, err)
	}
	if newest == nil {
		return time.Time{}, nil
	}
	return newest.At, nil
}
