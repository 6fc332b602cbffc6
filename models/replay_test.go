package models_test

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"testing"
	"time"

	"faceside/models"
	"faceside/models/testrig"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// The columns of a step say what the journal says, whatever is tapped: in any
// order, twice, taken back, and when it cannot be.
func TestStoredStateIsTheJournalReplayed(t *testing.T) {
	var accepted, refusals, repeats, undos, runs, together, joined, gathered, helped, troubles int
	fresh := filepath.Join(t.TempDir(), "fresh")
	require.NoError(t, newRunBench(t).store.Backup(context.Background(), fresh))
	rapid.Check(t, func(rt *rapid.T) {
		b := copiedBench(t, fresh)
		b.taps = 1000 // apart from those of the file
		now := b.snap()
		var sent []models.TapRequest
		for range rapid.IntRange(1, 40).Draw(rt, "taps") {
			b.clock.Step(time.Duration(rapid.IntRange(-5, 300).Draw(rt, "minutes")) * time.Minute)
			r := drawTap(rt, now, b.clock.Now())
			r.ID = b.id()
			if len(sent) > 0 && rapid.IntRange(0, 9).Draw(rt, "again") == 0 {
				r = rapid.SampledFrom(sent).Draw(rt, "sent")
			}
			sent = append(sent, r)
			was, may := now.Shop.Revision, mayStart(now, r, b.clock.Now())
			result, err := b.store.Tap(context.Background(), r)
			now = b.snap()
			if err != nil || result.Repeated {
				assertCode(rt, err)
				require.Equal(rt, was, now.Shop.Revision, "nothing changed")
			} else {
				require.Equal(rt, was+1, now.Shop.Revision)
			}
			if r.Kind == models.TapStart && !result.Repeated {
				require.Equal(rt, may, err == nil, "what stands ready can be started, and nothing else: %v", err)
			}
			count(&accepted, err == nil && !result.Repeated)
			count(&troubles, err == nil && !result.Repeated && result.Tap.Trouble != "")
			count(&refusals, err != nil)
			count(&repeats, result.Repeated)
			count(&undos, err == nil && r.Kind == models.TapUndo)
			count(&runs, err == nil && !result.Repeated && result.Tap.Act != "" && r.Kind == models.TapStartRun)
			count(&joined, err == nil && !result.Repeated && result.Tap.Joined)
			count(&helped, err == nil && !result.Repeated && result.Tap.HelperID != nil)
			count(&gathered, err == nil && !result.Repeated && result.Tap.Kind == models.TapGather)
			count(&together, err == nil && !result.Repeated && result.Tap.Act != "" && r.Kind != models.TapStartRun)
			assertReplays(rt, b.store, now)
		}
		require.NoError(rt, b.store.Close())
	})
	t.Logf("%d taken, %d refused, %d repeated, %d taken back; %d runs, %d joined, %d taken along with a single step, %d put down or taken back together; %d times hands were given or freed; %d troubles",
		accepted, refusals, repeats, undos, runs, joined, gathered, together, helped, troubles)
	for _, n := range []int{accepted, refusals, repeats, undos, runs, joined, gathered, together, helped, troubles} {
		assert.NotZero(t, n, "a property that never met the case shows nothing")
	}
}

// mayStart foretells from a snapshot whether a start is taken.
func mayStart(now *models.Snapshot, r models.TapRequest, at time.Time) bool {
	for _, s := range now.Steps {
		if s.State == models.InHand && *s.PersonID == r.PersonID || now.Helps(r.PersonID) != nil {
			return false
		}
	}
	if st := now.Step(r.StepID); st != nil && now.Station(st.StationID).Down {
		return false
	}
	standing := now.Standing(r.StepID, at)
	return now.Person(r.PersonID) != nil && (standing == models.StandsReady || standing == models.StandsPutDown && len(now.WaitsFor(r.StepID, at)) == 0)
}

// copiedBench is newBench, but faster: it copies the file of one.
func copiedBench(t *testing.T, from string) *bench {
	t.Helper()
	b, _ := openedCopy(t, from)
	return b
}

// openedCopy is copiedBench that says where the copy is.
func openedCopy(t *testing.T, from string) (b *bench, path string) {
	t.Helper()
	records, err := os.ReadFile(from)
	require.NoError(t, err)
	path = filepath.Join(t.TempDir(), "shop.db")
	require.NoError(t, os.WriteFile(path, records, 0o600))
	clock := testrig.Monday()
	store, err := models.OpenStore(context.Background(), path, clock.Now)
	require.NoError(t, err)
	return &bench{t: t, clock: clock, store: store}, path
}

// drawTap draws a tap that mostly makes sense where the steps stand.
func drawTap(rt *rapid.T, now *models.Snapshot, at time.Time) models.TapRequest {
	kinds := map[models.Standing][]models.TapKind{
		models.StandsReady:     {models.TapStart, models.TapTrouble},
		models.StandsInHand:    {models.TapFinish, models.TapFinish, models.TapPutDown, models.TapTrouble, models.TapHelp, models.TapManage},
		models.StandsPutDown:   {models.TapStart, models.TapTrouble},
		models.StandsInClamps:  {models.TapOut, models.TapTrouble},
		models.StandsDrying:    {models.TapOut, models.TapTrouble},
		models.StandsInTrouble: {models.TapSettled},
	}
	var sensible []models.TapRequest
	for _, s := range now.Steps {
		for _, kind := range kinds[now.Standing(s.ID, at)] {
			sensible = append(sensible, models.TapRequest{Kind: kind, StepID: s.ID, HelperID: models.ID(rapid.IntRange(1, 2).Draw(rt, "helper"))})
			if kind == models.TapTrouble {
				sensible = append(sensible, models.TapRequest{Kind: kind, StepID: s.ID, Trouble: drawTrouble(rt, now, &s)})
			}
		}
	}
	can := ready(now, at)
	for _, setup := range slices.Sorted(maps.Keys(can)) {
		steps := can[setup]
		run := models.TapRequest{Kind: models.TapStartRun, Steps: steps[:rapid.IntRange(1, len(steps)).Draw(rt, fmt.Sprint("of setup ", setup))]}
		sensible = append(sensible, run, run, run)
	}
	for _, run := range now.Runs {
		sensible = append(sensible, models.TapRequest{Kind: models.TapPutDownRun, Run: run.ID})
		for _, step := range can[run.SetupID] {
			along := models.TapRequest{Kind: models.TapJoinRun, Run: run.ID, StepID: step}
			sensible = append(sensible, along, along, along, along)
		}
	}
	for _, s := range now.Steps {
		if s.State != models.InHand || s.SetupID == nil || s.Run != "" {
			continue
		}
		for _, step := range can[*s.SetupID] {
			along := models.TapRequest{Kind: models.TapJoinRun, StepID: step}
			sensible = append(sensible, along, along, along)
		}
	}
	for _, s := range now.Stations {
		kind := models.TapDown
		if s.Down {
			kind = models.TapUp
		}
		if s.Key == "planer" {
			sensible = append(sensible, models.TapRequest{Kind: kind, StationID: s.ID})
		}
	}
	for _, s := range now.Setups {
		sensible = append(sensible, models.TapRequest{Kind: models.TapSet, StationID: s.StationID, SetupID: s.ID})
	}
	var r models.TapRequest
	switch rapid.IntRange(0, 9).Draw(rt, "sort") {
	case 0, 1:
		r = models.TapRequest{Kind: models.TapUndo, Undoes: int64(rapid.IntRange(1, 40).Draw(rt, "seq"))}
		if len(now.LastTaps) > 0 && rapid.Bool().Draw(rt, "newest") {
			r.Undoes = now.LastTaps[0].Seq
		}
	case 2:
		all := []models.TapKind{models.TapStart, models.TapPutDown, models.TapFinish, models.TapOut, models.TapTrouble, models.TapSettled, models.TapSet,
			models.TapDown, models.TapUp, models.TapStartRun, models.TapJoinRun, models.TapPutDownRun, models.TapHelp, models.TapManage, "begin"}
		r = models.TapRequest{Kind: rapid.SampledFrom(all).Draw(rt, "kind"), Run: "no run",
			Steps: rapid.SliceOfN(rapid.Map(rapid.IntRange(0, 12), func(n int) models.ID { return models.ID(n) }), 0, 3).Draw(rt, "steps"), StepID: models.ID(rapid.IntRange(0, 12).Draw(rt, "step")),
			StationID: models.ID(rapid.IntRange(0, 12).Draw(rt, "station")), SetupID: models.ID(rapid.IntRange(0, 3).Draw(rt, "setup"))}
		if r.Kind != models.TapStartRun {
			r.Steps = nil
		}
	default:
		r = rapid.SampledFrom(sensible).Draw(rt, "sensible")
	}
	r.PersonID = models.ID(rapid.SampledFrom([]int{1, 2, 1, 2, 1, 2, 1, 2, 0, 99}).Draw(rt, "person"))
	r.Note = rapid.SampledFrom([]string{"", "knot"}).Draw(rt, "note")
	return r
}

// ready lists the steps that can be started now, by the setup they want.
func ready(now *models.Snapshot, at time.Time) map[models.ID][]models.ID {
	all := map[models.ID][]models.ID{}
	for _, s := range now.Steps {
		if s.SetupID != nil && (s.State == models.Todo || s.State == models.PutDown) && len(now.WaitsFor(s.ID, at)) == 0 {
			all[*s.SetupID] = append(all[*s.SetupID], s.ID)
		}
	}
	return all
}

func count(n *int, yes bool) {
	if yes {
		*n++
	}
}

// assertCode checks that a refusal is one, and not a failure of the store.
func assertCode(t require.TestingT, err error) {
	if err == nil {
		return
	}
	var e *models.Error
	require.True(t, errors.As(err, &e), "%v", err)
	require.NotEqual(t, models.Internal, e.Code, "%v: %v", err, errors.Unwrap(e))
}

// assertReplays compares every step and station with the replayed journal.
func assertReplays(t require.TestingT, store *models.Store, snap *models.Snapshot) {
	taps, err := store.Journal(context.Background(), models.JournalFilter{})
	require.NoError(t, err)
	require.NoError(t, snap.Astray(taps))
}

func TestReplayRefusesWhatCannotHaveBeen(t *testing.T) {
	step := models.ID(1)
	_, err := models.Replay([]models.Tap{{Seq: 1, Kind: models.TapFinish, StepID: &step}}, nil)
	assert.EqualError(t, err, "tap 1 (finish) on a step that is todo")
}

func TestWhatDoesNotStandAsTheJournalSaysIsFound(t *testing.T) {
	b := newBench(t)
	b.do("joint")
	b.tap(models.TapStart, "plane", b.ana)
	journal := b.journal()
	require.NoError(t, b.snap().Astray(journal))
	assert.EqualError(t, b.snap().Astray(journal[1:]), "tap 2 (finish) on a step that is todo")
	for want, change := range map[string]func(*models.Snapshot){
		"step 1 (joint) does not stand as its taps say: Worked": func(s *models.Snapshot) { testrig.Step(t, s, "joint").Worked++ },
		"step 4 (rip) does not stand as its taps say: State":    func(s *models.Snapshot) { testrig.Step(t, s, "rip").State = models.PutDown },
		"(planer) is not set as its taps say: to 0, not": func(s *models.Snapshot) {
			testrig.Station(t, s, "planer").SetupID = nil
		},
		"(bench) is not as its taps say: down true, not false": func(s *models.Snapshot) { testrig.Station(t, s, "bench").Down = true },
	} {
		snap := b.snap()
		change(snap)
		assert.ErrorContains(t, snap.Astray(journal), want)
	}
}

func TestTwentyTabletsStartOneStep(t *testing.T) {
	b := newBench(t)
	step := b.step("joint").ID
	var people []models.ID
	for i := range 20 {
		p, err := b.store.SavePerson(context.Background(), models.Person{Name: fmt.Sprintf("Person %d", i), Active: true})
		require.NoError(t, err)
		people = append(people, p.ID)
	}
	results := atOnce(20, func(i int) error {
		_, err := b.store.Tap(context.Background(), models.TapRequest{ID: fmt.Sprintf("start-%d", i), Kind: models.TapStart, StepID: step, PersonID: people[i]})
		return err
	})
	snap := b.snap()
	has := snap.Person(*snap.Step(step).PersonID).Name
	won := 0
	for _, err := range results {
		if err == nil {
			won++
			continue
		}
		refused(t, err, models.Conflict, has+" has “Joint a face and an edge” in hand since 8:30.")
	}
	assert.Equal(t, 1, won)
	assertReplays(t, b.store, snap)
}

func TestOneTapSentTwentyTimesAtOnce(t *testing.T) {
	b := newBench(t)
	r := models.TapRequest{ID: "same", Kind: models.TapStart, StepID: b.step("joint").ID, PersonID: b.ana}
	var mu sync.Mutex
	fresh := 0
	for _, err := range atOnce(20, func(int) error {
		result, err := b.store.Tap(context.Background(), r)
		mu.Lock()
		defer mu.Unlock()
		count(&fresh, err == nil && !result.Repeated)
		return err
	}) {
		require.NoError(t, err)
	}
	assert.Equal(t, 1, fresh)
	taps, err := b.store.Journal(context.Background(), models.JournalFilter{})
	require.NoError(t, err)
	assert.Len(t, taps, 1)
}

// atOnce runs n calls side by side.
func atOnce(n int, call func(i int) error) []error {
	errs := make([]error, n)
	var wg sync.WaitGroup
	begin := make(chan struct{})
	for i := range n {
		wg.Go(func() {
			<-begin
			errs[i] = call(i)
		})
	}
	close(begin)
	wg.Wait()
	return errs
}

func TestChangesComeInOrder(t *testing.T) {
	b := newBench(t)
	var mu sync.Mutex
	var seen []models.Change
	cancel := b.store.OnChange(func(c models.Change) {
		mu.Lock()
		defer mu.Unlock()
		seen = append(seen, c)
	})
	was := b.snap().Shop.Revision
	for _, err := range atOnce(10, func(i int) error {
		_, err := b.store.Tap(context.Background(), models.TapRequest{ID: fmt.Sprint(i), Kind: models.TapSet,
			StationID: testrig.Station(t, b.snap(), "planer").ID, PersonID: b.ana})
		return err
	}) {
		require.NoError(t, err)
	}
	require.Len(t, seen, 10)
	for i, c := range seen {
		assert.Equal(t, was+int64(i)+1, c.Revision)
		assert.Equal(t, models.ChangedTap, c.Kind)
		assert.Equal(t, int64(i)+1, c.Tap.Seq)
	}
	_, err := b.try(models.TapFinish, "joint", b.ana)
	require.Error(t, err)
	assert.Len(t, seen, 10, "a refused tap is no change")
	cancel()
	b.tap(models.TapStart, "joint", b.ana)
	assert.Len(t, seen, 10)
}
