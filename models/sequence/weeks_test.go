package sequence

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var shopRules = []Rule{ByPromise, EarliestPromise, LeastSlack, NearestSetup, LongestTail}

// No plan is worse than what a shop gets that goes by a rule: neither the first one
// nor one after a little work. Fifty weeks of one to three people, with dates tight
// and loose.
func TestNoRuleBeatsThePlanOfAWeek(t *testing.T) {
	for number := 1; number <= 50; number++ {
		w := shopWeek{Number: number, Steps: 60 + number%3*20}
		p := w.problem()
		first := solveWith(t, p, Options{Work: 1, Seed: 1})
		later := solveWith(t, p, Options{Work: 200, Seed: 1})
		requireNoBetterRule(t, w, p, first.Objective)
		assert.LessOrEqual(t, later.Objective, first.Objective, "week %v", w)
	}
}

// Nor is the plan of many weeks at once, up to 1,500 steps. Where so many steps are,
// the rules are tried behind the first plan, which is made again by the work it took, a
// schedule for each of three lists: a schedule more has the rules tried as well.
func TestNoRuleBeatsThePlanOfManyWeeks(t *testing.T) {
	for number, steps := range []int{150, 151, 200, 300, 450, 600, 600, 900, 1500} {
		w := shopWeek{Number: 51 + number, Steps: steps}
		p := w.problem()
		requireNoBetterRule(t, w, p, solveWith(t, p, Options{Work: 4, Seed: 1, WithoutExact: true}).Objective)
	}
}

func requireNoBetterRule(t *testing.T, w shopWeek, p *Problem, objective int64) {
	for _, rule := range shopRules {
		ruled, err := Dispatch(context.Background(), p, rule)
		require.NoError(t, err, "week %v, %s", w, rule)
		require.NoError(t, Check(p, ruled), "week %v, %s", w, rule)
		assert.LessOrEqual(t, objective, ruled.Objective, "week %v, %s", w, rule)
	}
}
