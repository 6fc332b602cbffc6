package planner

import (
	"context"
	"os"
	"slices"
	"strings"
	"testing"

	"faceside/models"
	"faceside/models/pattern"
	"faceside/models/testrig"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// roomy is the test shop with clamps and stations enough for every pattern.
func roomy(t *testing.T) *rig {
	t.Helper()
	r := newRig(t, "2026-12-01 08:00")
	ctx := context.Background()
	for _, class := range r.snap().Clamps {
		class.Count = 60
		_, err := r.store.SaveClampClass(ctx, class)
		require.NoError(t, err)
	}
	l, err := pattern.Load(os.DirFS("../../seed"))
	require.NoError(t, err)
	for _, s := range l.GenerousShop().Stations {
		if slices.ContainsFunc(r.snap().Stations, func(o models.Station) bool { return o.Kind == s.Kind }) {
			continue
		}
		_, err := r.store.SaveStation(ctx, models.Station{Key: s.Kind, Name: s.Name, Kind: s.Kind, Places: 1})
		require.NoError(t, err)
	}
	return r
}

// takeBuilt stores what a pattern makes at its defaults; nil where the test shop
// cannot build it.
func (r *rig) takeBuilt(l *pattern.Library, key string) (*pattern.Built, *models.Commission) {
	r.Helper()
	in := pattern.Input{Pattern: key}
	built, err := l.Build(in, PatternShop(r.snap()))
	if err != nil {
		r.Logf("%s: %v", key, err)
		return nil, nil
	}
	piece, err := PieceRecords(built, built.Title, in, r.snap())
	require.NoError(r, err)
	c, err := r.store.TakeCommission(context.Background(), models.NewCommission{
		Commission: models.Commission{Name: built.Title, PromisedOn: "2027-03-01", Weight: 3}, Pieces: []models.NewPiece{piece}})
	require.NoError(r, err)
	return built, c
}

// comparable puts aside what records do not keep apart: the order of clamps and
// links, links of the same two points, and nil for nothing.
func comparable(b *pattern.Built) pattern.Built {
	out := *b
	out.Views, out.Links = nil, nil // the drawings are the pattern's, made anew when wanted
	for _, l := range linkRecords(b.Links) {
		out.Links = append(out.Links, pattern.Link{Before: l.Before, After: l.After, From: pattern.LinkFrom(l.From), Min: l.MinLag, Max: l.MaxLag, Why: l.Why})
	}
	slices.SortFunc(out.Links, func(x, y pattern.Link) int {
		return strings.Compare(x.Before+" "+x.After+string(x.From), y.Before+" "+y.After+string(y.From))
	})
	out.Steps = slices.Clone(b.Steps)
	for i := range out.Steps {
		s := &out.Steps[i]
		if s.Setup != nil {
			// A station has one setup of each state: it says what the first step said.
			setup := *s.Setup
			setup.Instruction = ""
			s.Setup = &setup
		}
		s.Clamps = slices.Clone(s.Clamps)
		slices.SortFunc(s.Clamps, func(x, y pattern.ClampUse) int { return strings.Compare(x.Class, y.Class) })
		if len(s.Cautions) == 0 {
			s.Cautions = nil
		}
		s.With = slices.Clip(s.With)
		if len(s.With) == 0 {
			s.With = nil
		}
	}
	slices.SortFunc(out.Steps, func(x, y pattern.Step) int { return strings.Compare(x.Key, y.Key) })
	return out
}

// assertSame compares part by part, so that what differs can be read.
func assertSame(t *testing.T, want, got *pattern.Built) {
	t.Helper()
	w, g := comparable(want), comparable(got)
	require.Len(t, g.Steps, len(w.Steps))
	for i := range w.Steps {
		require.Equal(t, w.Steps[i], g.Steps[i], w.Pattern)
	}
	for i := range w.Assemblies {
		require.Equal(t, w.Assemblies[i], g.Assemblies[i], w.Pattern)
	}
	require.Equal(t, w.Links, g.Links, w.Pattern)
	w.Steps, w.Links, w.Assemblies, g.Steps, g.Links, g.Assemblies = nil, nil, nil, nil, nil, nil
	require.Equal(t, w, g)
}

// Every shipped piece comes back from the records as it was built: where a fact
// of the pattern's is not kept, this fails.
func TestEveryPieceComesBackFromItsRecords(t *testing.T) {
	l, err := pattern.Load(os.DirFS("../../seed"))
	require.NoError(t, err)
	r := roomy(t)
	taken := 0
	for _, p := range l.Patterns() {
		built, c := r.takeBuilt(l, p.Key)
		if built == nil {
			continue
		}
		taken++
		snap, err := r.store.CommissionSnapshot(context.Background(), c.ID)
		require.NoError(t, err)
		back, err := PieceOrder(snap, snap.Pieces[0].ID)
		require.NoError(t, err)
		assertSame(t, built, back)
		changes, err := l.Changes(pattern.Input{Pattern: p.Key}, PatternShop(snap), back)
		require.NoError(t, err)
		require.True(t, changes.None(), "nobody changed anything: %v", changes.Said())
		require.Empty(t, changes.Lost())
		at := map[string]int{}
		for i, s := range back.Steps {
			at[s.Key] = i
		}
		for _, link := range back.Links {
			require.Less(t, at[link.Before], at[link.After], "the steps respect the links")
		}
	}
	assert.GreaterOrEqual(t, taken, 5)
}

// A rework to what is there already changes nothing; to something else it makes
// the records say that.
func TestAnOrderOfWorkIsReworked(t *testing.T) {
	l, err := pattern.Load(os.DirFS("../../seed"))
	require.NoError(t, err)
	r := roomy(t)
	ctx := context.Background()
	_, c := r.takeBuilt(l, "hall-bench")
	require.NotNil(t, c)
	read := func() (*models.Snapshot, *pattern.Built) {
		snap, err := r.store.CommissionSnapshot(ctx, c.ID)
		require.NoError(t, err)
		b, err := PieceOrder(snap, snap.Pieces[0].ID)
		require.NoError(t, err)
		return snap, b
	}
	was, built := read()
	edit, err := OrderEdit(built, was.Pieces[0].ID, was)
	require.NoError(t, err)
	require.NoError(t, r.store.EditCommission(ctx, c.ID, 0, []models.Edit{edit}, nil))
	now, same := read()
	assertSame(t, built, same)
	assert.ElementsMatch(t, was.Links, now.Links, "no link was stored anew")
	assert.ElementsMatch(t, was.StepParts, now.StepParts, "and no step either")

	changed := *built
	changed.Steps, changed.Links, changed.Assemblies = slices.Clone(built.Steps), slices.Clone(built.Links), slices.Clone(built.Assemblies)
	changed.Steps[3].Attended += 7
	changed.Assemblies[0].Loose = []string{changed.Assemblies[0].Parts[0].Part}
	extra := changed.Steps[0]
	extra.Key, extra.Name = "look-over", "Look the stock over"
	changed.Steps = append(changed.Steps, extra)
	changed.Links = append(changed.Links[1:], pattern.Link{Before: changed.Steps[0].Key, After: "look-over", From: pattern.FromEnd, Min: 15, Why: "the light"})
	edit, err = OrderEdit(&changed, was.Pieces[0].ID, now)
	require.NoError(t, err)
	require.NoError(t, r.store.EditCommission(ctx, c.ID, 1, []models.Edit{edit}, nil))
	_, back := read()
	assertSame(t, &changed, back)
}

// What a maker changes by hand is read back, and facts that do not hold any more are not.
func TestEditsAreReadBack(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	c := testrig.Commission(t, r.store, "Shelf", "2027-03-01")
	snap := r.snap()
	glue := testrig.Step(t, snap, "glue-panel")
	require.NoError(t, r.store.EditCommission(context.Background(), c.ID, 0, []models.Edit{
		models.SplitStep{StepID: glue.ID, Attended: 10, FirstName: "First", SecondName: "Second"},
		models.MoveStep{StepID: testrig.Step(t, snap, "plane-rails").ID, OtherID: testrig.Step(t, snap, "joint").ID, After: true},
	}, nil))
	b, err := PieceOrder(r.snap(), glue.PieceID)
	require.NoError(t, err)
	var keys []string
	for _, s := range b.Steps {
		keys = append(keys, s.Key)
	}
	assert.Equal(t, []string{"joint", "plane-rails", "plane", "rip", "glue-panel", "glue-panel#2", "trim", "glue-frame", "sand", "coat-1", "coat-2"}, keys)
	i := slices.Index(keys, "glue-panel#2")
	assert.Equal(t, "panel", b.Steps[i].Makes)
	assert.Equal(t, "pva", b.Steps[i].Glue)
	assert.Equal(t, []pattern.ClampUse{{Class: "bar-600", Count: 5}}, b.Steps[i].Clamps)
	_, err = PieceOrder(r.snap(), 99)
	assert.ErrorContains(t, err, "no piece with number 99")
}
