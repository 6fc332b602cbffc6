package handlers

import (
	"context"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
	"faceside/models/stock"
	"faceside/models/testrig"
	"faceside/models/wood"
)

// ashForm is what is typed for a board that testrig's shelf can be cut from.
func ashForm() url.Values {
	return url.Values{"species": {"ash"}, "quarter": {"5/4"}, "length": {"2600"}, "width": {"260 mm"}, "count": {"1"}, "note": {"from the loft"}}
}

// rack saves a board that testrig's shelf can be cut from.
func (r *rig) rack(length, width wood.Length) models.Board {
	r.Helper()
	b, err := r.store.SaveBoard(context.Background(), models.Board{Species: "ash", Quarter: "5/4", Length: length * wood.Millimetre, Width: width * wood.Millimetre, Count: 1})
	require.NoError(r, err)
	return b
}

func TestBoardsAreAddedChangedAndRemoved(t *testing.T) {
	r := newRig(t)
	tab := r.browser()
	empty := tab.get("/stock")
	assert.Contains(t, empty.text("main"), "No board is on hand yet.")

	added := tab.post("/stock/boards", ashForm())
	assert.Equal(t, http.StatusOK, added.status)
	assert.Equal(t, "/stock", added.path)
	assert.Contains(t, added.text("#boards"), "5/4 Ash 0.021 m³ No. 1 · 2600 × 260 mm from the loft")

	one := tab.get("/stock/boards/1")
	changed := fieldsOf(one.doc.Find("#board-form"), nil)
	assert.Equal(t, "2600 mm", changed.Get("length"))
	changed.Set("length", "8' 1 1/2")
	changed.Set("count", "3")
	changed.Set("log", "A")
	changed.Set("place_in_the_log", "4")
	again := tab.post("/stock/boards/1", changed)
	assert.Equal(t, http.StatusOK, again.status)
	assert.Contains(t, again.text("main"), "3 equal ones · log A, places 4 to 6")
	assert.Contains(t, again.text("#defects"), "This record stands for 3 equal boards.")

	gone := tab.press(again, "Remove from the rack")
	assert.Equal(t, "/stock", gone.path)
	assert.Contains(t, gone.text("main"), "No board is on hand yet.")
	assert.Equal(t, http.StatusNotFound, tab.get("/stock/boards/1").status)
	assert.Equal(t, http.StatusNotFound, tab.post("/stock/boards/1/remove", nil).status)
}

func TestABoardThatIsRefusedKeepsWhatWasTyped(t *testing.T) {
	r := newRig(t)
	tab := r.browser()
	for name, c := range map[string]struct{ field, typed, say string }{
		"no length":   {"length", "", "The length 0 mm is not above 0 and at most 100 m."},
		"no size":     {"length", "long", `"long"`},
		"negative":    {"width", "-3", `"-3"`},
		"quarter":     {"quarter", "9/4", `The quarter "9/4" is not one that is sold`},
		"none":        {"count", "0", "The count 0 boards is not between 1 and 500 boards."},
		"no number":   {"count", "two", `"two" is not a whole number.`},
		"log, place":  {"log", "A", "The place in the log 0 is not between 1 and 100,000."},
		"place alone": {"place_in_the_log", "2", "The place 2 is in no log"},
	} {
		t.Run(name, func(t *testing.T) {
			form := ashForm()
			form.Set(c.field, c.typed)
			p := tab.post("/stock/boards", form)
			assert.Equal(t, http.StatusUnprocessableEntity, p.status)
			assert.Contains(t, p.text(".wrong"), c.say)
			assert.Equal(t, "from the loft", p.typed("note"))
			if c.field != "quarter" {
				assert.Equal(t, c.typed, p.typed(c.field))
			}
			_, open := p.doc.Find("#add details").Attr("open")
			assert.True(t, open)
			all, err := r.store.Boards(context.Background())
			require.NoError(t, err)
			assert.Empty(t, all, "nothing half saved")
		})
	}
	r.rack(2000, 200)
	form := ashForm()
	form.Set("width", "wide")
	p := tab.post("/stock/boards/1", form)
	assert.Equal(t, http.StatusUnprocessableEntity, p.status)
	assert.Equal(t, "wide", fieldsOf(p.doc.Find("#board-form"), nil).Get("width"))
	assert.Contains(t, p.text("#change .wrong"), `"wide"`)
	assert.Equal(t, http.StatusNotFound, tab.post("/stock/boards/99", ashForm()).status)
}

func TestDefectsAreMarkedWithTypedMeasures(t *testing.T) {
	r := newRig(t)
	r.rack(2000, 200)
	tab := r.browser()
	knot := url.Values{"distance_from_the_left_end": {"400"}, "distance_from_the_lower_edge": {"1 in"}, "length": {"60"}, "width": {"40"}, "note": {`knot <b>"black"</b>`}}
	p := tab.post("/stock/boards/1/defects", knot)
	assert.Equal(t, http.StatusOK, p.status)
	assert.Equal(t, "/stock/boards/1", p.path)
	assert.Contains(t, p.text("#defects"), `knot <b>"black"</b> 400 mm from the left end, 25.4 mm from the lower edge; 60 × 40 mm`)
	assert.Equal(t, 1, p.doc.Find(".drawing .ct-flaw").Length())
	assert.Contains(t, p.text(".drawing"), `knot <b>"black"</b>`)

	knot.Set("length", "1700")
	p = tab.post("/stock/boards/1/defects", knot)
	assert.Equal(t, http.StatusUnprocessableEntity, p.status)
	assert.Contains(t, p.text("#defects .wrong"), "The defect would reach to 2100 mm from the left end, and the board is 2000 mm long.")
	assert.Equal(t, "1 in", p.typed("distance_from_the_lower_edge"))
	knot.Set("distance_from_the_left_end", "there")
	p = tab.post("/stock/boards/1/defects", knot)
	assert.Contains(t, p.text("#defects .wrong"), `"there"`)

	assert.Equal(t, http.StatusNotFound, tab.post("/stock/boards/1/defects/9/remove", nil).status)
	assert.Equal(t, http.StatusNotFound, tab.post("/stock/boards/1/defects/x/remove", nil).status)
	p = tab.post("/stock/boards/1/defects/1/remove", nil)
	assert.Contains(t, p.text("#defects"), "None marked.")
}

func TestCutListOfACommission(t *testing.T) {
	r := newRig(t)
	com := r.take("Shelf for the hall")
	tab := r.browser()
	assert.Equal(t, 1, tab.get(commissionHref(com.ID)).doc.Find(`a[href="/commissions/1/cut-list"]`).Length())
	p := tab.get("/commissions/1/cut-list")
	assert.Equal(t, http.StatusOK, p.status)
	assert.Contains(t, p.text("main"), "Ash, 22 mm thick from 5/4 stock")
	assert.Contains(t, p.texts("tbody tr"), "3 × Panel board 840 × 110 × 27 mm 800 × 100 × 22 mm")
	assert.Equal(t, 0, p.doc.Find(".is-cut").Length())

	ana := r.as("Ana")
	require.Equal(t, http.StatusOK, ana.tap(models.TapStart, r.step("joint")).status)
	p = tab.get("/commissions/1/cut-list")
	assert.Contains(t, p.texts("tbody tr.is-cut"), "3 × Panel board cut 840 × 110 × 27 mm 800 × 100 × 22 mm")
	assert.Equal(t, http.StatusNotFound, tab.get("/commissions/99/cut-list").status)
	tab.script = true
	assert.NotContains(t, tab.get("/commissions/1/cut-list").body, "<html")
}

// The numbers of what to buy are worked by hand: 3 of 840 × 110 and 2 of 740 × 66 mm are
// 0.375 m² or 4.03 square feet of face, at 5/4 5.04 board feet; with a yield of 75 % that
// takes 7.
func TestWhatToBuy(t *testing.T) {
	r := newRig(t)
	r.take("Shelf for the hall")
	tab := r.browser()
	feet := (3*wood.BoardFeet(840*wood.Millimetre, 110*wood.Millimetre, 5*wood.Inch/4) + 2*wood.BoardFeet(740*wood.Millimetre, 66*wood.Millimetre, 5*wood.Inch/4))
	require.InDelta(t, 5.04, feet, 0.01)

	p := tab.get("/stock/buy")
	assert.Contains(t, p.text("#to-buy"), "5/4 Ash 5 parts, 0.012 m³ rough none of them on hand for 5 parts; the longest part takes 840 mm, the widest 110 mm 0.017 m³")
	p = tab.get("/stock/buy?boards=50&sheets=85&length=2000&width=150")
	assert.Contains(t, p.text("#to-buy"), "0.026 m³ about 3 of 2000 × 150 mm", "11 board feet of boards that have 4.0 each")
	assert.Equal(t, "50", p.typed("boards"))

	r.rack(900, 280) // a panel board and both rails, side by side: more wood than two panel boards
	p = tab.get("/stock/buy")
	assert.Contains(t, p.text("#to-buy"), "on hand for 3 of them for 2 parts")
	r.rack(2600, 260)
	p = tab.get("/stock/buy")
	assert.Contains(t, p.text("#to-buy"), "Nothing: the boards on hand give all parts.")
	assert.Contains(t, p.text("#to-buy"), "on hand for all of them nothing")
}

func TestBadQuestionsKeepWhatWasTyped(t *testing.T) {
	r := newRig(t)
	r.take("Shelf for the hall")
	for path, say := range map[string]string{
		"/stock/buy?boards=0":                        `"0" is not between 1 and 100 %.`,
		"/stock/buy?boards=NaN":                      `"NaN" is not a number`,
		"/stock/buy?sheets=101":                      `"101" is not between 1 and 100 %.`,
		"/stock/buy?sheets=":                         `"" is not between 1 and 100 %.`,
		"/stock/buy?length=2000":                     "Give the width too, or leave both empty.",
		"/stock/buy?width=0&length=1":                "The width 0 is not more than 0.",
		"/stock/cuts?kerf=thin":                      `"thin"`,
		"/stock/cuts?kerf=51":                        "51 is not between 0 and 50 mm.",
		"/stock/cuts?end_trim=501":                   "501 is not between 0 and 500 mm.",
		"/stock/cuts?commission=99":                  "There is no open commission with number 99.",
		"/stock/cuts?commission=x%22%3E%3Cscript%3E": `"x\"><script>" is no number of a record.`,
	} {
		t.Run(path, func(t *testing.T) {
			p := r.browser().get(path)
			assert.Equal(t, http.StatusUnprocessableEntity, p.status)
			assert.Contains(t, p.text(".wrong"), say)
			assert.Contains(t, p.text(".card > .refusal"), say, "for a script that swaps the list alone")
			assert.Equal(t, 0, p.doc.Find("main script").Length())
			asked, err := url.Parse(path)
			require.NoError(t, err)
			for name, typed := range asked.Query() {
				if name != "commission" {
					assert.Equal(t, typed[0], p.typed(name))
				}
			}
		})
	}
}

func TestCuttingPlan(t *testing.T) {
	r := newRig(t)
	r.take("Shelf for the hall")
	r.rack(2600, 260)
	tab := r.browser()
	p := tab.get("/stock/cuts")
	require.Equal(t, http.StatusOK, p.status)
	assert.Contains(t, p.text("#cuts"), "5 of 5 parts · 1 board cut into")
	assert.Contains(t, p.text(".cut-stock"), "no plan can do with less")
	assert.Equal(t, []string{"A 3 × Panel board 840 × 110 mm · Shelf for the hall", "B 2 × Rail 740 × 66 mm · Shelf for the hall"}, p.texts(".cut-parts li"))
	assert.Equal(t, 3, p.doc.Find(`.drawing [data-part="A"]`).Length())
	assert.Equal(t, 2, p.doc.Find(`.drawing [data-part="B"]`).Length())
	cuts := p.texts(".cut-steps li")
	require.NotEmpty(t, cuts)
	assert.Equal(t, "Crosscut 25.4 mm off the left end kerf included", cuts[0])
	all := strings.Join(cuts, "\n")
	assert.Equal(t, 3, strings.Count(all, "A Panel board"), "each part comes off in one cut: %s", all)
	assert.Equal(t, 2, strings.Count(all, "B Rail"), all)
	assert.Equal(t, p.texts(".cut-stock"), tab.get("/stock/cuts").texts(".cut-stock"), "the same question has the same answer")

	p = tab.get("/stock/cuts?commission=1&kerf=5&end_trim=0&match=on")
	assert.Equal(t, http.StatusOK, p.status)
	assert.Contains(t, p.text(".screen-head"), "For Shelf for the hall")
	assert.NotContains(t, p.text(".cut-steps"), "off the left end")
	assert.Equal(t, "5", p.typed("kerf"))
	assert.Equal(t, 1, p.doc.Find("[name=match][checked]").Length())
}

func TestCuttingPlanSaysWhatIsShort(t *testing.T) {
	r := newRig(t)
	r.take("Shelf for the hall")
	tab := r.browser()
	p := tab.get("/stock/cuts")
	assert.Contains(t, p.text("#cuts"), "0 of 5 parts · 0 boards cut into")
	assert.Contains(t, p.text(".plan-bad"), "3 × Panel board, 840 × 110 mm, of Shelf for the hall:")

	r.rack(900, 280)
	p = tab.get("/stock/cuts")
	assert.Contains(t, p.text("#cuts"), "3 of 5 parts · 1 board cut into")

	ana := r.as("Ana")
	require.Equal(t, http.StatusOK, ana.tap(models.TapStart, r.step("joint")).status)
	assert.Contains(t, tab.get("/stock/cuts").text("#cuts"), "Nothing is left to cut here.")
	assert.Contains(t, tab.get("/stock/buy").text("#to-buy"), "there is nothing to buy")
}

// A name of hostile text is text in the drawing and in the lists.
func TestCuttingPlanHoldsHostileNamesAsText(t *testing.T) {
	r := newRig(t)
	hostile := `"><script>alert(1)</script>`
	c := testrig.NewCommission(t, r.store, hostile, "2026-03-20")
	c.Pieces[0].Parts[0].Name = hostile
	_, err := r.store.TakeCommission(context.Background(), c)
	require.NoError(t, err)
	r.rack(2600, 260)
	for _, path := range []string{"/stock/cuts", "/stock/buy", "/stock/runs", "/commissions/1/cut-list", "/stock/cuts?commission=1"} {
		p := r.browser().get(path)
		assert.Equal(t, http.StatusOK, p.status, path)
		assert.Equal(t, 0, p.doc.Find("main script").Length(), path)
		assert.Equal(t, 0, p.doc.Find("main [style]").Length(), path)
	}
	assert.Contains(t, r.browser().get("/stock/cuts").text(".drawing"), hostile)
}

func TestMillingRunsMeetThePlanerOnce(t *testing.T) {
	r := newRig(t)
	r.take("Shelf for the hall")
	r.take("Shelf for the den")
	tab := r.browser()
	p := tab.get("/stock/runs")
	assert.Equal(t, []string{"Planer at 22 mm"}, p.texts("#runs h2"), "one thickness is one run, whichever commission")
	assert.Contains(t, p.text("#runs"), "10 parts · begin at 27 mm")
	assert.Len(t, p.texts("#runs tbody tr"), 4)
	assert.Equal(t, 0, p.doc.Find("#runs .caution").Length(), "740 mm is long enough for the planer")

	planer := testrig.Station(t, testrig.Snapshot(t, r.store), "planer")
	planer.MinLength = 800 * wood.Millimetre
	_, err := r.store.SaveStation(context.Background(), *planer)
	require.NoError(t, err)
	assert.Contains(t, tab.get("/stock/runs").text("#runs .caution"), "The shortest part is 740 mm rough and the planer takes nothing under 800 mm")
}

// A plan is made once for all who ask the same, and anew after any change.
func TestCuttingPlansAreKept(t *testing.T) {
	r := newRig(t)
	r.take("Shelf for the hall")
	var p cutPlans
	reads := 0
	ask := func(match bool) *cutAnswer {
		snap := testrig.Snapshot(t, r.store)
		a, err := p.answer(context.Background(), cutQuestion{revision: snap.Shop.Revision, kerf: 3 * wood.Millimetre, match: match, work: 100}, snap,
			func() ([]models.Board, error) { reads++; return r.store.Boards(context.Background()) })
		require.NoError(t, err)
		return a
	}
	first := ask(false)
	assert.Same(t, first, ask(false))
	assert.NotSame(t, first, ask(true))
	r.rack(2600, 260)
	assert.NotSame(t, first, ask(false))
	assert.Equal(t, 3, reads)
	for i := range 2 * plansKept {
		r.rack(wood.Length(1000+i), 100)
		ask(false)
	}
	assert.Len(t, p.kept, plansKept)
}

// Whatever is shown can be sawn: the plan behind the screen holds against the check
// that knows nothing of the search.
func TestCuttingPlansCanBeSawn(t *testing.T) {
	r := newRig(t)
	r.take("Shelf for the hall")
	r.take("Shelf for the den")
	b := r.rack(2600, 160)
	r.rack(1800, 240)
	_, err := r.store.MarkDefect(context.Background(), models.BoardDefect{BoardID: b.ID, X: 700 * wood.Millimetre, Length: 50 * wood.Millimetre, Width: 60 * wood.Millimetre})
	require.NoError(t, err)
	boards, err := r.store.Boards(context.Background())
	require.NoError(t, err)
	for _, match := range []bool{false, true} {
		a := cutQuestion{kerf: 3 * wood.Millimetre, trim: 20 * wood.Millimetre, match: match, work: 5000}.plan(context.Background(), stock.Solve, testrig.Snapshot(t, r.store), boards)
		require.Len(t, a.plans, 1)
		require.NoError(t, a.refused[0])
		require.NotEmpty(t, a.plans[0].Layouts)
		assert.NoError(t, stock.Check(a.problems[0], a.plans[0]))
	}
}

func TestLettersGoOnAfterZ(t *testing.T) {
	assert.Equal(t, []string{"A", "Z", "AA", "AZ", "BA"}, []string{letters(0), letters(25), letters(26), letters(51), letters(52)})
}

// The full work of a plan, on a rack of 20 boards and six commissions.
func BenchmarkCuttingPlan(b *testing.B) {
	clock := testrig.Monday()
	store := testrig.Shop(b, clock)
	for range 6 {
		testrig.Commission(b, store, "Shelf", "2026-03-20")
	}
	for i := range wood.Length(20) {
		_, err := store.SaveBoard(context.Background(), models.Board{Species: "ash", Quarter: "5/4", Length: (1500 + 90*i) * wood.Millimetre, Width: (120 + 7*i) * wood.Millimetre, Count: 1})
		require.NoError(b, err)
	}
	boards, err := store.Boards(context.Background())
	require.NoError(b, err)
	snap := testrig.Snapshot(b, store)
	q := cutQuestion{kerf: stock.UsualRules.Kerf, trim: stock.UsualRules.EndTrim, match: true, work: planWork}
	for b.Loop() {
		if a := q.plan(context.Background(), stock.Solve, snap, boards); a.hurried {
			b.Logf("not done after %v", patience)
		}
	}
}
