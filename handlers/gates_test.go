package handlers

import (
	"net/http"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
	"faceside/models/testrig"
)

// glue takes the shelf's panel as far as the glue-up, closes it and plans.
func (t *browser) glue() *models.Step {
	t.Helper()
	for _, key := range []string{"joint", "plane", "plane-rails", "rip", "glue-panel"} {
		st := t.step(key)
		require.Equal(t, http.StatusOK, t.tap(models.TapStart, st).status)
		t.clock.Step(time.Duration(st.Attended) * time.Minute)
		require.Equal(t, http.StatusOK, t.tap(models.TapFinish, st).status)
	}
	t.plan()
	return t.step("glue-panel")
}

func TestGatesOfAnEmptyShop(t *testing.T) {
	r := newRig(t)
	p := r.as("Ana").get("/gates")
	require.Equal(t, http.StatusOK, p.status)
	assert.Equal(t, "No commission is open, so no gate is.", p.text(".gates-list p"))
	assert.Contains(t, p.text(".gates-side"), "Nothing is in clamps, drying or resting.")
	assert.Equal(t, []string{"10 of 10 hang free", "6 of 6 hang free", "16 of 16 hang free"}, p.texts(".rack-free"))
	assert.Equal(t, "Gates", p.text(`.nav [aria-current="page"]`))
}

func TestGatesOfAShopWithoutClamps(t *testing.T) {
	r := newRig(t)
	for _, c := range testrig.Snapshot(t, r.store).Clamps {
		c.Count = 0
		_, err := r.store.SaveClampClass(t.Context(), c)
		require.NoError(t, err)
	}
	p := r.as("Ana").get("/gates")
	assert.Contains(t, p.text("#gates-rack ~ *"), "The shop's records have no clamps.")
}

// A gate tells what it holds up, by when it is to be closed and why, what it takes
// and whose promise hangs on it; closed, it is among what is at rest, and its clamps
// are off the rack until a person says that it is out of them.
func TestGatesFollowAGlueUp(t *testing.T) {
	r := newRig(t)
	c := r.take("Shelf")
	r.plan()
	ana := r.as("Ana")
	p := ana.get("/gates")
	assert.Equal(t, []string{"Glue up the panel", "Glue the rails to the panel", "First coat"}, p.texts(".gate-name"), "the last coat keeps nothing waiting")
	gate := p.doc.Find(".gate").First()
	said := readable(gate)
	assert.Contains(t, said, "Glue up the panel")
	assert.Contains(t, said, "holds up 5 steps, 1 h 57 of work")
	assert.Contains(t, said, "5 × 600 mm bar clamps 10 hang free")
	assert.Contains(t, said, "1 person")
	assert.Contains(t, said, "It waits for “Rip the boards”.")
	assert.Contains(t, said, "Closed after Thu 12:00, “Second coat” does not start within 2 days of the work on “First coat” any more.",
		"the second coat would fall on the weekend, and after it the recoat window is over")
	soon := *testrig.Snapshot(t, r.store).Commission(c.ID)
	soon.PromisedOn = "2026-03-04"
	require.NoError(t, r.store.SaveCommission(t.Context(), soon))
	r.plan()
	assert.Regexp(t, `Closed after \S.*, “Shelf” misses its promise, Wed 4 Mar\.`, readable(ana.get("/gates").doc.Find(".gate").First()))

	glue := ana.glue()
	p = ana.get("/gates")
	rest := p.text(".rest")
	assert.Contains(t, rest, "Glue up the panel")
	assert.Contains(t, rest, "1 h left")
	ends, _ := p.doc.Find(".rest .countdown").Attr("data-ends")
	assert.Equal(t, strconv.FormatInt(glue.RestEndsAt.UnixMilli(), 10), ends)
	assert.Equal(t, "5 of 10 hang free", p.texts(".rack-free")[0])
	assert.Contains(t, p.text(".rack-steps"), "5 × Glue up the panel, Shelf until ")
	assert.NotContains(t, p.texts(".gate-name"), "Glue up the panel")

	r.clock.Step(61 * time.Minute)
	p = ana.get("/gates")
	assert.Contains(t, p.text(".rest.over"), "time is over")
	assert.Contains(t, p.text(".rack-over"), "time is over: take them off")
	assert.Equal(t, "5 of 10 hang free", p.texts(".rack-free")[0], "nobody has taken them off")
	p = ana.press(p, "Out of clamps Glue up the panel")
	assert.Equal(t, "/gates", p.path)
	assert.Equal(t, "10 of 10 hang free", p.texts(".rack-free")[0])
	assert.Empty(t, p.texts(".rest"))
}

func TestGatesSayWhichClampsAreOut(t *testing.T) {
	r := newRig(t)
	r.take("First")
	ana := r.as("Ana")
	ana.glue()
	class := testrig.Snapshot(t, r.store).Clamps[0]
	r.take("Second")
	class.Count = 8
	_, err := r.store.SaveClampClass(t.Context(), class)
	require.NoError(t, err)
	r.plan()
	p := ana.get("/gates")
	assert.Contains(t, p.text(".clamps-short"), "5 × 600 mm bar clamps only 3 hang free until ")
	assert.Contains(t, p.text(".clamps-short"), "the others are on “Glue up the panel”")
}

// What is at rest is told to every page, for its announcement.
func TestRestingIsToldToEveryPage(t *testing.T) {
	r := newRig(t)
	r.take("Shelf")
	ana := r.as("Ana")
	glue := ana.glue()
	ana.script = true
	p := ana.get("/gates/resting")
	require.Equal(t, http.StatusOK, p.status)
	li := p.doc.Find("li[data-rest]")
	require.Equal(t, 1, li.Length())
	assert.Equal(t, "Can come out of clamps: Glue up the panel Shelf", readable(li))
	assert.Equal(t, strconv.FormatInt(glue.ID, 10), li.AttrOr("data-rest", ""))
	assert.Equal(t, strconv.FormatInt(r.clock.Now().UnixMilli(), 10), li.AttrOr("data-now", ""))
	r.clock.Step(14 * time.Hour)
	assert.Empty(t, ana.get("/gates/resting").texts("li"), "old news")
	ana.script = false
	assert.Equal(t, "/gates", ana.get("/gates/resting").path)
}

// The card says what an hour's delay would do.
func TestCardSaysWhatAnHourLaterDoes(t *testing.T) {
	r := newRig(t)
	c := r.take("Shelf")
	r.plan()
	ana := r.as("Ana")
	assert.Regexp(t, `An hour later: no promise moves; more than \d+ h of shop hours to spare\.`, ana.get("/").text(".step-card"))
	assert.Contains(t, ana.get(stepHref(r.step("glue-panel").ID)).text(".step-card"), "A gate: holds up 5 steps, 1 h 57 of work; closed, it opens Trim the panel.")

	snap := testrig.Snapshot(t, r.store)
	late := *snap.Commission(c.ID)
	late.PromisedOn = "2026-03-02"
	require.NoError(t, r.store.SaveCommission(t.Context(), late))
	r.plan()
	assert.Regexp(t, `An hour later: “Shelf” is ready \S.* instead of \S.*, later still than promised\.`, ana.get(stepHref(r.step("coat-2").ID)).text(".step-card"))
	ana.tap(models.TapStart, r.step("joint"))
	assert.Contains(t, ana.get("/").text(".step-card"), "If it takes an hour longer: no promise moves")
}

// The screen of a step says why it is worth taking now, or what holds it.
func TestStepSaysWhyNow(t *testing.T) {
	r := newRig(t)
	r.take("Shelf")
	r.plan()
	ana := r.as("Ana")
	assert.Contains(t, ana.get(stepHref(r.step("joint").ID)).text(".why"), "Why now: It comes next in the plan")
	ben := r.as("Ben")
	ana.tap(models.TapStart, r.step("joint"))
	ana.tap(models.TapFinish, r.step("joint"))
	ana.tap(models.TapStart, r.step("plane"))
	assert.Contains(t, ben.get(stepHref(r.step("plane-rails").ID)).text(".waits"), "“Planer” is taken: Ana has “Plane the boards” there.")
}

// A tap that is refused on Gates is answered there.
func TestGatesSayWhyATapIsRefused(t *testing.T) {
	r := newRig(t)
	r.take("Shelf")
	ana := r.as("Ana")
	glue := ana.glue()
	p := ana.get("/gates")
	ana.tap(models.TapOut, glue)
	p = ana.press(p, "Out of clamps Glue up the panel")
	assert.GreaterOrEqual(t, p.status, http.StatusBadRequest)
	assert.NotEmpty(t, p.text(".refusal"))
	assert.Equal(t, "Clamp rack", p.text("#gates-rack"))
}
