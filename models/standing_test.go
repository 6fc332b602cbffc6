package models_test

import (
	"testing"
	"time"

	"faceside/models"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// noon is when the steps of these tests began.
var noon = time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)

func after(minutes int) *time.Time {
	t := noon.Add(time.Duration(minutes) * time.Minute)
	return &t
}

func id(n models.ID) *models.ID { return &n }

// Steps by how they stand; each is step 1 of a pair.
var (
	todo     = models.Step{ID: 1, Name: "A", State: models.Todo}
	inHand   = models.Step{ID: 1, Name: "A", State: models.InHand, PersonID: id(7), StartedAt: after(0), TakenAt: after(10), Worked: 300, Attended: 20, Unattended: 60, Rest: "drying"}
	putDown  = models.Step{ID: 1, Name: "A", State: models.PutDown, PersonID: id(7), StartedAt: after(0), Worked: 300, Attended: 20}
	trouble  = models.Step{ID: 1, Name: "A", State: models.InTrouble, PersonID: id(7), StartedAt: after(0), Attended: 20}
	clamped  = models.Step{ID: 1, Name: "A", State: models.AtRest, Rest: "in clamps", Unattended: 60, PersonID: id(7), StartedAt: after(0), FinishedAt: after(20), RestEndsAt: after(80)}
	outEarly = models.Step{ID: 1, Name: "A", State: models.Done, Rest: "drying", Unattended: 60, PersonID: id(7), StartedAt: after(0), FinishedAt: after(20), RestEndsAt: after(80), DoneAt: after(70)}
	outLate  = models.Step{ID: 1, Name: "A", State: models.Done, Rest: "drying", Unattended: 60, PersonID: id(7), StartedAt: after(0), FinishedAt: after(20), RestEndsAt: after(80), DoneAt: after(200)}
	done     = models.Step{ID: 1, Name: "A", State: models.Done, PersonID: id(7), StartedAt: after(0), FinishedAt: after(20), DoneAt: after(20)}
)

func TestStandingOfOneStep(t *testing.T) {
	resting := func(rest string) models.Step { s := clamped; s.Rest = rest; return s }
	for _, c := range []struct {
		name string
		step models.Step
		at   int
		want models.Standing
	}{
		{"todo", todo, 0, models.StandsReady},
		{"in hand", inHand, 30, models.StandsInHand},
		{"put down", putDown, 30, models.StandsPutDown},
		{"trouble", trouble, 30, models.StandsInTrouble},
		{"clamped", clamped, 79, models.StandsInClamps},
		{"drying", resting("drying"), 79, models.StandsDrying},
		{"resting", resting("resting"), 79, models.StandsResting},
		{"over by the clock", clamped, 80, models.StandsDone},
		{"out early", outEarly, 71, models.StandsDone},
		{"done", done, 20, models.StandsDone},
	} {
		snap := models.Snapshot{Steps: []models.Step{c.step}}
		assert.Equal(t, c.want, snap.Standing(1, *after(c.at)), c.name)
	}
	empty := models.Snapshot{}
	assert.Empty(t, empty.Standing(1, noon))
	assert.Empty(t, empty.WaitsFor(1, noon))
}

func TestWaitsFor(t *testing.T) {
	for _, c := range []struct {
		name     string
		before   models.Step
		from     string
		lag      int
		at       int
		until    *time.Time
		sentence string // "": ready
	}{
		{"untouched", todo, models.FromEnd, 0, 0, nil, "It waits for “A”."},
		{"untouched, from its start", todo, models.FromStart, 0, 0, nil, "It waits for “A”."},
		{"untouched, lag below zero", todo, models.FromEnd, -600, 0, nil, "It waits for “A”."},
		{"in hand", inHand, models.FromEnd, 0, 20, nil, "It waits for “A”, which Ana has in hand."},
		{"in hand, attended", inHand, models.FromAttended, 0, 20, nil, "It waits for “A”, which Ana has in hand."},
		{"in hand, from its start", inHand, models.FromStart, 15, 14, after(15), "It waits until 12:15, a while after “A”."},
		{"in hand, from its start, over", inHand, models.FromStart, 15, 15, nil, ""},
		// 15 of its 20 minutes are left from minute 10 on, then 60 of drying.
		{"in hand, to begin before its end, not yet", inHand, models.FromEnd, -30, 54, nil, "It waits for “A”, which Ana has in hand."},
		{"in hand, to begin before its end", inHand, models.FromAttended, -10, 15, nil, ""},
		{"in hand for longer than thought", inHand, models.FromEnd, -30, 500, nil, "It waits for “A”, which Ana has in hand."},
		{"put down", putDown, models.FromEnd, 0, 30, nil, "It waits for “A”, which was put down."},
		{"in trouble", trouble, models.FromEnd, 0, 30, nil, "It waits for “A”, which is in trouble."},
		{"in trouble, from its start", trouble, models.FromStart, 0, 30, nil, ""},
		{"in clamps", clamped, models.FromEnd, 0, 79, after(80), "It waits until 13:20: “A” is in clamps."},
		{"out of clamps by the clock", clamped, models.FromEnd, 0, 80, nil, ""},
		{"in clamps, to begin before its end", clamped, models.FromEnd, -30, 49, after(50), "It waits until 12:50: “A” is in clamps."},
		{"in clamps, begun before its end", clamped, models.FromEnd, -30, 50, nil, ""},
		{"in clamps, attended over", clamped, models.FromAttended, 0, 21, nil, ""},
		{"lag after clamps", clamped, models.FromEnd, 30, 100, after(110), "It waits until 13:50: “A” rested until 13:20."},
		{"out early", outEarly, models.FromEnd, 30, 99, after(100), "It waits until 13:40: “A” rested until 13:10."},
		{"out early, lag over", outEarly, models.FromEnd, 30, 100, nil, ""},
		{"out late counts from the rest's end", outLate, models.FromEnd, 30, 110, nil, ""},
		{"done", done, models.FromEnd, 0, 20, nil, ""},
		{"done, lag runs over night", done, models.FromEnd, 1440, 30, after(1460), "It waits until Tue 12:20, a while after “A”."},
		{"done, lag of weeks", done, models.FromEnd, 20160, 30, after(20180), "It waits until 16 Mar 12:20, a while after “A”."},
	} {
		t.Run(c.name, func(t *testing.T) {
			snap := models.Snapshot{
				Shop: models.Shop{TimeZone: "UTC"}, People: []models.Person{{ID: 7, Name: "Ana"}},
				Steps: []models.Step{c.before, {ID: 2, Name: "B", State: models.Todo}},
				Links: []models.Link{{BeforeID: 1, AfterID: 2, From: c.from, MinLag: c.lag}},
			}
			waits := snap.WaitsFor(2, *after(c.at))
			if c.sentence == "" {
				assert.Empty(t, waits)
				assert.Equal(t, models.StandsReady, snap.Standing(2, *after(c.at)))
				return
			}
			require.Len(t, waits, 1)
			assert.Equal(t, c.sentence, waits[0].Sentence.String())
			assert.Equal(t, c.until, waits[0].Until)
			assert.Equal(t, "A", waits[0].Step.Name)
			assert.Equal(t, models.StandsWaiting, snap.Standing(2, *after(c.at)))
		})
	}
}

func TestStartBy(t *testing.T) {
	lag := func(n int) *int { return &n }
	snap := models.Snapshot{At: *after(100),
		Steps: []models.Step{done, {ID: 2, Name: "B", State: models.Todo}, {ID: 3, Name: "C", State: models.Todo}},
		Links: []models.Link{
			{ID: 1, BeforeID: 1, AfterID: 2, From: models.FromEnd, MaxLag: lag(60)},
			{ID: 2, BeforeID: 1, AfterID: 2, From: models.FromStart, MaxLag: lag(70)},
			{ID: 3, BeforeID: 3, AfterID: 2, From: models.FromEnd, MaxLag: lag(1)}, // not begun: says nothing yet
			{ID: 4, BeforeID: 1, AfterID: 3, From: models.FromEnd},
		}}
	by, why := snap.StartBy(2)
	require.NotNil(t, by)
	assert.Equal(t, *after(70), *by, "the tighter of two; here it is past")
	assert.Equal(t, models.ID(2), why.ID)
	by, why = snap.StartBy(3)
	assert.Nil(t, by)
	assert.Nil(t, why)
}

func TestIndex(t *testing.T) {
	b := newBench(t)
	snap := b.snap()
	for i := range snap.Steps {
		s := &snap.Steps[i]
		assert.Same(t, s, snap.Step(s.ID))
		assert.Same(t, s, snap.StepsOf(s.CommissionID)[i])
	}
	frame := b.step("glue-frame").ID
	assert.Len(t, snap.Before(frame), 2)
	assert.Len(t, snap.After(frame), 1)
	assert.Len(t, snap.PartsOf(frame), 1)
	assert.Len(t, snap.ClampsOf(frame), 1)
	for i := range snap.Clamps {
		assert.Same(t, &snap.Clamps[i], snap.Clamp(snap.Clamps[i].ID))
	}
	assert.Same(t, &snap.Glues[1], snap.Glue(snap.Glues[1].ID))
	assert.Same(t, &snap.Finishes[1], snap.Finish(snap.Finishes[1].ID))
	assert.Same(t, &snap.Zones[1], snap.Zone(snap.Zones[1].ID))
	assert.Same(t, &snap.Setups[1], snap.Setup(snap.Setups[1].ID))
	assert.Same(t, &snap.Pieces[0], snap.Piece(snap.Pieces[0].ID))
	assert.Same(t, &snap.Parts[0], snap.Part(snap.Parts[0].ID))
	assert.Same(t, &snap.Assemblies[0], snap.Assembly(snap.Assemblies[0].ID))
	assert.Same(t, &snap.Commissions[0], snap.Commission(snap.Commissions[0].ID))
	assert.Nil(t, snap.Step(99))
	assert.Nil(t, snap.Station(0))
}
