package sequence

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// FuzzRead feeds Read any text: it either complains in one line, or gives a
// valid problem that is read back as it is written.
func FuzzRead(f *testing.F) {
	f.Add(small)
	f.Add(strings.ReplaceAll(small, "null", "-7"))
	f.Add(`{"version":1,"horizon":1,"tasks":[]}`)
	f.Add(`{"version":1,"horizon":9,"calendars":{"":[[1,2]]}}`)
	f.Add(`{"version":1,"horizon":9,"resources":[{"id":"\u0000","capacity":1,"setups":{"pairs":[{}]}}]}`)
	f.Fuzz(func(t *testing.T, text string) {
		p, err := Read(strings.NewReader(text))
		if err != nil {
			var input *InputError
			require.ErrorAs(t, err, &input)
			require.NotContains(t, err.Error(), "\n")
			return
		}
		require.NoError(t, p.Validate())
		var written, again bytes.Buffer
		require.NoError(t, WriteProblem(&written, p))
		same, err := Read(bytes.NewReader(written.Bytes()))
		require.NoError(t, err)
		require.NoError(t, WriteProblem(&again, same))
		require.Equal(t, written.String(), again.String())
	})
}

// FuzzCheck feeds the checker any plan: it never fails itself, and what it
// accepts is no better than the optimum, which for the small problem is the
// plan worked out by hand.
func FuzzCheck(f *testing.F) {
	plan, err := json.Marshal(smallPlan())
	require.NoError(f, err)
	f.Add(string(plan))
	f.Add(strings.ReplaceAll(string(plan), "513", "9223372036854775807"))
	f.Add(strings.ReplaceAll(string(plan), "488", "-9223372036854775808"))
	f.Add(`{"version":1,"status":"infeasible","conflict":["glue-top"]}`)
	f.Fuzz(func(t *testing.T, text string) {
		p := mustRead(t, small)
		var plan Plan
		if json.Unmarshal([]byte(text), &plan) != nil {
			return
		}
		if err := Check(p, &plan); err == nil && plan.Status != Infeasible {
			require.GreaterOrEqual(t, plan.Objective, int64(868))
		}
	})
}

// The readers of published formats complain about broken files.
func TestBrokenInstancesAreNamed(t *testing.T) {
	for name, read := range map[string]func(string) error{
		"job shop":      func(s string) error { _, err := readJobShop(strings.NewReader(s)); return err },
		"project":       func(s string) error { _, err := readRCPSP(strings.NewReader(s)); return err },
		"greatest lags": func(s string) error { _, err := readRCPSPMax(strings.NewReader(s)); return err },
		"setups":        func(s string) error { _, err := readJobShopSetups(strings.NewReader(s)); return err },
		"late on one":   func(s string) error { _, err := readSetupsTardiness(strings.NewReader(s)); return err },
	} {
		for _, text := range []string{"", "3 x", "2 2 0 1"} {
			assert.Error(t, read(text), "%s: %q", name, text)
		}
	}
}
