package planner

import (
	"context"
	"os"
	"path/filepath"
	"testing"
	"time"

	"faceside/models"
	"faceside/models/testrig"
	"faceside/models/wood"

	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// trouble says what is wrong with a step and returns the row of the journal.
func (r *rig) trouble(who string, c *models.Commission, key string, tr models.Trouble, note string) models.Tap {
	r.Helper()
	snap := r.snap()
	result, err := r.store.Tap(context.Background(), models.TapRequest{ID: uuid.NewString(), Kind: models.TapTrouble, Trouble: &tr, Note: note,
		StepID: stepIn(r.T, snap, c.ID, key).ID, PersonID: testrig.Person(r.T, snap, who)})
	require.NoError(r, err)
	return result.Tap
}

// partOf is a part of a commission.
func (r *rig) partOf(c *models.Commission, key string) models.ID {
	r.Helper()
	for _, p := range r.snap().Parts {
		if p.CommissionID == c.ID && p.Key == key {
			return p.ID
		}
	}
	require.Fail(r, "no such part", key)
	return 0
}

func TestWhatIsMissingHoldsAStepAndThoseAfterIt(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	hall, desk := r.take("Hall shelf", "2026-12-18"), r.take("Desk shelf", "2026-12-20")
	r.plan()
	r.trouble("Ana", hall, "glue-frame", models.Trouble{Kind: models.TroubleMissing}, "clamps lent out")
	p := r.plan()
	planned := map[models.ID]bool{}
	for _, ps := range p.Steps {
		planned[ps.StepID] = true
	}
	for _, key := range []string{"joint", "plane-rails", "trim"} {
		assert.True(t, planned[r.step(hall, key).ID], "%s goes on", key)
	}
	for _, key := range []string{"glue-frame", "sand", "coat-2"} {
		assert.False(t, planned[r.step(hall, key).ID], "%s waits", key)
	}
	assert.True(t, planned[r.step(desk, "coat-2").ID])
	assert.Contains(t, p.Note.String(), "Hall shelf: “Glue the rails to the panel” (clamps lent out) waits for what is missing: it and 3 steps after it are not planned until it is there.")
	require.Len(t, Forecasts(r.snap()), 1, "nobody knows when the one that waits will be done")

	r.tap(models.TapSettled, "Ana", hall, "glue-frame")
	r.plan()
	assert.Len(t, Forecasts(r.snap()), 2)
}

func TestWhatIsExpectedIsPlannedFromThatDayOn(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	c := r.take("Hall shelf", "2026-12-18")
	r.trouble("Ana", c, "joint", models.Trouble{Kind: models.TroubleMissing, ExpectedOn: "2026-12-05"}, "") // a Saturday
	p := r.plan()
	for _, ps := range p.Steps {
		if ps.StepID == r.step(c, "joint").ID {
			assert.Equal(t, local(t, "2026-12-07 08:00").UTC(), ps.Start.UTC())
		}
	}
	assert.Contains(t, p.Note.String(), "“Joint a face and an edge” waits for what is missing: it is planned from Monday 8:00 on, when that is expected.")
	r.clock.Set(local(t, "2026-12-07 09:00")) // the day has come, and it has not
	p = r.plan()
	assert.Contains(t, p.Note.String(), "“Joint a face and an edge” is in trouble: it is planned from Tuesday 8:00 on.")
}

// However far ahead: the rest of the shop is planned, and what nobody can plan for so
// long waits as what comes on no known day.
func TestWhatIsExpectedInMonthsOrNeverKeepsNobodyFromAPlan(t *testing.T) {
	for day, planned := range map[string]bool{"2027-02-15": true, "2027-11-29": true, "2099-12-24": false} {
		r := newRig(t, "2026-12-01 08:00")
		c, other := r.take("Hall shelf", "2026-12-18"), r.take("Desk shelf", "2026-12-20")
		r.trouble("Ana", c, "joint", models.Trouble{Kind: models.TroubleMissing, ExpectedOn: day}, "")
		starts := map[models.ID]time.Time{}
		for _, ps := range r.plan().Steps {
			starts[ps.StepID] = ps.Start
		}
		assert.Contains(t, starts, r.step(other, "coat-2").ID, day)
		start, is := starts[r.step(c, "joint").ID]
		assert.Equal(t, planned, is, day)
		if planned {
			assert.Equal(t, local(t, day+" 08:00").UTC(), start.UTC())
		}
	}
}

func TestAStepForTwoIsPlannedForTwo(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	c := r.take("Hall shelf", "2026-12-18")
	r.tap(models.TapStart, "Ana", c, "joint")
	r.trouble("Ana", c, "joint", models.Trouble{Kind: models.TroubleHelp}, "")
	for _, ps := range r.plan().Steps {
		if ps.StepID == r.step(c, "joint").ID {
			assert.Len(t, ps.PersonIDs, 2)
		}
	}
}

func TestSpoiledPartsAreCutAgain(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	c := r.take("Hall shelf", "2026-12-18")
	r.do("Ana", c, "joint", "plane", "rip")
	board := r.partOf(c, "board")
	missing := func() int {
		for _, l := range ReadStockList(r.snap()).ToCut() {
			if l.Part == partKey(board) {
				return l.Quantity
			}
		}
		return 0
	}
	assert.Zero(t, missing())
	r.trouble("Ana", c, "glue-panel", models.Trouble{Kind: models.TroubleSpoiled, Parts: map[models.ID]int{board: 2}}, "")
	assert.Equal(t, 2, missing())
	before, after := orderKeys(t, r, c)
	assert.Contains(t, before, "joint-again")
	assert.NotContains(t, after, "joint-again", "no part of how such a piece is made")
	r.plan()
	r.do("Ana", c, "joint-again")
	assert.Zero(t, missing(), "they are cut once work on them is begun")
}

func orderKeys(t *testing.T, r *rig, c *models.Commission) (all, work []string) {
	t.Helper()
	snap := r.snap()
	piece := stepIn(t, snap, c.ID, "joint").PieceID
	order, err := PieceOrder(snap, piece)
	require.NoError(t, err)
	for _, s := range order.Steps {
		all = append(all, s.Key)
	}
	order, err = WorkOrder(snap, piece)
	require.NoError(t, err)
	for _, s := range order.Steps {
		work = append(work, s.Key)
	}
	return all, work
}

func TestWoodForSpoiledParts(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	c := r.take("Hall shelf", "2026-12-18")
	mm := wood.Millimetre
	rail, board := r.partOf(c, "rail"), r.partOf(c, "board")
	look := func(boards ...models.Board) []SpoiledWood {
		all, err := WoodFor(context.Background(), r.snap(), map[models.ID]int{rail: 1, board: 2}, boards)
		require.NoError(t, err)
		require.Len(t, all, 2)
		return all
	}
	none := look(models.Board{ID: 3, Species: "oak", Quarter: "5/4", Length: 3000 * mm, Width: 300 * mm, Count: 1})
	assert.Equal(t, 2, none[0].Short)
	assert.Equal(t, 1, none[1].Short)
	assert.Equal(t, "5/4", none[1].Line.Quarter)
	one := look(models.Board{ID: 7, Species: "ash", Quarter: "5/4", Length: 1000 * mm, Width: 90 * mm, Count: 2})
	assert.Equal(t, 2, one[0].Short, "too narrow")
	assert.Zero(t, one[1].Short)
	assert.Equal(t, []string{"7"}, one[1].Boards)
}

// A plan made before trouble that is taken back is the plan made after.
func TestTroubleTakenBackPosesTheSameProblem(t *testing.T) {
	fresh := filepath.Join(t.TempDir(), "fresh")
	first := newRig(t, "2026-12-01 08:00")
	c := first.take("Hall shelf", "2026-12-18")
	require.NoError(t, first.store.Backup(context.Background(), fresh))
	rapid.Check(t, func(rt *rapid.T) {
		clock := testrig.NewClock(local(t, "2026-12-01 08:00"))
		path := filepath.Join(t.TempDir(), "shop.db")
		records, err := os.ReadFile(fresh)
		require.NoError(rt, err)
		require.NoError(rt, os.WriteFile(path, records, 0o600))
		store, err := models.OpenStore(context.Background(), path, clock.Now)
		require.NoError(rt, err)
		defer func() { require.NoError(rt, store.Close()) }()
		r := &rig{T: t, clock: clock, store: store}
		keys := []string{"joint", "plane", "rip", "plane-rails", "glue-panel"}
		r.do("Ana", c, keys[:rapid.IntRange(0, len(keys)).Draw(rt, "done")]...)
		at := rapid.SampledFrom([]string{"glue-panel", "trim", "glue-frame", "sand"}).Draw(rt, "step")
		was, err := pose(r.snap())
		require.NoError(rt, err)
		tr := rapid.SampledFrom([]models.Trouble{
			{Kind: models.TroubleMissing}, {Kind: models.TroubleMissing, ExpectedOn: "2026-12-10"}, {Kind: models.TroubleHelp},
			{Kind: models.TroubleEstimate, Left: 90}, {Kind: models.TroubleOrder, FirstID: r.step(c, "coat-1").ID},
			{Kind: models.TroubleSpoiled, Assemblies: []models.ID{1}}, {Kind: models.TroubleSpoiled, Parts: map[models.ID]int{r.partOf(c, "rail"): 1}},
		}).Draw(rt, "trouble")
		ana := testrig.Person(t, r.snap(), "Ana")
		result, err := store.Tap(context.Background(), models.TapRequest{ID: "t", Kind: models.TapTrouble, Trouble: &tr, StepID: r.step(c, at).ID, PersonID: ana})
		if err != nil {
			require.NotEqual(rt, models.Internal, models.CodeOf(err))
			return
		}
		checkPosed(rt, r.snap())
		_, err = store.Tap(context.Background(), models.TapRequest{ID: "u", Kind: models.TapUndo, Undoes: result.Tap.Seq, PersonID: ana})
		require.NoError(rt, err)
		now, err := pose(r.snap())
		require.NoError(rt, err)
		require.Equal(rt, was.Problem, now.Problem)
		require.Equal(rt, was.notes, now.notes)
	})
}
