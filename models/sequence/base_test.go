package sequence

import (
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// A list that is decoded from where it parts from the base comes to the very schedule that
// it comes to anew, whatever was decoded, kept or placed otherwise before.
func TestADecoderWithABaseDecodesAsOneWithout(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawProblem(t)
		if rapid.IntRange(0, 3).Draw(t, "a week") == 0 {
			p = shopWeek{Number: rapid.IntRange(1, 200).Draw(t, "number"), Steps: 70}.problem()
		}
		m := compile(p, nil)
		if m.broken != nil || len(m.tasks) < 2 {
			t.Skip()
		}
		d := newDecoder(m)
		requireLikeAnew(t, d, m.jobList())
		for range rapid.IntRange(1, 40).Draw(t, "lists") {
			list := append([]int(nil), d.order...)
			if d.base.known {
				list = append(list[:0], d.base.order...)
			}
			for range rapid.IntRange(0, 2).Draw(t, "moves") {
				shiftIn(list, rapid.IntRange(0, len(list)-1).Draw(t, "from"), rapid.IntRange(0, len(list)-1).Draw(t, "to"))
			}
			switch rapid.IntRange(0, 20).Draw(t, "before") {
			case 0:
				d.last, d.dirty = !d.last, true
			case 1:
				k := rapid.IntRange(0, len(list)-1).Draw(t, "sticks")
				d.stick[k], d.dirty = !d.stick[k] && m.tasks[k].seen(), true
			case 2:
				d.dispatch(new(atomic.Bool), func(t, _ int) [2]int { return [2]int{t, 0} })
			}
			requireLikeAnew(t, d, list)
		}
	})
}

// requireLikeAnew decodes a list, sometimes only until it is too bad, and keeps it at times.
func requireLikeAnew(t *rapid.T, d *decoder, list []int) {
	anew := newDecoder(d.m)
	anew.last = d.last
	copy(anew.stick, d.stick)
	whole := anew.decode(list)
	if whole && rapid.IntRange(0, 3).Draw(t, "too bad") == 0 {
		d.outlook.limit = max(0, anew.outlook.cost-int64(rapid.IntRange(0, 100).Draw(t, "by")))
		anew.outlook.limit, anew.dirty = d.outlook.limit, true
		whole = anew.decode(list)
	}
	require.Equal(t, whole, d.decode(list), "list %v", list)
	d.outlook.limit = never
	if !whole {
		require.Equal(t, anew.failed, d.failed)
		return
	}
	require.Equal(t, anew.order, d.order)
	require.Equal(t, anew.start, d.start, "list %v", list)
	require.Equal(t, anew.att, d.att)
	require.Equal(t, anew.end, d.end)
	require.Equal(t, anew.setup, d.setup)
	require.Equal(t, anew.seq, d.seq)
	require.Equal(t, anew.stack, d.stack)
	require.Equal(t, anew.outlook.undo, d.outlook.undo)
	require.Equal(t, anew.outlook.cost, d.outlook.cost)
	for i := range d.profiles {
		require.Equal(t, anew.profiles[i].steps, d.profiles[i].steps)
	}
	if rapid.Bool().Draw(t, "keep") {
		d.keep()
	}
}

// It is worth it: of a list that is changed in the middle only the change is placed.
func TestWhatComesBeforeAndBehindAChangeIsNotPlacedAnew(t *testing.T) {
	m := compile(&Problem{
		Version: Version, Horizon: 1000,
		Resources: []Resource{{ID: "bench", Capacity: 1}, {ID: "saw", Capacity: 1}},
		Tasks:     longDay(60),
		Objective: Weights{Makespan: 1},
	}, nil)
	d := newDecoder(m)
	list := m.jobList()
	require.True(t, d.decode(list))
	d.keep()
	list[30], list[31] = list[31], list[30] // they are at different stations
	require.True(t, d.decode(list))
	require.Equal(t, 30, d.base.part)
	require.Equal(t, 32, d.base.meet)
	require.Equal(t, list, d.order)
	list[30], list[32] = list[32], list[30] // and these at one
	require.True(t, d.decode(list))
	require.Greater(t, d.base.meet, len(list), "nothing behind them lies where it did")
}

// longDay is tasks of growing length, by turns at one station and the other.
func longDay(n int) []Task {
	tasks := make([]Task, n)
	for k := range tasks {
		tasks[k] = Task{ID: string(rune('a' + k)), Attended: 1 + k/2, Uses: []Use{{Resource: []string{"bench", "saw"}[k%2], Amount: 1, During: Attended}}}
	}
	return tasks
}
