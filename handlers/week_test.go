package handlers

import (
	"context"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/PuerkitoBio/goquery"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
	"faceside/models/testrig"
)

func TestWeekShowsThePlan(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	r.plan()
	p := r.browser().get("/week")
	require.Equal(t, http.StatusOK, p.status)
	assert.Equal(t, "2 to 6 March", p.text("h1"))
	assert.Contains(t, p.text(".nav a[aria-current=page]"), "Week")
	assert.Equal(t, "Show: Week", p.text(".week-nav a[aria-current]"))

	chart := p.text("svg.week-chart")
	assert.Contains(t, chart, "now 8:30")
	assert.Contains(t, chart, "Joint a face and an edge (Hall shelf, ready). 8:30 to 8:50, Jointer.")
	names := p.text("svg.week-names")
	for _, row := range []string{"Hands", "Ana", "Ben", "At rest", "In clamps", "Drying", "Stations", "Jointer", "Promises", "Hall shelf", "600 mm bar clamps"} {
		assert.Contains(t, names, row)
	}
	assert.NotContains(t, names, "Bandsaw", "a station without work on these days has no row")

	assert.Equal(t, []string{"Monday 2 March today", "Tuesday 3 March", "Wednesday 4 March", "Thursday 5 March", "Friday 6 March"}, p.texts(".week-day h2"))
	assert.Contains(t, p.text(".week-day"), "Hall shelf Joint a face and an edge")
	assert.Contains(t, p.text(".week-promises"), "Hall shelf promised Fri 20 Mar")
	assert.Contains(t, p.text(".week-promises"), "in time")
	assert.NotContains(t, p.body, "style=")
}

// Everything that the plan has in these days is in the list, and each hour of
// it once.
func TestWeekListIsThePlan(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	r.take("Wall shelf")
	r.plan()
	p := r.browser().get("/week")
	snap := testrig.Snapshot(t, r.store)
	for _, planned := range snap.Plan.Steps {
		st := snap.Step(planned.StepID)
		assert.Positive(t, p.doc.Find(`.week-items a[href="`+stepHref(st.ID)+`"]`).Length(), "%s is missing", st.Name)
	}
	drawn := 0
	p.doc.Find(".week-drawing .wk-row").First().Find("a").Each(func(_ int, a *goquery.Selection) {
		href, many := a.AttrOr("href", ""), 1
		if strings.HasPrefix(href, "#") {
			assert.Equal(t, 1, p.doc.Find(".week-items li"+href).Length(), "where several are drawn as one, the list has them: %s", href)
			_, err := fmt.Sscanf(strings.SplitN(a.Find("title").Text(), ": ", 2)[1], "%d steps", &many)
			require.NoError(t, err)
		} else {
			assert.Equal(t, 1, p.doc.Find(`.week-items a[href="`+href+`"]`).First().Length(), "%s is in the list", href)
		}
		drawn += many
	})
	assert.GreaterOrEqual(t, drawn, p.doc.Find(".week-person").First().Find("li").Length(), "no step of a person's day is without a place in their row")
	attended, told := 0, 0
	for _, st := range snap.Steps {
		attended += st.Attended * st.Hands
	}
	for _, setup := range snap.Plan.Setups {
		attended += setup.Minutes
	}
	for _, hours := range p.texts(".week-hours") {
		spent, _, ok := strings.Cut(hours, " of ")
		require.True(t, ok, hours)
		told += minutesIn(t, spent)
	}
	assert.Equal(t, attended, told)
}

// minutesIn reads "4 h", "4 h 10" or "25 min".
func minutesIn(t *testing.T, said string) int {
	t.Helper()
	if m, ok := strings.CutSuffix(said, " min"); ok {
		n, err := strconv.Atoi(m)
		require.NoError(t, err)
		return n
	}
	h, m, _ := strings.Cut(said, " h")
	hours, err := strconv.Atoi(h)
	require.NoError(t, err)
	if m = strings.TrimSpace(m); m == "" {
		m = "0"
	}
	minutes, err := strconv.Atoi(m)
	require.NoError(t, err)
	return hours*60 + minutes
}

// The day's own sentence, told from the plan by another way.
func TestWeekSummary(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	r.plan()
	snap := testrig.Snapshot(t, r.store)
	room, err := roomOf(snap, r.clock.Now(), speaker(t, "en"))
	require.NoError(t, err)
	noon := time.Date(2026, 3, 2, 12, 0, 0, 0, room.say.now.Location())
	before, after := 0, 0
	for _, p := range snap.Plan.Steps {
		if st := snap.Step(p.StepID); st.Rest != "in clamps" || midnight(p.AttendedEnd.In(noon.Location())) != midnight(noon) {
			continue
		}
		if p.AttendedEnd.After(noon) {
			after++
		} else {
			before++
		}
	}
	require.Equal(t, 2, before+after, "both glue-ups can be closed on the first day")
	summary := r.browser().get("/week").doc.Find(".week-summary").First().Text()
	if before > 0 && after > 0 {
		assert.Contains(t, summary, "Close one glue-up before noon and one before closing time")
	} else {
		assert.Contains(t, summary, "Close two glue-ups before")
	}
	assert.Regexp(t, "of\u00a017\u00a0h\\.$", summary, "two people, 8 h 30 each")
}

func TestAWeekInWhichNobodyIsThere(t *testing.T) {
	r := newShop(t)
	r.plan()
	p := r.browser().get("/week")
	assert.Contains(t, p.texts(".week-summary"), "Nobody is there.")
	assert.NotContains(t, p.text("main"), "0 min of 0 min")
}

func TestWeekNavigation(t *testing.T) {
	r := newRig(t)
	b := r.browser()
	for _, c := range []struct{ query, title, earlier, today, later string }{
		{"", "2 to 6 March", "/week?days=5&from=2026-02-23", "/week?days=5&from=2026-03-02", "/week?days=5&from=2026-03-07"},
		{"?days=20", "2 to 27 March", "/week?days=20&from=2026-02-02", "/week?days=20&from=2026-03-02", "/week?days=20&from=2026-03-28"},
		{"?days=1&from=2026-03-04", "Wednesday 4 March", "/week?days=1&from=2026-03-03", "/week?days=1&from=2026-03-02", "/week?days=1&from=2026-03-05"},
		{"?from=2026-03-07", "7 to 13 March", "/week?days=5&from=2026-03-02", "/week?days=5&from=2026-03-02", "/week?days=5&from=2026-03-14"},
		{"?from=2026-12-28", "28 Dec 2026 to 1 Jan 2027", "/week?days=5&from=2026-12-21", "/week?days=5&from=2026-03-02", "/week?days=5&from=2027-01-02"},
	} {
		p := b.get("/week" + c.query)
		require.Equal(t, http.StatusOK, p.status)
		assert.Equal(t, c.title, p.text("h1"))
		var to []string
		p.doc.Find(".week-nav").First().Find("a").Each(func(_ int, a *goquery.Selection) { to = append(to, a.AttrOr("href", "")) })
		assert.Equal(t, []string{c.earlier, c.today, c.later}, to)
	}
}

func TestWeekBadInput(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	b := r.browser()
	for _, c := range []struct{ query, says string }{
		{"?from=next+week", `From: "next week" is no date. Write it like 2026-03-02.`},
		{"?from=2026-02-30", `From: "2026-02-30" is no date.`},
		{"?from=%3Cscript%3E", `From: "<script>" is no date.`},
		{"?days=7", `Days: "7" cannot be shown; choose 1, 5 or 20.`},
		{"?as=song", `As: "song" cannot be shown; write list, or nothing for the chart.`},
		{"?days=-5", `Days: "-5" cannot be shown`},
		{"?days=5000000", `Days: "5000000" cannot be shown`},
	} {
		p := b.get("/week" + c.query)
		assert.Equal(t, http.StatusUnprocessableEntity, p.status, c.query)
		assert.Contains(t, p.text("[role=alert]"), c.says)
		assert.Equal(t, "2 to 6 March", p.text("h1"), "the usual days are shown instead")
		assert.NotContains(t, p.body, "<script>\"")
	}
}

func TestWeekFarAway(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	r.plan()
	for _, from := range []string{"0001-01-01", "9999-12-30", "2050-06-01"} {
		p := r.browser().get("/week?from=" + from)
		assert.Equal(t, http.StatusOK, p.status, from)
		assert.Contains(t, p.text("#week"), "Nothing is planned on these days.")
	}
}

func TestWeekEmpty(t *testing.T) {
	r := newRig(t)
	p := r.browser().get("/week")
	assert.Contains(t, p.text("#week"), "No commission is open")
	r.take("Hall shelf")
	p = r.browser().get("/week")
	assert.Contains(t, p.text("#week"), "There is no plan yet.")
	assert.Contains(t, p.text(".week-promises"), "not planned yet")
}

// A shop without hours has no working days; the screen still says so.
func TestWeekWithoutHours(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	require.NoError(t, r.store.SaveHours(context.Background(), nil))
	p := r.browser().get("/week")
	require.Equal(t, http.StatusOK, p.status)
	assert.Equal(t, 15, p.doc.Find(".week-shut").Length(), "closed days are shown up to a limit")
	assert.Equal(t, "Closed.", p.doc.Find(".week-summary").First().Text())
}

func TestWeekFragment(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	r.plan()
	whole := r.browser().get("/week?from=2026-03-03&days=1")
	here := whole.doc.Find("#week").AttrOr("hx-get", "")
	assert.Equal(t, "/week?days=1&from=2026-03-03", here)
	assert.Contains(t, whole.doc.Find("#week").AttrOr("hx-trigger", ""), "shop-changed from:body")

	b := r.browser()
	b.script = true
	part := b.get(here)
	assert.Equal(t, http.StatusOK, part.status)
	assert.NotContains(t, part.body, "<html", "only what the live region holds")
	assert.Equal(t, whole.text("#week"), part.text("body"))
}

// What was done, is in hand and rests is shown as it was, not as it was planned.
func TestWeekFollowsTheTaps(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	r.plan()
	ana := r.as("Ana")
	ana.tap(models.TapStart, r.step("joint"))
	r.clock.Step(37 * time.Minute)
	ana.tap(models.TapFinish, r.step("joint"))
	ana.tap(models.TapStart, r.step("plane"))
	r.clock.Step(6 * time.Minute)
	r.plan()
	p := ana.get("/week")
	chart := p.text("svg.week-chart")
	assert.Contains(t, chart, "Joint a face and an edge (Hall shelf, done). 8:30 to 9:07, Jointer.")
	assert.Contains(t, chart, "Plane the boards (Hall shelf, in hand). 9:07 to 9:22, Planer.")
	assert.Contains(t, chart, "now 9:13")
	assert.Contains(t, p.text(".week-items .mark-done"), "8:30–9:07")
	assert.Contains(t, p.text(".week-items .mark-in-hand"), "Plane the boards")
	assert.Equal(t, "is-in-hand", strings.Fields(p.doc.Find("svg.week-chart .is-in-hand").First().AttrOr("class", ""))[2])
}

func TestWeekDaysOff(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	ctx := context.Background()
	ben := testrig.Person(t, testrig.Snapshot(t, r.store), "Ben")
	_, err := r.store.SaveDayOff(ctx, models.DayOff{Date: "2026-03-03", Reason: "Stocktaking & sweeping"})
	require.NoError(t, err)
	_, err = r.store.SaveDayOff(ctx, models.DayOff{Date: "2026-03-04", PersonID: &ben, Reason: "Fair"})
	require.NoError(t, err)
	r.plan()
	p := r.browser().get("/week")
	assert.Equal(t, "2 to 9 March", p.text("h1"), "five working days, whatever lies between")
	assert.Contains(t, p.text("#week-list"), "Tuesday 3 March Closed: Stocktaking & sweeping.")
	assert.Contains(t, p.text("svg.week-chart"), "Tue 3 Mar: Stocktaking & sweeping")
	assert.Contains(t, p.text("svg.week-names"), "off Wed")
	assert.Contains(t, p.text("#week-list"), "off: Fair")
	assert.Contains(t, p.text("#week-list"), "Saturday 7 March Closed.")
}

// On the day the clocks go forward, opening hours stay what the wall clock says.
func TestWeekWhenClocksChange(t *testing.T) {
	r := newRig(t)
	ctx := context.Background()
	week := append(testrig.Week(), models.Hours{Weekday: time.Sunday, Opens: 60, Closes: 300})
	require.NoError(t, r.store.SaveHours(ctx, week))
	snap := testrig.Snapshot(t, r.store)
	room, err := roomOf(snap, r.clock.Now(), speaker(t, "en"))
	require.NoError(t, err)
	sunday := time.Date(2026, 3, 29, 0, 0, 0, 0, room.say.now.Location())
	w := room.weekRoom(weekAsked{from: sunday, span: 5})
	require.Len(t, w.days[0].open, 1)
	assert.Equal(t, "1:00", w.clock(w.days[0].open[0].From))
	assert.Equal(t, "5:00", w.clock(w.days[0].open[0].To))
	assert.Equal(t, 180, w.days[0].minutes(), "two o'clock to three is skipped that night")
	assert.Equal(t, 23*time.Hour, w.days[0].whole().To.Sub(sunday))
	assert.Equal(t, "8:00", w.clock(w.days[1].open[0].From))
	assert.Equal(t, "17:00", w.clock(w.days[5-1].closing()))
}

func TestWeekHostileText(t *testing.T) {
	r := newRig(t)
	bad := `</title><script>alert("x")</script>`
	r.take(bad)
	r.plan()
	p := r.browser().get("/week")
	require.Equal(t, http.StatusOK, p.status)
	assert.NotContains(t, p.body, "<script>alert")
	assert.Contains(t, p.text(".week-promises"), bad)
	assert.Contains(t, p.text("svg.week-chart"), strings.Join(strings.Fields(bad), " "))
}

func TestWhatCannotBeShownIsRefusedInTheShopsLanguage(t *testing.T) {
	r := newRig(t)
	r.german()
	p := r.browser().get("/week?from=never")
	assert.Equal(t, http.StatusUnprocessableEntity, p.status)
	assert.Contains(t, p.text(".refusal"), "Ab: \"never\" ist kein Datum.")
}
