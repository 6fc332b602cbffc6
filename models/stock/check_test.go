package stock

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models/phrase"
)

// sawn is a plan with everything in it: kerf, trim, a defect, matched parts, a shortage.
func sawn(t *testing.T) (Problem, Plan) {
	a, b := board("a", 2000*mm, 150*mm), board("b", 1500*mm, 150*mm)
	a.Log, a.InLog, b.Log, b.InLog = "A", 1, "A", 2
	a.Defects = []Defect{{Rect: Rect{X: 900 * mm, Y: 20 * mm, Length: 50 * mm, Width: 50 * mm}}}
	p := Problem{Stock: pine, Boards: []Board{a, b}, Rules: Rules{Kerf: 3 * mm, EndTrim: 10 * mm, First: FirstCrosscut, Stages: 3, KeepLength: 200 * mm, KeepWidth: 40 * mm},
		Pieces: []Piece{
			{Key: "top", Quantity: 3, Length: 800 * mm, Width: 140 * mm, Thickness: 20 * mm, Match: "top"},
			{Key: "rail", Quantity: 2, Length: 300 * mm, Width: 70 * mm},
			{Key: "long", Quantity: 1, Length: 3000 * mm, Width: 70 * mm},
		}}
	plan, err := Solve(context.Background(), p, Search{Tries: 500, Seed: 1})
	require.NoError(t, err)
	require.NoError(t, Check(p, plan))
	require.Len(t, plan.Layouts, 2)
	return p, plan
}

// find is the first part of a piece on a layout.
func find(t *testing.T, l *Layout, piece string) *Placed {
	for i := range l.Placed {
		if l.Placed[i].Piece == piece {
			return &l.Placed[i]
		}
	}
	require.Fail(t, "no such part", piece)
	return nil
}

// Whatever is spoilt in a sound plan, the checker says so.
func TestCheckFindsWhatIsWrong(t *testing.T) {
	for name, c := range map[string]struct {
		spoil func(*Problem, *Plan)
		want  string
	}{
		"a part is moved":             {func(_ *Problem, plan *Plan) { plan.Layouts[0].Placed[0].X += mm }, "the cuts do not give it"},
		"a part is larger than asked": {func(p *Problem, _ *Plan) { p.Pieces[0].Width -= mm }, "not 800 mm by 139 mm"},
		"the kerf is wider":           {func(p *Problem, _ *Plan) { p.Rules.Kerf += mm }, "the piece to be cut is not on the bench"},
		"a cut is left out":           {func(_ *Problem, plan *Plan) { plan.Layouts[0].Cuts = plan.Layouts[0].Cuts[1:] }, "the piece to be cut is not on the bench"},
		"a cut is made too early": {func(_ *Problem, plan *Plan) {
			cuts := plan.Layouts[0].Cuts
			cuts[0], cuts[len(cuts)-1] = cuts[len(cuts)-1], cuts[0]
		}, "the piece to be cut is not on the bench"},
		"a measure is wrong":         {func(_ *Problem, plan *Plan) { plan.Layouts[0].Cuts[2].Measure += mm }, "is not what lies before the kerf"},
		"a stage is counted wrong":   {func(_ *Problem, plan *Plan) { plan.Layouts[0].Cuts[2].Stage++ }, "it is in stage"},
		"fewer stages are allowed":   {func(p *Problem, _ *Plan) { p.Rules.Stages = 2; p.Rules.First = FirstRip }, "is more than the 2 allowed"},
		"a short piece is ripped":    {func(p *Problem, _ *Plan) { p.Rules.LeastRip = 5000 * mm }, "is too short to rip"},
		"a cut passes as end trim":   {func(_ *Problem, plan *Plan) { plan.Layouts[0].Cuts[2].Stage = 0 }, "it is no end trim"},
		"a cut is of no kind":        {func(_ *Problem, plan *Plan) { plan.Layouts[0].Cuts[2].Kind = "saw" }, "neither a crosscut nor a rip"},
		"a blade misses":             {func(_ *Problem, plan *Plan) { plan.Layouts[0].Cuts[1].At = 3000 * mm }, "the blade does not meet the piece"},
		"an offcut is hidden":        {func(_ *Problem, plan *Plan) { plan.Layouts[0].Offcuts = plan.Layouts[0].Offcuts[1:] }, "nothing is said of what is left"},
		"a scrap is kept":            {func(_ *Problem, plan *Plan) { plan.Layouts[0].Offcuts[0].Keep = true }, "is too small to keep"},
		"a part is cut twice":        {func(_ *Problem, plan *Plan) { plan.Layouts[0].Placed[0].Number = 9 }, "it is one too many"},
		"nobody asked for a part":    {func(_ *Problem, plan *Plan) { plan.Layouts[0].Placed[0].Piece = "x" }, "nobody asked for it"},
		"a part is left out":         {func(_ *Problem, plan *Plan) { plan.Layouts[0].Placed = plan.Layouts[0].Placed[1:] }, "are cut and"},
		"a shortage is hidden":       {func(_ *Problem, plan *Plan) { plan.Short = nil }, "0 are cut and 0 short, of 1"},
		"a shortage gives no reason": {func(_ *Problem, plan *Plan) { plan.Short[0].Why = phrase.Phrase{} }, "says no quantity or no reason"},
		"a part is turned":           {func(_ *Problem, plan *Plan) { plan.Layouts[0].Placed[0].Turned = true }, "its grain lies across"},
		"a defect under a part": {func(p *Problem, plan *Plan) {
			p.Boards[0].Defects[0].Rect = plan.Layouts[0].Placed[0].Rect
		}, "it covers the defect"},
		"the ends are trimmed more": {func(p *Problem, _ *Plan) { p.Rules.EndTrim = 900 * mm }, "in the trim of its ends"},
		"the board is too thin":     {func(p *Problem, _ *Plan) { p.Boards[0].Thickness = 15 * mm }, "the board is too thin"},
		"the boards do not match":   {func(p *Problem, _ *Plan) { p.Boards[1].InLog = 7 }, "which must match, lie in way 2, and the plan says 1"},
		"a match is not spoken of":  {func(_ *Problem, plan *Plan) { plan.Matched = nil }, "the plan says 0 (told: false)"},
		"a match is made up":        {func(_ *Problem, plan *Plan) { plan.Matched = append(plan.Matched, Matched{Match: "x"}) }, "or none is cut"},
		"a board is cut twice":      {func(_ *Problem, plan *Plan) { plan.Layouts[1] = plan.Layouts[0] }, "is cut into twice"},
		"a board is not there":      {func(_ *Problem, plan *Plan) { plan.Layouts[0].Board.ID = "c" }, "is not on hand"},
		"a kept offcut has a knot": {func(p *Problem, plan *Plan) {
			for _, o := range plan.Layouts[1].Offcuts {
				if o.Keep {
					p.Boards[1].Defects = []Defect{{Rect: o.Rect}}
				}
			}
		}, "has too little without a defect"},
	} {
		t.Run(name, func(t *testing.T) {
			p, plan := sawn(t)
			require.NotNil(t, find(t, &plan.Layouts[0], "top"))
			c.spoil(&p, &plan)
			assert.ErrorContains(t, Check(p, plan), c.want)
		})
	}
}
