package handlers

import (
	"bytes"
	"context"
	"fmt"
	"log/slog"
	"net/http"
	"net/url"
	"testing"

	"github.com/PuerkitoBio/goquery"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
	"faceside/models/stock"
	"faceside/models/testrig"
	"faceside/models/wood"
)

// cutForm is what the plan's page sends, of all its stocks.
func cutForm(p page) url.Values {
	form := fieldsOf(p.doc.Find("#cut-it"), nil)
	form.Del("plan")
	p.doc.Find(`#cut-it [name="plan"]`).Each(func(_ int, s *goquery.Selection) { form.Add("plan", s.AttrOr("value", "")) })
	return form
}

func (r *rig) boards() []models.Board {
	r.Helper()
	all, err := r.store.Boards(context.Background())
	require.NoError(r, err)
	return all
}

func TestACuttingPlanIsBookedOnceAndUndone(t *testing.T) {
	r := newRig(t)
	r.take("Shelf for the hall")
	r.rack(2600, 260)
	tab := r.browser()
	before := r.boards()
	p := tab.get("/stock/cuts?kerf=4&commission=1")
	form := cutForm(p)
	assert.Equal(t, "4", form.Get("kerf"))

	cut := tab.press(p, "It is cut")
	require.Equal(t, http.StatusOK, cut.status)
	assert.Equal(t, "/stock/cuttings/1", cut.path)
	assert.Contains(t, cut.text("main"), "Cut: 5/4 Ash")
	assert.Contains(t, cut.text("#used"), "No. 1 · 2600 × 260 mm")
	assert.Contains(t, cut.text("#back"), "offcut of no. 1")
	assert.Contains(t, cut.text("main"), "3 × Panel board, Shelf for the hall 2 × Rail, Shelf for the hall")
	left := r.boards()
	require.NotEmpty(t, left)
	for _, b := range left {
		assert.Equal(t, models.ID(1), b.CutFrom)
		assert.GreaterOrEqual(t, b.Length, stock.UsualRules.KeepLength)
		assert.GreaterOrEqual(t, b.Width, stock.UsualRules.KeepWidth)
	}
	assert.Contains(t, tab.get("/stock/cuts").text("#cuts"), "Nothing is left to cut here.")
	assert.Contains(t, tab.get("/stock/buy").text("#to-buy"), "there is nothing to buy")
	assert.Len(t, tab.get("/commissions/1/cut-list").texts("tr.is-cut"), 2)
	assert.Contains(t, tab.get("/stock").text("#cuttings"), "5/4 Ash 1 board cut into · 5 parts")

	twice := tab.post("/stock/cuttings", form)
	assert.Equal(t, "/stock/cuttings/1", twice.path, "the same form twice is one cutting")
	assert.Equal(t, left, r.boards())

	undone := tab.press(cut, "Undo this cutting")
	assert.Contains(t, undone.text("main"), "its boards are whole on the rack again")
	assert.Equal(t, before, r.boards())
	assert.Contains(t, tab.get("/stock/cuts").text("#cuts"), "5 of 5 parts")
}

func TestOneStockOfAPlanIsBookedAlone(t *testing.T) {
	r := newRig(t)
	c := testrig.NewCommission(t, r.store, "Shelf for the hall", "2026-03-20")
	c.Pieces[0].Parts[1].Species = "cherry"
	_, err := r.store.TakeCommission(context.Background(), c)
	require.NoError(t, err)
	r.rack(2600, 260)
	_, err = r.store.SaveBoard(context.Background(), models.Board{Species: "cherry", Quarter: "5/4", Length: 2000 * wood.Millimetre, Width: 200 * wood.Millimetre, Count: 1})
	require.NoError(t, err)
	tab := r.browser()
	p := tab.get("/stock/cuts")
	form := cutForm(p)
	require.Len(t, form["plan"], 2)
	assert.Contains(t, p.texts("button"), "5/4 Cherry is cut")

	form.Set("only", "1")
	cut := tab.post("/stock/cuttings", form)
	require.Equal(t, "/stock/cuttings/1", cut.path)
	assert.Contains(t, cut.text("main"), "Cut: 5/4 Cherry")
	assert.Contains(t, cut.text("main"), "2 × Rail")
	assert.Equal(t, "ash", r.boards()[0].Species)
	assert.Equal(t, models.ID(1), r.boards()[0].ID, "the other stock is as it was")

	form.Set("only", "0")
	assert.Contains(t, tab.post("/stock/cuttings", form).text("main"), "Cut: 5/4 Ash", "the page still shows the other stock")
	for only, say := range map[string]string{"2": `There is no stock number "2" in this plan`, "x": `There is no stock number "x"`, "-1": `There is no stock number "-1"`} {
		form.Set("only", only)
		assert.Contains(t, tab.post("/stock/cuttings", form).text(".refusal"), say)
	}
}

func TestAPlanThatNoLongerHoldsIsNotBooked(t *testing.T) {
	for name, c := range map[string]struct {
		spoil  func(*rig, url.Values)
		status int
		say    string
	}{
		"the board was cut shorter": {func(r *rig, _ url.Values) {
			b := r.boards()[0]
			b.Length -= wood.Millimetre
			_, err := r.store.SaveBoard(context.Background(), b)
			require.NoError(r, err)
		}, http.StatusConflict, "Board 1 was changed since this was planned: plan the cuts again."},
		"the board is gone": {func(r *rig, _ url.Values) { require.NoError(r, r.store.RemoveBoard(context.Background(), 1)) },
			http.StatusConflict, "Board 1 is not on the rack any more"},
		"no form id":      {func(_ *rig, f url.Values) { f.Del("form_id") }, http.StatusUnprocessableEntity, "The form has no id of its own"},
		"no plan":         {func(_ *rig, f url.Values) { f.Del("plan") }, http.StatusUnprocessableEntity, "Nothing is cut"},
		"what is no plan": {func(_ *rig, f url.Values) { f.Set("plan", "x") }, http.StatusUnprocessableEntity, "is not one that was shown here"},
		"a plan made up": {func(r *rig, f url.Values) {
			plan, err := readSentPlan(f.Get("plan"))
			require.NoError(r, err)
			plan.Layouts[0].Offcuts[0].Length += wood.Millimetre
			text, err := plan.encode()
			require.NoError(r, err)
			f.Set("plan", text)
		}, http.StatusUnprocessableEntity, "is not one that was shown here"},
	} {
		t.Run(name, func(t *testing.T) {
			r := newRig(t)
			r.take("Shelf for the hall")
			r.rack(2600, 260)
			tab := r.browser()
			form := cutForm(tab.get("/stock/cuts?kerf=4"))
			c.spoil(r, form)
			before := r.boards()
			p := tab.post("/stock/cuttings", form)
			assert.Equal(t, c.status, p.status)
			assert.Contains(t, p.text(".notice .refusal"), c.say)
			assert.Equal(t, "4", p.typed("kerf"), "the plan is shown anew as it was asked for")
			assert.Equal(t, before, r.boards())
			assert.Empty(t, testrig.Snapshot(t, r.store).Cut)
		})
	}
}

func TestACuttingWhoseOffcutsAreUsedIsNotUndone(t *testing.T) {
	r := newRig(t)
	r.take("Shelf for the hall")
	r.rack(2600, 260)
	tab := r.browser()
	cut := tab.press(tab.get("/stock/cuts"), "It is cut")
	require.NoError(t, r.store.RemoveBoard(context.Background(), r.boards()[0].ID))
	p := tab.press(cut, "Undo this cutting")
	assert.Equal(t, http.StatusConflict, p.status)
	assert.Contains(t, p.text(".notice"), "was used or changed since, so the cutting cannot be undone.")
	assert.Equal(t, http.StatusNotFound, tab.get("/stock/cuttings/9").status)
	assert.Equal(t, http.StatusNotFound, tab.post("/stock/cuttings/9/undo", nil).status)
}

// A plan that does not hold against the check is not shown, and the log says why.
func TestAPlanThatDoesNotHoldIsNotShown(t *testing.T) {
	var log bytes.Buffer
	r := newRig(t, func(cfg *Config) { cfg.Log = slog.New(slog.NewTextHandler(&log, nil)) })
	r.take("Shelf for the hall")
	r.rack(2600, 260)
	s, err := newServer(r.cfg)
	require.NoError(t, err)
	s.cutPlans.solve = func(ctx context.Context, p stock.Problem, how stock.Search) (stock.Plan, error) {
		plan, err := stock.Solve(ctx, p, how)
		plan.Layouts[0].Placed[0].X += wood.Millimetre
		return plan, err
	}
	r.server.Config.Handler = s.routes()
	for range 2 {
		p := r.browser().get("/stock/cuts")
		assert.Contains(t, p.text(".cut-stock"), "There is no plan: the plan that was found does not hold against the check of its cuts, so it is not shown")
		assert.Zero(t, p.doc.Find(".board-drawing, [name=plan]").Length())
		assert.Contains(t, log.String(), "the cuts do not give it")
		log.Reset()
	}
	assert.Contains(t, r.browser().get("/stock/buy").text("#to-buy"), "5/4 Ash: the plan that was found does not hold")
}

// Boards that were bought come onto the rack in one tap, once.
func TestBoughtBoardsComeOntoTheRack(t *testing.T) {
	r := newRig(t)
	r.take("Shelf for the hall")
	tab := r.browser()
	p := tab.get("/stock/buy")
	form := fieldsOf(p.doc.Find("form.bought"), nil)
	assert.Equal(t, url.Values{"form_id": form["form_id"], "species": {"ash"}, "quarter": {"5/4"}, "thickness": {""}, "count": {"2"}, "length": {"2440 mm"}, "width": {"160 mm"}}, form,
		"7 board feet of boards that have 5.2 each")
	got := tab.press(p, "Bought: put them on the rack")
	assert.Equal(t, "/stock", got.path)
	assert.Contains(t, got.text("#boards"), "No. 1 · 2440 × 160 mm 2 equal ones")
	assert.Contains(t, tab.get("/stock/buy").text("#to-buy"), "Nothing: the boards on hand give all parts.")
	tab.post("/stock/boards", form)
	assert.Len(t, r.boards(), 1, "the same form twice")

	form.Set("form_id", "another")
	form.Set("count", "two")
	refused := tab.post("/stock/boards", form)
	assert.Equal(t, http.StatusUnprocessableEntity, refused.status)
	assert.Contains(t, refused.text(".wrong"), `"two" is not a whole number.`)
	form.Set("count", "1")
	tab.post("/stock/boards", form)
	assert.Len(t, r.boards(), 2, "a form that was refused may be sent again")
}

// Parts are put together on the cut list, and the plan keeps to it or says that it cannot.
func TestPartsThatMatchInColour(t *testing.T) {
	r := newRig(t)
	r.take("Shelf for the hall")
	tab := r.browser()
	p := tab.get("/commissions/1/cut-list")
	require.Equal(t, 2, p.doc.Find("#together-form [name=part]").Length())
	for typed, say := range map[string]string{"": "Give the group a name", "shelf": "No part is chosen: tick the parts that belong together."} {
		wrong := tab.post("/commissions/1/together", url.Values{"group": {typed}})
		assert.Equal(t, http.StatusUnprocessableEntity, wrong.status)
		assert.Contains(t, wrong.text("#together .refusal"), say)
	}
	wrong := tab.post("/commissions/1/together", url.Values{"part": {"2"}, "group": {""}})
	assert.Equal(t, 1, wrong.doc.Find("#together-form [value='2'][checked]").Length(), "what was ticked stays so")

	p = tab.post("/commissions/1/together", url.Values{"part": {"1", "2"}, "group": {"shelf <b>"}})
	assert.Contains(t, p.text("#together"), "shelf <b> 3 × Panel board · 2 × Rail")
	assert.Contains(t, p.text("#cut-list"), "matches in colour: shelf <b>")

	r.rack(2600, 260)
	assert.Contains(t, tab.get("/stock/cuts").text(".cut-stock"), "Matches in colour: “shelf <b>” of Shelf for the hall: all from board 1")
	b := r.boards()[0]
	b.Length, b.Width, b.Count = 1000*wood.Millimetre, 120*wood.Millimetre, 5
	_, err := r.store.SaveBoard(context.Background(), b)
	require.NoError(t, err)
	cuts := tab.get("/stock/cuts")
	assert.Contains(t, cuts.text(".plan-bad"), "Does not match in colour: “shelf <b>” of Shelf for the hall: from boards 1-")
	assert.Contains(t, cuts.text("#cuts"), "5 of 5 parts")
	b.Log, b.InLog = "A", 1
	_, err = r.store.SaveBoard(context.Background(), b)
	require.NoError(t, err)
	assert.Contains(t, tab.get("/stock/cuts").text(".cut-stock"), "which follow each other in one log; no one board holds them")

	apart := url.Values{}
	tab.get("/commissions/1/cut-list").doc.Find("#together li input").Each(func(_ int, in *goquery.Selection) {
		apart.Add(in.AttrOr("name", ""), in.AttrOr("value", ""))
	})
	assert.Len(t, apart["part"], 2)
	p = tab.post("/commissions/1/together", apart)
	assert.NotContains(t, p.text("#cut-list"), "matches in colour")
}

// The sentences of the plan are in the units of the shop.
func TestStockIsToldInTheShopsUnits(t *testing.T) {
	r := newRig(t)
	shop := testrig.Snapshot(t, r.store).Shop
	shop.Units, shop.Fraction = wood.Inches, 16
	require.NoError(t, r.store.SaveShop(context.Background(), shop))
	c := testrig.NewCommission(t, r.store, "Shelf for the hall", "2026-03-20")
	c.Pieces[0].Parts[0].RoughLength = 10 * wood.Inch
	c.Pieces[0].Parts[1].Species = "plywood"
	_, err := r.store.TakeCommission(context.Background(), c)
	require.NoError(t, err)
	for _, path := range []string{"/commissions/1/cut-list", "/stock/cuts", "/stock/buy", "/stock/runs"} {
		text := r.browser().get(path).text("main")
		assert.NotRegexp(t, `\d mm\b`, text, path)
		assert.Contains(t, text, fmt.Sprintf("the rough length, %s, is less than the finished length, %s", `10"`, `31 1/2"`), path)
	}
	assert.Contains(t, r.browser().get("/stock/cuts").text("main"), `there is no board of 7/8" Plywood on hand.`)
}
