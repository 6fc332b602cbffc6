package sequence

import (
	"context"
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// solveWith solves a problem with a fixed amount of work and checks the plan.
func solveWith(t require.TestingT, p *Problem, o Options) *Plan {
	plan, err := Solve(context.Background(), p, o)
	require.NoError(t, err)
	if plan.Status != Unknown {
		if err := Check(p, plan); err != nil {
			problem, _ := json.Marshal(p)
			text, _ := json.Marshal(plan)
			require.NoError(t, err, "problem %s\nplan %s", problem, text)
		}
	}
	return plan
}

// The exact search finds what brute force finds, on tiny problems with every
// feature of the contract.
func TestSolveEqualsBruteForce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawProblem(t)
		want := bruteForce(p)
		got := solveWith(t, p, Options{Work: 20000, Seed: 1})
		text, err := json.Marshal(p)
		require.NoError(t, err)
		if want == nil {
			require.Equal(t, Infeasible, got.Status, "%s", text)
			return
		}
		require.Equal(t, Optimal, got.Status, "%s", text)
		require.Equal(t, want.Objective, got.Objective, "%s", text)
	})
}
