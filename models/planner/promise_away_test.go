package planner

import (
	"testing"

	"faceside/models"
	"faceside/models/sequence"
	"faceside/models/testrig"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What is drawn comes to the share that it is drawn for, on days on which people are there.
func TestAwayIsDrawnAsOftenAsItIs(t *testing.T) {
	days := make([]sequence.Window, 50)
	for i := range days {
		days[i] = sequence.Window{i * 1440, i*1440 + 480}
	}
	w := &weeks{problem: &sequence.Problem{}, pace: &pace{away: 0.04, awaySpells: 100}, crew: []presence{{days: days, hands: []int{0}}, {days: days, hands: []int{0, 3}}}}
	d := w.dealer(1)
	n, second := 0, 0
	for k := range 4000 {
		d.source.Seed(1, uint64(k))
		d.dealAway()
		for _, g := range d.gone {
			assert.Equal(t, 480, g.To-g.From)
			if g.Resource == 3 {
				second++
			} else {
				n++
			}
		}
	}
	assert.InDelta(t, 0.04, float64(n)/4000/100, 0.004)
	assert.InDelta(t, n/2, second, float64(n)/10, "with the hands of the second what only they can do")
}

// A shop's own record outweighs what is usual, as it grows.
func TestAwayIsLearned(t *testing.T) {
	share := func(away, there int) float64 { return learnPace(&models.Outcomes{Away: away, There: there}).away }
	assert.InDelta(t, priorAway, share(0, 0), 1e-9)
	assert.Less(t, share(0, 220), priorAway)
	assert.InDelta(t, 0.08, share(800, 9200), 0.005)
}

// Days on which somebody is away put promises off, and a day off that is known does not
// count a second time.
func TestPromisesReckonWithPeopleAway(t *testing.T) {
	r := newRig(t, "2026-12-01 08:00")
	c := r.lone("Box", "2026-12-11", job("saw", 400), job("plane", 400), job("shape", 400), job("sand", 400))
	for _, name := range []string{"Ben", "Cleo"} { // Ana is alone
		for _, p := range r.snap().People {
			if p.Name == name {
				p.Active = false
				_, err := r.store.SavePerson(ctx, p)
				require.NoError(t, err)
			}
		}
	}
	r.plan()
	assert.True(t, r.heldBy(c.ID, &models.Outcomes{Away: 400, There: 1000}).After(r.heldBy(c.ID, &models.Outcomes{There: 100000})))

	ana := testrig.Person(t, r.snap(), "Ana")
	_, err := r.store.SaveDayOff(ctx, models.DayOff{Date: "2026-12-02", PersonID: &ana})
	require.NoError(t, err)
	q, err := pose(r.snap())
	require.NoError(t, err)
	w := q.weeks(learnPace(&models.Outcomes{}))
	require.Len(t, w.crew, 1)
	assert.Equal(t, q.line.minute(local(t, "2026-12-03 08:00")), w.crew[0].days[1][0], "after today the day behind the one off")
	assert.False(t, w.crew[0].away)
	_, err = r.store.SaveDayOff(ctx, models.DayOff{Date: "2026-12-01", PersonID: &ana})
	require.NoError(t, err)
	q, err = pose(r.snap())
	require.NoError(t, err)
	assert.True(t, q.weeks(learnPace(&models.Outcomes{})).crew[0].away, "noted on the day itself")
}
