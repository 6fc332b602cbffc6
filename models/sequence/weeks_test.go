package sequence

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// No plan is worse than what a shop gets that goes by a rule: neither the first one
// nor one after a little work. Fifty weeks of one to three people, with dates tight
// and loose.
func TestNoRuleBeatsThePlanOfAWeek(t *testing.T) {
	for number := 1; number <= 50; number++ {
		w := shopWeek{Number: number, Steps: 60 + number%3*20}
		p := w.problem()
		first := solveWith(t, p, Options{Work: 1, Seed: 1})
		later := solveWith(t, p, Options{Work: 200, Seed: 1})
		for _, rule := range []Rule{ByPromise, EarliestPromise, LeastSlack, NearestSetup, LongestTail} {
			ruled, err := Dispatch(context.Background(), p, rule)
			require.NoError(t, err, "week %v, %s", w, rule)
			require.NoError(t, Check(p, ruled), "week %v, %s", w, rule)
			assert.LessOrEqual(t, first.Objective, ruled.Objective, "week %v, the first plan and %s", w, rule)
			assert.LessOrEqual(t, later.Objective, ruled.Objective, "week %v, the plan after some work and %s", w, rule)
		}
	}
}
