package handlers

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
	"faceside/models/testrig"
)

func TestWeekSinceThisMorning(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	assert.Empty(t, r.browser().get("/week").text(".week-since"), "no plan was made today")
	r.plan()
	assert.Contains(t, r.browser().get("/week").text(".week-since"), "No step has moved by half an hour or more since the day's first plan, made at 8:30.")

	ana := r.as("Ana")
	ana.tap(models.TapStart, r.step("joint"))
	r.clock.Step(3 * time.Hour)
	ana.tap(models.TapFinish, r.step("joint"))
	r.plan()
	p := ana.get("/week")
	said := p.text(".week-since")
	assert.Contains(t, said, "“Joint a face and an edge” was done at 11:30, 2 h 40 later than planned in the morning.")
	assert.Regexp(t, `made at 8:30: \d+ steps moved, \d+ stand`, said)
	assert.Contains(t, p.text(".week-moved"), "Plane the boards")
	assert.Contains(t, p.text(".week-moved"), "later")
	assert.Positive(t, p.doc.Find("svg.week-chart .wk-moved").Length(), "the chart marks what moved")
	assert.Regexp(t, `This morning: 8:50\.|moved since this morning\.`, p.text("svg.week-chart"))
	assert.Contains(t, p.text("#week-list"), "(this morning: 8:50)")

	r.clock.Step(time.Minute)
	ana.tap(models.TapTrouble, r.step("plane"))
	r.plan()
	said = ana.get("/week").text(".week-since")
	assert.Contains(t, said, "Ana reported trouble with “Plane the boards”, 11:31.")

	r.clock.Step(24 * time.Hour)
	assert.Empty(t, ana.get("/week").text(".week-since"), "another day, and no plan of it yet")
	r.plan()
	assert.Contains(t, ana.get("/week").text(".week-since"), "No step has moved")
}

// A commission that comes in is named with what it brings and what it moves.
func TestWeekSinceACommissionCameIn(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	r.plan()
	r.clock.Step(time.Minute)
	r.take("Wall shelf")
	r.plan()
	p := r.browser().get("/week")
	assert.Contains(t, p.text(".week-since"), "“Wall shelf” came in, 8:31.")
}

// The times that are told are those of the two plans.
func TestWeekSinceIsThePlans(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	r.plan()
	first, err := r.store.CurrentPlan(t.Context())
	require.NoError(t, err)
	r.clock.Step(2 * time.Hour)
	r.plan()
	now, err := r.store.CurrentPlan(t.Context())
	require.NoError(t, err)
	was, moved := map[models.ID]time.Time{}, 0
	for _, ps := range first.Steps {
		was[ps.StepID] = ps.Start
	}
	p := r.browser().get("/week")
	for _, ps := range now.Steps {
		row := p.doc.Find(`.week-moved li:has(a[href="` + stepHref(ps.StepID) + `"])`)
		if ps.Start.Equal(was[ps.StepID]) {
			assert.Zero(t, row.Length())
			continue
		}
		moved++
		zone := r.zone()
		assert.Contains(t, row.Text(), was[ps.StepID].In(zone).Format("15:04")[1:], "from")
		assert.Contains(t, row.Text(), ps.Start.In(zone).Format("15:04")[1:], "to")
	}
	assert.Positive(t, moved)
	assert.Contains(t, p.text(".week-since"), "Nothing was tapped, and it got later than planned.")
}

// zone is the shop's time zone.
func (r *rig) zone() *time.Location {
	r.Helper()
	zone, err := time.LoadLocation(testrig.Zone)
	require.NoError(r, err)
	return zone
}

func TestWeekAsAList(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	r.plan()
	chart := r.browser().get("/week")
	assert.Equal(t, 1, chart.doc.Find("svg.week-paper svg").Length(), "on paper names and chart are one drawing")
	assert.Equal(t, "/week?as=list&days=5&from=2026-03-02", chart.doc.Find(".week-other").AttrOr("href", ""))
	assert.Zero(t, chart.doc.Find(".week-day[open]").Length(), "the chart comes first")

	list := r.browser().get("/week?as=list")
	assert.Zero(t, list.doc.Find("svg.week-chart, svg.week-paper").Length())
	assert.Equal(t, 1, list.doc.Find(".week-day[open]").Length())
	assert.Equal(t, "/week?as=list&days=5&from=2026-03-07", list.doc.Find(".week-nav a").Eq(2).AttrOr("href", ""), "it stays a list")
	assert.Equal(t, "As a chart", list.text(".week-other"))
}

func TestWeekMonth(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	r.plan()
	p := r.browser().get("/week?days=20")
	assert.Equal(t, "2 to 27 March", p.text("h1"))
	assert.Contains(t, p.text(".week-drawing .wk-bar"), "Ben, Tue 3 Mar: A 20 min")
	assert.Equal(t, "/week?days=1&from=2026-03-02", p.doc.Find("svg.week-chart a.wk-bar").First().AttrOr("href", ""))
	assert.NotContains(t, p.text("svg.week-names"), "At rest")
	assert.Contains(t, p.text("svg.week-names"), "Drying most 1 at once")
	assert.Zero(t, p.doc.Find("#week-list .week-items").Length(), "a month's days are told in a line each")
	assert.Equal(t, 26, p.doc.Find("#week-list .week-day").Length())
}

// What came between the same two plans is named all, and nobody says which of it moved what.
func TestWeekSinceSeveralThingsCameTogether(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	r.plan()
	ana := r.as("Ana")
	r.clock.Step(time.Minute)
	_, err := r.store.Steer(r.Context(), "act", []models.Steer{{Kind: models.SteerDayOff, Date: "2026-03-02"}}, 0, r.revision())
	require.NoError(t, err)
	ana.tap(models.TapTrouble, r.step("joint"))
	r.plan()
	said := ana.get("/week").text(".week-since")
	assert.Contains(t, said, "These came close together, and which of them moved what cannot be told apart:")
	assert.Contains(t, said, "Ana reported trouble with “Joint a face and an edge”, 8:31.")
	assert.Contains(t, said, "Kept, 8:31: The whole shop is off on Mon 2 Mar")
}
