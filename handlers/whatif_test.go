package handlers

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
	"faceside/models/phrase"
	"faceside/models/planner"
	"faceside/views"
)

// A change is tried, kept and let go, as a browser without script does it.
func TestChangeIsTriedKeptAndLetGo(t *testing.T) {
	r := newRig(t) // a Monday, half past eight
	r.take("Hall shelf")
	r.plan()
	ana := r.as("Ana")
	p := ana.get("/what-if")
	require.Equal(t, http.StatusOK, p.status)
	assert.Contains(t, p.text("main"), "Nothing is changed until you keep it.")
	form := p.doc.Find("#try-day-off")
	require.Equal(t, "get", form.AttrOr("method", ""))
	values := fieldsOf(form, nil)
	values.Set("date", "2026-03-03")
	revision := r.revision()
	p = ana.get("/what-if?" + values.Encode())
	require.Equal(t, http.StatusOK, p.status)
	assert.Contains(t, p.text("main"), "The whole shop is off on Tue 3 Mar")
	assert.Contains(t, p.texts(".what-if-rows dd"), "1 day later")
	assert.Contains(t, p.text("main"), "Each promise stands as it does today.")
	assert.Equal(t, revision, r.revision())
	assert.Contains(t, p.text("main"), "No better plan is possible then: that is proved.")
	assert.NotContains(t, p.text("main"), "Search longer", "there is nothing to be found")

	kept := ana.press(p, "Keep it")
	assert.Equal(t, "/steered", kept.path)
	assert.Contains(t, kept.text("main"), "Kept: The whole shop is off on Tue 3 Mar")
	assert.Contains(t, kept.text(".row-detail"), "kept: Ana, 8:30")
	require.Len(t, r.snap().DaysOff, 1)
	again := ana.press(p, "Keep it")
	assert.Equal(t, "/steered", again.path, "pressed twice it is kept once")
	require.Len(t, r.snap().DaysOff, 1)

	gone := ana.press(kept, "Let it go : The whole shop is off on Tue 3 Mar")
	assert.Equal(t, "/steered", gone.path)
	assert.Contains(t, gone.text("main"), "let go: Ana, 8:30")
	assert.Empty(t, r.snap().DaysOff)
}

// What becomes of the promises is said in a sentence for each thing that can become of one.
func TestWhatIfSaysWhatBecomesOfThePromises(t *testing.T) {
	r := newRig(t)
	hall := r.take("Hall shelf").ID
	ana := r.as("Ana")
	says := func(query string, args ...any) string {
		p := ana.get("/what-if?" + fmt.Sprintf(query, args...))
		require.Equal(t, http.StatusOK, p.status)
		return p.text("#if-verdict")
	}
	assert.Equal(t, "Not planned yet today, and in time then: Hall shelf.", says("kind=day-off&date=2026-03-30"))
	assert.Equal(t, "Not planned yet today, and late then: Hall shelf.", says("kind=promise&commission=%d&date=2026-03-02", hall))
	second := r.take("Second shelf").ID
	r.plan()
	const others = " Every other promise stands as it does today."
	held, other := fmt.Sprintf("kind=hold&commission=%d", hall), fmt.Sprintf("kind=hold&commission=%d", second)
	assert.Equal(t, "On hold, and so without an end: Hall shelf."+others, says("%s", held))
	assert.Equal(t, "On hold, and so without an end: Hall shelf, Second shelf.", says("with=%s&%s", url.QueryEscape(other), held))
	assert.Equal(t, "In time for the other day too: Hall shelf."+others, says("kind=promise&commission=%d&date=2026-04-20", hall))
	assert.Equal(t, "No longer in time: Hall shelf."+others, says("kind=promise&commission=%d&date=2026-03-02", hall))

	com := *r.snap().Commission(hall)
	com.State = models.Held
	require.NoError(t, r.store.SaveCommission(r.Context(), com))
	assert.Equal(t, "On hold, and so without an end: Hall shelf."+others, says("kind=promise&commission=%d&date=2026-04-20", hall), "for another day too")
	assert.Equal(t, "Goes on, and is in time: Hall shelf."+others, says("kind=resume&commission=%d", hall))
	com.PromisedOn = "2026-03-02"
	require.NoError(t, r.store.SaveCommission(r.Context(), com))
	assert.Equal(t, "Goes on, but not in time: Hall shelf."+others, says("kind=resume&commission=%d", hall))
	com.State = models.Open
	require.NoError(t, r.store.SaveCommission(r.Context(), com))
	r.plan()
	assert.Equal(t, "Not in time for the other day either: Hall shelf."+others, says("kind=promise&commission=%d&date=2026-03-03", hall))
	assert.Equal(t, "In time again: Hall shelf."+others, says("kind=promise&commission=%d&date=2026-04-20", hall))
	assert.Equal(t, "Each promise stands as it does today.", says("kind=day-off&date=2026-03-30"))
}

// A promise that holds in the plan today and then may yet hold in more of the weeks played,
// or in fewer.
func TestAPromiseIsSaferOrLessSafe(t *testing.T) {
	moves := planner.PromiseIf{Now: planner.Forecast{Ends: time.Unix(1, 0)}, Then: planner.Forecast{Ends: time.Unix(2, 0)}}
	for _, c := range []struct {
		now, then string
		turn      phrase.Key
	}{{"in-time", "in-time", ""}, {"in-time", "tight", lessSafe}, {"tight", "late", lessSafe}, {"late", "in-time", safer}, {"tight", "in-time", safer}} {
		assert.Equal(t, c.turn, turnOf(&moves, &views.PromiseIf{NowMark: c.now, Mark: c.then}), "%s, then %s", c.now, c.then)
	}
}

// Two changes are tried together, and one of them is taken out again.
func TestChangesAreTriedTogether(t *testing.T) {
	r := newRig(t)
	com := r.take("Hall shelf")
	r.plan()
	ana := r.as("Ana")
	p := ana.get(fmt.Sprintf("/what-if?kind=weight&commission=%d&weight=9", com.ID))
	values := fieldsOf(p.doc.Find("#try-hours"), nil)
	values.Set("date", "2026-03-07")
	values.Set("opens", "08:00")
	values.Set("closes", "12:00")
	p = ana.get("/what-if?" + values.Encode())
	require.Equal(t, http.StatusOK, p.status)
	assert.Contains(t, p.text("main"), "“Hall shelf” has the weight 9 instead of 3")
	assert.Contains(t, p.text("main"), "The shop is open on Sat 7 Mar from 8:00–12:00 too")
	assert.Contains(t, p.text("main"), "Tired hands make mistakes at machines")
	longer := ana.get("/what-if?" + values.Encode() + "&longer=1")
	assert.Equal(t, p.text(".what-if-rows"), longer.text(".what-if-rows"))
	out := ana.get(p.doc.Find("#what-if a.button").First().AttrOr("href", ""))
	assert.NotContains(t, out.text("#what-if .row-person"), "weight")
	assert.Contains(t, out.text("#what-if .row-person"), "Sat 7 Mar")
}

// What was thought out on other records is shown anew, and kept when it is sent again.
func TestWhatIfSaysThatSomethingWasChanged(t *testing.T) {
	r := newRig(t)
	com := r.take("Hall shelf")
	r.plan()
	ana := r.as("Ana")
	p := ana.get(fmt.Sprintf("/what-if?kind=hold&commission=%d", com.ID))
	require.Equal(t, http.StatusOK, p.status)
	_, err := r.store.SaveDayOff(r.Context(), models.DayOff{Date: "2026-03-05"})
	require.NoError(t, err)
	p = ana.press(p, "Keep it")
	assert.Equal(t, http.StatusConflict, p.status)
	assert.Contains(t, p.text(".notice"), "Something was changed since you looked.")
	assert.Equal(t, models.Open, r.snap().Commissions[0].State)
	p = ana.press(p, "Keep it")
	assert.Equal(t, http.StatusOK, p.status)
	assert.Equal(t, models.Held, r.snap().Commissions[0].State)
}

// What is refused is said beside its field, with what was typed, and nothing is lost of
// what was tried before.
func TestWhatIfIsRefused(t *testing.T) {
	for name, c := range map[string]struct {
		query, in, says string
		status          int
	}{
		"past":         {"kind=day-off&date=2026-03-01", "#try-day-off", "Sun 1 Mar is past: today is Mon 2 Mar.", http.StatusUnprocessableEntity},
		"overlap":      {"kind=hours&date=2026-03-03&opens=16:00&closes=19:00", "#try-hours", "The hours 16:00–19:00 overlap those of Tue 3 Mar, 12:30–17:00.", http.StatusUnprocessableEntity},
		"no time":      {"kind=hours&date=2026-03-03&opens=nine", "#try-hours", "\"nine\" is no time of day", http.StatusUnprocessableEntity},
		"too many":     {"kind=lend&clamps=1&count=40&date=2026-03-03", "#try-lend", "40 of 600 mm bar clamps cannot be lent: the shop has 10.", http.StatusUnprocessableEntity},
		"no number":    {"kind=lend&clamps=1&count=four&date=2026-03-03", "#try-lend", "\"four\" is not a whole number.", http.StatusUnprocessableEntity},
		"no such kind": {"kind=wish", "main", "There is no change of the kind \"wish\".", http.StatusUnprocessableEntity},
		"no change":    {"with=%25zz", "main", "is no change that can be tried.", http.StatusUnprocessableEntity},
		"no station":   {"kind=station&date=2026-03-03", "#try-station", "Nothing was chosen here.", http.StatusUnprocessableEntity},
		"gone":         {"kind=hold&commission=99", "main", "There is no commission with number 99.", http.StatusNotFound},
	} {
		t.Run(name, func(t *testing.T) {
			r := newRig(t)
			com := r.take("Hall shelf")
			before := fmt.Sprintf("with=%s&", url.QueryEscape(fmt.Sprintf("kind=weight&commission=%d&weight=9", com.ID)))
			ana := r.as("Ana")
			p := ana.get("/what-if?" + before + c.query)
			assert.Equal(t, c.status, p.status)
			assert.Contains(t, p.text(c.in), c.says)
			assert.NotEmpty(t, p.text(".notice"))
			if c.in != "main" {
				assert.Contains(t, fieldsOf(p.doc.Find(c.in), nil)["with"], fmt.Sprintf("kind=weight&commission=%d&weight=9", com.ID))
			}
		})
	}
}

// A step is pinned to a day, or given to somebody, from its own screen.
func TestStepIsSteeredFromItsScreen(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	r.plan()
	ana := r.as("Ana")
	id := r.step("sand").ID
	p := ana.get(fmt.Sprintf("/what-if?step=%d", id))
	assert.Contains(t, p.text("main"), "“Sand the shelf”, Hall shelf")
	values := fieldsOf(p.doc.Find("#try-pin"), nil)
	values.Set("date", "2026-03-05")
	values.Del("time")
	p = ana.get("/what-if?" + values.Encode())
	require.Equal(t, http.StatusOK, p.status)
	p = ana.press(p, "Keep it")
	require.Equal(t, http.StatusOK, p.status)
	require.NotNil(t, r.snap().Wants(id))
	assert.Equal(t, "2026-03-05", r.snap().Wants(id).Day)
	p = ana.get(fmt.Sprintf("/what-if?kind=pin&step=%d&date=2026-03-07", id))
	assert.Equal(t, http.StatusUnprocessableEntity, p.status)
	assert.Contains(t, p.text("#try-pin"), "the shop is closed that day")
}

// What would help fills in, and one tap opens a lever as a what-if.
func TestWhatHelpsOpensAsWhatIf(t *testing.T) {
	r := newRig(t)
	com := r.take("Hall shelf")
	late := *com
	late.PromisedOn = "2026-03-02"
	require.NoError(t, r.store.SaveCommission(r.Context(), late))
	r.plan()
	ana := r.as("Ana")
	p := ana.get(helpsHref(com.ID))
	for tries := 0; strings.Contains(p.text("main"), "so far") || strings.Contains(p.text("main"), "being tried"); tries++ {
		require.Less(t, tries, 200)
		p = ana.get(helpsHref(com.ID)) // each waits for the search, for a while
	}
	require.Equal(t, http.StatusOK, p.status)
	require.Positive(t, p.doc.Find(".lever").Length(), p.text("main"))
	first := p.doc.Find(".lever").First()
	w := ana.get(first.Find("a.button").AttrOr("href", ""))
	require.Equal(t, http.StatusOK, w.status)
	assert.Equal(t, readable(first.Find(".row-person")), readable(w.doc.Find("#what-if .row-person").First()))
	assert.Contains(t, w.text("main"), "In time again: Hall shelf.")
	_, err := r.store.SaveDayOff(r.Context(), models.DayOff{Date: "2026-03-12"})
	require.NoError(t, err)
	assert.Contains(t, ana.get(helpsHref(com.ID)).text("main"), "Something was tapped or changed since.")
	assert.Equal(t, http.StatusNotFound, ana.get("/commissions/99/help").status)
}

// With script a better answer comes in after the first by itself; it changes what is
// told, and not what is kept.
func TestWhatIfIsBettered(t *testing.T) {
	r := newRig(t)
	com := r.take("Hall shelf")
	r.take("Second shelf")
	r.plan()
	ana := r.as("Ana")
	p := ana.get(fmt.Sprintf("/what-if?kind=hold&commission=%d", com.ID))
	require.Equal(t, http.StatusOK, p.status)
	better := p.doc.Find("#what-if > [hx-trigger=load]").AttrOr("hx-get", "")
	require.NotEmpty(t, better)
	ana.script = true
	told := ana.get(better)
	ana.script = false
	require.Equal(t, http.StatusOK, told.status)
	assert.Zero(t, told.doc.Find("form").Length(), "what is kept stays as it is")
	assert.Equal(t, p.text("#if-verdict"), readable(told.doc.Find(`hx-partial[hx-target="#if-verdict"]`)))
	assert.Equal(t, p.texts(".what-if-rows .row-name"), told.texts(".what-if-rows .row-name"))
	assert.Zero(t, told.doc.Find("[hx-trigger=load]").Length(), "nothing comes after it by itself")
	assert.Empty(t, ana.get(strings.Replace(better, "better", "longer", 1)).doc.Find("#what-if > [hx-trigger=load]").Nodes)
	kept := ana.press(p, "Keep it")
	assert.Equal(t, "/steered", kept.path)
}
