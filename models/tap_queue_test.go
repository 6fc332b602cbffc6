package models_test

import (
	"context"
	"fmt"
	"testing"
	"time"

	"faceside/models"
	"faceside/models/testrig"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// line is a tablet that numbers its taps.
type line struct {
	*bench
	queue  string
	number int64
}

func (b *bench) line(queue string) *line { return &line{bench: b, queue: queue} }

// next is the tablet's next tap on a step.
func (l *line) next(kind models.TapKind, key string, who models.ID) models.TapRequest {
	l.number++
	return models.TapRequest{ID: fmt.Sprintf("%s-%d", l.queue, l.number), Kind: kind, StepID: l.step(key).ID, PersonID: who, Tablet: "tablet of " + l.queue,
		Queued: &models.Queued{Queue: l.queue, Number: l.number}}
}

// late says how long a tap waited on its tablet.
func late(r models.TapRequest, waited time.Duration) models.TapRequest {
	q := *r.Queued
	q.Late, q.Waited = true, waited
	r.Queued = &q
	return r
}

func (b *bench) send(r models.TapRequest) (models.TapResult, error) {
	return b.store.Tap(context.Background(), r)
}

func (b *bench) sent(r models.TapRequest) models.TapResult {
	b.t.Helper()
	result, err := b.send(r)
	require.NoError(b.t, err)
	return result
}

func (b *bench) journal() []models.Tap {
	b.t.Helper()
	taps, err := b.store.Journal(context.Background(), models.JournalFilter{})
	require.NoError(b.t, err)
	return taps
}

func TestTapsOfATabletAreTakenInItsOrder(t *testing.T) {
	b := newBench(t)
	l := b.line("q")
	start, finish := l.next(models.TapStart, "joint", b.ana), l.next(models.TapFinish, "joint", b.ana)

	early, err := b.send(finish)
	refused(t, err, models.Stale, "Tap 2 of this tablet came before tap 1: send from 1.")
	assert.Equal(t, int64(1), early.SendFrom)
	assert.Empty(t, b.journal(), "nothing is half done")

	b.sent(start)
	b.sent(finish)
	again := b.sent(start)
	assert.True(t, again.Repeated, "late by an answer that was lost: the same row")
	rows := b.journal()
	require.Len(t, rows, 2)
	assert.Equal(t, []int64{1, 2}, []int64{*rows[0].TabletSeq, *rows[1].TabletSeq})
	assert.Equal(t, models.Done, b.step("joint").State)

	other := l.next(models.TapStart, "plane", b.ana)
	other.Queued.Number = 2
	_, err = b.send(late(other, time.Minute))
	refused(t, err, models.Conflict, "Tap 2 of this tablet was answered before, and was another one.")
	assert.Len(t, b.snap().Returned, 1, "even that is not lost")
}

// A server that was put back to an older copy does not know what it had
// answered; the tablet has nothing left of it.
func TestATabletThatHasNothingBeforeItGoesOn(t *testing.T) {
	b := newBench(t)
	l := b.line("q")
	l.number = 40
	r := l.next(models.TapStart, "joint", b.ana)
	_, err := b.send(r)
	assert.Equal(t, models.Stale, models.CodeOf(err))
	r.Queued.First = true
	b.sent(r)
	b.sent(l.next(models.TapFinish, "joint", b.ana))
}

func TestARefusedTapHasItsTurn(t *testing.T) {
	b := newBench(t)
	b.tap(models.TapStart, "joint", b.ben)
	l := b.line("q")
	first := l.next(models.TapStart, "joint", b.ana)
	result, err := b.send(first)
	const why = "Ben has “Joint a face and an edge” in hand since 8:30."
	refused(t, err, models.Conflict, why)
	assert.Equal(t, models.AnswerTold, result.Returned.Answer, "who tapped stands there and reads it")
	assert.Empty(t, b.snap().Returned)

	_, err = b.send(late(first, time.Minute)) // the answer was lost on its way
	refused(t, err, models.Conflict, why)
	require.Len(t, b.snap().Returned, 1, "now it is a question")
	assert.Equal(t, first.ID, b.snap().Returned[0].ID)

	b.tap(models.TapFinish, "joint", b.ben)
	b.sent(l.next(models.TapStart, "plane", b.ana)) // the next number is not held up
}

func TestALateTapThatBecameImpossibleIsAQuestion(t *testing.T) {
	b := newBench(t)
	l := b.line("q")
	start := l.next(models.TapStart, "joint", b.ana)
	finish := l.next(models.TapFinish, "joint", b.ana)
	b.clock.Step(10 * time.Minute)
	b.do("joint") // at another tablet
	b.clock.Step(10 * time.Minute)
	_, err := b.send(late(start, 15*time.Minute))
	refused(t, err, models.Conflict, "“Joint a face and an edge” is finished already.")
	_, err = b.send(late(finish, 11*time.Minute))
	require.Error(t, err)
	asked := b.snap().Returned
	require.Len(t, asked, 2)
	assert.Equal(t, models.TapStart, asked[0].Request.Kind)
	assert.Equal(t, b.clock.Now(), asked[0].CameAt)
	assert.Len(t, b.journal(), 2)

	ctx := context.Background()
	kept := models.StepNote{ID: "kept", StepID: start.StepID, PersonID: b.ana, Text: "Jointed at the other bench"}
	require.NoError(t, b.store.AddNote(ctx, kept, nil))
	again := models.StepNote{ID: kept.ID, Text: kept.Text}
	require.NoError(t, b.store.AnswerTap(ctx, models.AnswerRequest{ID: start.ID, PersonID: b.ana, Note: &again}), "its note came before")
	notes, err := b.store.NotesOf(ctx, start.StepID)
	require.NoError(t, err)
	assert.Len(t, notes[start.StepID], 1)
	err = b.store.AnswerTap(ctx, models.AnswerRequest{ID: start.ID, PersonID: b.ana})
	refused(t, err, models.Conflict, "That tap was answered already.")

	bad := models.TapRequest{ID: "again", Kind: models.TapFinish, StepID: finish.StepID, PersonID: b.ana}
	require.Error(t, b.store.AnswerTap(ctx, models.AnswerRequest{ID: finish.ID, PersonID: b.ana, Tap: &bad}))
	require.Len(t, b.snap().Returned, 1, "the question stays while its answer is refused")
	good := models.TapRequest{ID: "again-2", Kind: models.TapStart, StepID: b.step("plane").ID, PersonID: b.ana}
	require.NoError(t, b.store.AnswerTap(ctx, models.AnswerRequest{ID: finish.ID, PersonID: b.ana, Tap: &good}))
	assert.Empty(t, b.snap().Returned)
	assert.Equal(t, models.InHand, b.step("plane").State)
	assert.Equal(t, models.NotFound, models.CodeOf(b.store.AnswerTap(ctx, models.AnswerRequest{ID: "none", PersonID: b.ana})))
}

// An undo that was queued behind its tap names it by its id.
func TestAnUndoOfATapThatWasNotSentYet(t *testing.T) {
	b := newBench(t)
	l := b.line("q")
	start := l.next(models.TapStart, "joint", b.ana)
	l.number++
	undo := models.TapRequest{ID: "undo", Kind: models.TapUndo, UndoesID: start.ID, PersonID: b.ana, Queued: &models.Queued{Queue: "q", Number: l.number}}
	b.sent(late(start, time.Minute))
	b.sent(late(undo, time.Minute))
	assert.True(t, b.sent(late(undo, time.Minute)).Repeated)
	assert.Equal(t, models.Todo, b.step("joint").State)

	b.tap(models.TapStart, "joint", b.ben)
	wrong := l.next(models.TapStart, "joint", b.ana)
	_, err := b.send(late(wrong, time.Minute))
	require.Error(t, err)
	l.number++
	back := models.TapRequest{ID: "undo-2", Kind: models.TapUndo, UndoesID: wrong.ID, PersonID: b.ana, Queued: &models.Queued{Queue: "q", Number: l.number}}
	b.sent(late(back, time.Minute))
	assert.Empty(t, b.snap().Returned, "what was withdrawn is no question any more")
	again := b.sent(late(back, time.Minute))
	assert.Equal(t, wrong.ID, again.Returned.ID, "its answer was lost: the same once more")
	assert.Empty(t, b.snap().Returned, "and nobody is asked about it")
}

func TestWhenATapHappened(t *testing.T) {
	at := func(b *bench, ago time.Duration) *time.Time {
		when := b.clock.Now().Add(-ago)
		return &when
	}
	for name, c := range map[string]struct {
		change func(b *bench, r *models.TapRequest)
		ago    time.Duration
	}{
		"sent at once":                     {func(_ *bench, r *models.TapRequest) { r.Queued.Waited = time.Hour }, 0},
		"waited":                           {func(_ *bench, r *models.TapRequest) { *r = late(*r, 12*time.Minute) }, 12 * time.Minute},
		"said more than a week":            {func(_ *bench, r *models.TapRequest) { *r = late(*r, 9*24*time.Hour) }, 7 * 24 * time.Hour},
		"said less than nothing":           {func(_ *bench, r *models.TapRequest) { *r = late(*r, -time.Hour) }, 0},
		"not before it heard from us":      {func(b *bench, r *models.TapRequest) { *r = late(*r, time.Hour); r.Queued.Heard = at(b, 20*time.Minute) }, 20 * time.Minute},
		"whatever a clock ahead of us saw": {func(b *bench, r *models.TapRequest) { *r = late(*r, time.Hour); r.Queued.Heard = at(b, -time.Hour) }, 0},
		"a clock wrong by a day": {func(b *bench, r *models.TapRequest) {
			off := 24 * time.Hour
			*r = late(*r, 5*time.Minute)
			r.SaidAt, r.ClockOff = at(b, 5*time.Minute-off), &off
		}, 5 * time.Minute},
	} {
		t.Run(name, func(t *testing.T) {
			b := newBench(t)
			r := b.line("q").next(models.TapStart, "joint", b.ana)
			c.change(b, &r)
			row := b.sent(r).Tap
			assert.Equal(t, b.clock.Now().Add(-c.ago), row.At)
			assert.Equal(t, c.ago > 0, row.CameAt != nil)
			assert.Equal(t, row.At, *b.step("joint").TakenAt)
		})
	}
}

// Twelve minutes at the jointer are twelve minutes, however late they are told.
func TestAttendedTimeOfLateTapsIsHonest(t *testing.T) {
	b := newBench(t)
	l := b.line("q")
	start, finish := l.next(models.TapStart, "joint", b.ana), l.next(models.TapFinish, "joint", b.ana)
	b.clock.Step(2 * time.Hour)
	b.sent(late(start, 30*time.Minute))
	b.sent(late(finish, 18*time.Minute))
	assert.Equal(t, 12*60, b.step("joint").Worked)

	b.do("plane") // now, at another tablet
	rip := l.next(models.TapStart, "rip", b.ana)
	b.sent(late(rip, 10*time.Minute))
	assert.Equal(t, *b.step("plane").FinishedAt, *b.step("rip").StartedAt, "not before what it waited for was finished")
}

// However messages are doubled, delayed and mixed up, the rows of a tablet are
// its taps, each once and in its order.
func TestMessagesInAnyOrder(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		b := newBench(t)
		l := b.line("q")
		var taps []models.TapRequest
		for _, key := range []string{"joint", "plane", "rip"} {
			taps = append(taps, l.next(models.TapStart, key, b.ana), l.next(models.TapFinish, key, b.ana))
		}
		order := rapid.SliceOfN(rapid.IntRange(0, len(taps)-1), 0, 30).Draw(rt, "messages")
		for _, i := range order {
			result, err := b.send(taps[i])
			if err != nil {
				require.Equal(rt, models.Stale, models.CodeOf(err), "%v", err)
				require.LessOrEqual(rt, result.SendFrom, taps[i].Queued.Number)
			}
		}
		for _, r := range taps {
			_, err := b.send(r)
			require.NoError(rt, err)
		}
		rows := b.journal()
		require.Len(rt, rows, len(taps))
		for i, row := range rows {
			require.Equal(rt, taps[i].ID, row.ID)
		}
		require.Empty(rt, b.snap().Returned)
		assertReplays(rt, b.store, b.snap())
	})
}

func TestTabletsHaveNames(t *testing.T) {
	b := newBench(t)
	ctx := context.Background()
	planer := testrig.Station(t, b.snap(), "planer").ID
	require.NoError(t, b.store.SaveTablet(ctx, models.Tablet{ID: "a", Name: "At the planer", StationID: &planer}))
	err := b.store.SaveTablet(ctx, models.Tablet{ID: "b", Name: "at the planer"})
	refused(t, err, models.Invalid, "Another tablet is called “At the planer” already: give this one a name of its own.")
	err = b.store.SaveTablet(ctx, models.Tablet{ID: "b", Name: "B", StationID: &planer, PersonID: &b.ana})
	refused(t, err, models.Invalid, "A tablet belongs to a person or to a station, not to both: leave one of them empty.")
	nobody := models.ID(99)
	require.Error(t, b.store.SaveTablet(ctx, models.Tablet{ID: "b", Name: "B", PersonID: &nobody}))
	require.Error(t, b.store.SaveTablet(ctx, models.Tablet{ID: "b", Name: " "}))

	require.NoError(t, b.store.SaveTablet(ctx, models.Tablet{ID: "a", Name: "AT THE PLANER", PersonID: &b.ana}), "its own name is free to it")
	r := b.line("q").next(models.TapStart, "joint", b.ana)
	off := -90 * time.Second
	r.Tablet, r.ClockOff = "a", &off
	b.sent(r)
	got := b.snap().Tablet("a")
	assert.Equal(t, "AT THE PLANER", got.Name, "a tap leaves the name")
	assert.Equal(t, b.ana, *got.PersonID)
	assert.Nil(t, got.StationID)
	assert.Equal(t, -90, *got.ClockOff)
	assert.Equal(t, b.clock.Now(), *got.TappedAt)
	b.try(models.TapFinish, "joint", b.ana)
	assert.Empty(t, b.snap().Tablet("t1").Name, "who tapped without a name is listed, too")
}

// Where nobody answers, many questions make a reading no slower: what they say is read once.
func TestManyQuestionsAreReadOnce(t *testing.T) {
	b := newBench(t)
	ask := func(queue string, n int) {
		l := b.line(queue)
		for range n {
			_, err := b.send(late(l.next(models.TapOut, "joint", b.ana), time.Minute))
			require.Error(t, err)
		}
	}
	cost := func() float64 {
		return testing.AllocsPerRun(5, func() { b.snap() })
	}
	few := cost()
	ask("first", 150) // more than are asked for at once
	require.Len(t, b.snap().Returned, 150)
	assert.Less(t, cost()-few, 150*10., "what is said of each is not read anew")

	asked := b.snap().Returned
	require.NoError(t, b.store.AnswerTap(t.Context(), models.AnswerRequest{ID: asked[0].ID, PersonID: b.ana}))
	b.clock.Step(time.Second)
	ask("second", 1)
	now := b.snap().Returned
	require.Len(t, now, 150)
	assert.Equal(t, asked[1:], now[:149], "in their order")
	assert.Equal(t, "second-1", now[149].ID)
	assert.Equal(t, models.TapOut, now[149].Request.Kind)
	assert.NotEmpty(t, now[149].Why)
}
