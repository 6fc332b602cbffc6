package planner

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"slices"
	"testing"

	"faceside/models"
	"faceside/models/checks"
	"faceside/models/pattern"
	"faceside/models/phrase"
	"faceside/models/wood"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// Whatever is edited by hand, the pattern that is kept of it makes the same parts,
// assemblies, steps and links, in the same order, and so does its file when it is
// read anew. What is not edited makes no changes.
func TestEditsAreKeptAsChanges(t *testing.T) {
	l, err := pattern.Load(os.DirFS("../../seed"))
	require.NoError(t, err)
	r := roomy(t)
	changed := map[string]int{}
	rapid.Check(t, func(t *rapid.T) {
		key := rapid.SampledFrom([]string{"stool", "hall-bench", "mirror-frame", "end-grain-board"}).Draw(t, "pattern")
		h := &hand{T: t, rig: r, lib: l}
		h.take(key)
		in := pattern.Input{Pattern: key}
		none, err := l.Changes(in, PatternShop(h.snap), h.order)
		require.NoError(t, err)
		require.True(t, none.None(), "%v", none.Said())
		for range rapid.IntRange(1, 8).Draw(t, "edits") {
			h.edit()
		}
		c, err := l.Changes(in, PatternShop(h.snap), h.order)
		require.NoError(t, err)
		require.Empty(t, c.Lost())
		for _, count := range c.Counts() {
			changed[count.Format()]++
		}
		file := h.keptAs(in, c, "kept")

		// Kept again, of a commission that was taken from it, it says the same.
		more, _, err := l.With("kept.yaml", file)
		require.NoError(t, err)
		h.lib = more
		again, err := more.Changes(pattern.Input{Pattern: "kept"}, PatternShop(h.snap), h.order)
		require.NoError(t, err)
		require.Equal(t, c, again)
		h.keptAs(pattern.Input{Pattern: "kept"}, again, "kept-again")
	})
	for _, want := range []string{
		"%d steps changed", "%d steps added", "%d steps taken out", "%d links added", "%d links changed", "%d links taken out",
		"%d parts changed", "%d assemblies changed", "%d assemblies added",
	} {
		require.Positive(t, changed[want], "the edits that are drawn make each sort of change: %v", changed)
	}
}

// hand edits a commission as a maker would.
type hand struct {
	*rapid.T
	*rig
	lib   *pattern.Library
	com   models.ID
	snap  *models.Snapshot
	order *pattern.Built
}

// Helper says which of both tests is meant.
func (h *hand) Helper() { h.T.Helper() }

func (h *hand) take(key string) {
	in := pattern.Input{Pattern: key}
	snap, err := h.store.Snapshot(context.Background())
	require.NoError(h.T, err)
	built, err := h.lib.Build(in, PatternShop(snap))
	require.NoError(h.T, err)
	piece, err := PieceRecords(built, built.Title, in, snap)
	require.NoError(h.T, err)
	c, err := h.store.TakeCommission(context.Background(), models.NewCommission{
		Commission: models.Commission{Name: built.Title, PromisedOn: "2027-03-01", Weight: 3}, Pieces: []models.NewPiece{piece}})
	require.NoError(h.T, err)
	h.com = c.ID
	h.read()
}

func (h *hand) read() {
	var err error
	h.snap, err = h.store.CommissionSnapshot(context.Background(), h.com)
	require.NoError(h.T, err)
	h.order, err = PieceOrder(h.snap, h.snap.Pieces[0].ID)
	require.NoError(h.T, err)
}

// edit makes one edit; what the store refuses, such as a circle, is not made.
func (h *hand) edit() {
	var edit models.Edit
	step := &h.snap.Steps[rapid.IntRange(0, len(h.snap.Steps)-1).Draw(h.T, "step")]
	other := h.snap.Steps[rapid.IntRange(0, len(h.snap.Steps)-1).Draw(h.T, "other")].ID
	link := h.snap.Links[rapid.IntRange(0, len(h.snap.Links)-1).Draw(h.T, "link")]
	from := rapid.SampledFrom([]string{models.FromEnd, models.FromStart, models.FromAttended}).Draw(h.T, "from")
	least := rapid.IntRange(-30, 600).Draw(h.T, "least")
	most := least + rapid.IntRange(0, 5000).Draw(h.T, "most")
	greatest := rapid.SampledFrom([]*int{nil, &most}).Draw(h.T, "greatest")
	why := rapid.SampledFrom([]string{"", "the {light}: \"low\"", "so"}).Draw(h.T, "why")
	switch rapid.SampledFrom([]string{"change", "split", "remove", "move", "add", "link", "relink", "unlink", "uses", "remedy", "remedy"}).Draw(h.T, "edit") {
	case "change":
		edit = models.ChangeStep{StepID: step.ID, StepWork: h.work(step)}
	case "split":
		edit = models.SplitStep{StepID: step.ID, Attended: max(1, step.Attended/3), FirstName: step.Name + ", one", SecondName: "Another half", Apart: rapid.Bool().Draw(h.T, "apart")}
	case "remove":
		edit = models.RemoveStep{StepID: step.ID}
	case "move":
		edit = models.MoveStep{StepID: step.ID, OtherID: other, After: rapid.Bool().Draw(h.T, "after")}
	case "add":
		add := models.AddStep{StepWork: h.work(step), PieceID: step.PieceID, AfterID: step.ID, Parts: map[models.ID]int{}}
		add.Kind = rapid.SampledFrom([]string{"", "sand", add.Kind}).Draw(h.T, "kind")
		part := h.snap.Parts[rapid.IntRange(0, len(h.snap.Parts)-1).Draw(h.T, "part")]
		add.Parts[part.ID] = rapid.IntRange(1, part.Quantity).Draw(h.T, "pieces")
		if rapid.Bool().Draw(h.T, "on an assembly") {
			add.Assemblies = []models.ID{h.snap.Assemblies[0].ID}
		}
		edit = add
	case "uses":
		edit = h.uses(step)
	case "link":
		edit = models.AddLink{Link: models.Link{BeforeID: step.ID, AfterID: other, From: from, MinLag: least, MaxLag: greatest, Why: why}}
	case "relink":
		edit = models.ChangeLink{LinkID: link.ID, From: from, MinLag: least, MaxLag: greatest, Why: why}
	case "unlink":
		edit = models.RemoveLink{LinkID: link.ID}
	case "remedy":
		edit = h.remedy()
	}
	if edit == nil {
		return
	}
	err := h.store.EditCommission(context.Background(), h.com, h.snap.Commissions[0].Edition, []models.Edit{edit}, nil)
	var refused *models.Error
	if err != nil && !errors.As(err, &refused) {
		require.NoError(h.T, err)
	}
	h.read()
}

// uses lets a step work on other parts and assemblies.
func (h *hand) uses(st *models.Step) models.Edit {
	c := models.ChangeUses{StepID: st.ID, Parts: map[models.ID]int{}}
	for _, use := range h.snap.PartsOf(st.ID) {
		c.Parts[use.PartID] = rapid.IntRange(1, use.Quantity).Draw(h.T, "so many")
	}
	for _, use := range h.snap.AssembliesOf(st.ID) {
		c.Assemblies = append(c.Assemblies, use.AssemblyID)
	}
	if part := h.snap.Parts[rapid.IntRange(0, len(h.snap.Parts)-1).Draw(h.T, "part")]; rapid.Bool().Draw(h.T, "one more") {
		c.Parts[part.ID] = part.Quantity
	}
	if a := h.snap.Assemblies[rapid.IntRange(0, len(h.snap.Assemblies)-1).Draw(h.T, "assembly")].ID; !slices.Contains(c.Assemblies, a) {
		c.Assemblies = append(c.Assemblies, a)
	}
	return c
}

// remedy changes a part or an assembly, as remedies of the checks do.
func (h *hand) remedy() models.Edit {
	var e checks.Edit
	if rapid.Bool().Draw(h.T, "a part") {
		p := h.order.Parts[rapid.IntRange(0, len(h.order.Parts)-1).Draw(h.T, "part")]
		p.Rough.Thickness += wood.Length(rapid.IntRange(0, 9_999_999).Draw(h.T, "thicker"))
		e = checks.SetPart{Part: p}
	} else {
		glued := slices.DeleteFunc(slices.Clone(h.order.Steps), func(s pattern.Step) bool { return s.Makes == "" })
		if len(glued) == 0 {
			return nil
		}
		e = checks.Stages{Step: rapid.SampledFrom(glued).Draw(h.T, "glue-up").Key, Count: 2}
	}
	order, err := checks.Apply(h.order, &checks.Remedy{Say: phrase.Of("try"), Edits: []checks.Edit{e}})
	if err != nil {
		return nil // too little in it for two stages
	}
	edit, err := OrderEdit(order, h.snap.Pieces[0].ID, h.snap)
	require.NoError(h.T, err)
	return edit
}

// work is what a step says, some of it changed.
func (h *hand) work(st *models.Step) models.StepWork {
	w := models.StepWork{Name: st.Name, Kind: st.Kind, Phase: st.Phase, Verb: st.Verb, StationID: st.StationID, Attended: st.Attended,
		Unattended: st.Unattended, Rest: st.Rest, Interruptible: st.Interruptible, Hands: st.Hands, Dusty: st.Dusty, Wet: st.Wet,
		OpenTime: st.OpenTime, GlueID: st.GlueID, FinishID: st.FinishID, Cautions: st.Cautions, Note: st.Note, Clamps: map[models.ID]int{},
		Setup: h.snap.SetupOf(st)}
	for _, use := range h.snap.ClampsOf(st.ID) {
		w.Clamps[use.ClampClassID] = use.Count
	}
	for range rapid.IntRange(1, 3).Draw(h.T, "fields") {
		switch rapid.IntRange(0, 9).Draw(h.T, "field") {
		case 0:
			w.Name = rapid.StringMatching(`[A-Z][a-zé{}"':#\\ -]{0,30}[a-z]`).Draw(h.T, "name")
		case 1:
			w.Attended = rapid.IntRange(1, 5000).Draw(h.T, "attended")
		case 2:
			w.Unattended, w.Rest = rapid.IntRange(1, 9000).Draw(h.T, "unattended"), rapid.SampledFrom([]string{"in clamps", "drying", "resting"}).Draw(h.T, "rest")
		case 3:
			w.Unattended, w.Rest = 0, ""
		case 4:
			w.StationID = h.snap.Stations[rapid.IntRange(0, len(h.snap.Stations)-1).Draw(h.T, "station")].ID
		case 5:
			w.Setup = rapid.SampledFrom([]*models.Setup{nil, {State: "fence 12 mm", Family: "fence", Instruction: "Set {12} mm\nand \"lock\""}}).Draw(h.T, "setup")
		case 6:
			class := h.snap.Clamps[rapid.IntRange(0, len(h.snap.Clamps)-1).Draw(h.T, "class")].ID
			if w.Clamps[class] = rapid.IntRange(0, 9).Draw(h.T, "clamps"); w.Clamps[class] == 0 {
				delete(w.Clamps, class)
			}
		case 7:
			w.Interruptible, w.Dusty, w.Wet = rapid.Bool().Draw(h.T, "interruptible"), rapid.Bool().Draw(h.T, "dusty"), rapid.Bool().Draw(h.T, "wet")
		case 8:
			w.GlueID, w.OpenTime, w.FinishID = nil, 0, nil
			if rapid.Bool().Draw(h.T, "glued") {
				w.GlueID, w.OpenTime = &h.snap.Glues[0].ID, rapid.IntRange(1, 90).Draw(h.T, "open")
			}
		case 9:
			w.Note, w.Cautions = rapid.StringMatching(`[A-Za-z{}"':#\n\t -]{0,40}`).Draw(h.T, "note"), []string{"Mind the {blade}."}
		}
	}
	return w
}

// keptAs keeps the commission's piece as a pattern and sees that it makes the same.
func (h *hand) keptAs(in pattern.Input, c *pattern.Changes, key string) []byte {
	shop := PatternShop(h.snap)
	file, err := h.lib.Keep(in, shop, key, "Kept", c)
	require.NoError(h.T, err)
	more, _, err := h.lib.With(key+".yaml", file)
	require.NoError(h.T, err, "%s", file)
	built, err := more.Build(pattern.Input{Pattern: key}, shop)
	require.NoError(h.T, err, "%s", file)
	require.Empty(h.T, built.LeftOut)
	built.Pattern, built.Title = h.order.Pattern, h.order.Title
	require.NoError(h.T, same(h.order, built))
	order := func(b *pattern.Built) (keys []string) {
		for _, s := range b.Steps {
			keys = append(keys, s.Key)
		}
		return keys
	}
	require.Equal(h.T, order(h.order), order(built), "listed alike")
	return file
}

// same compares two orders of work, and says the first thing that differs. Lists
// that records keep in no order are compared as sets.
func same(want, got *pattern.Built) error {
	w, g := texts(want), texts(got)
	for key := range w {
		if w[key] != g[key] {
			return fmt.Errorf("%s: wanted %s\n got %s", key, w[key], g[key])
		}
	}
	for key := range g {
		if w[key] == "" {
			return fmt.Errorf("%s: wanted none\n got %s", key, g[key])
		}
	}
	return nil
}

// texts writes an order of work as texts, by what each is about.
func texts(b *pattern.Built) map[string]string {
	out := map[string]string{}
	put := func(key string, x any) {
		text, err := json.Marshal(x)
		out[key] = string(text) + fmt.Sprint(err)
	}
	for _, s := range comparable(b).Steps {
		parts := quantities(s.Parts)
		s.Parts = nil
		s.Assemblies = sorted(s.Assemblies)
		put("step "+s.Key, []any{s, parts})
	}
	for _, s := range b.Steps {
		put("setup of "+s.Key, s.Setup)
	}
	for _, l := range comparable(b).Links {
		put("link "+l.Before+" "+l.After+" "+string(l.From), l)
	}
	for _, p := range b.Parts {
		put("part "+p.Key, p)
	}
	for _, a := range b.Assemblies {
		put("assembly "+a.Key, []any{a.Name, quantities(a.Parts), sorted(a.Assemblies), sorted(a.Loose), a.Size})
	}
	return out
}

func sorted(keys []string) []string { return slices.Sorted(slices.Values(keys)) }
