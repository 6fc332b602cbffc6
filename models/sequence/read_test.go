package sequence

import (
	"bytes"
	"encoding/json"
	"errors"
	"os"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// small is a valid problem with every feature; the tests of bad input break it
// in one place each.
const small = `{
  "version": 1,
  "horizon": 20160,
  "calendars": {"shop": [[480,720],[780,1020]]},
  "resources": [
    {"id": "hands",  "capacity": 2, "calendar": "shop"},
    {"id": "planer", "capacity": 1,
     "setups": {"initial": "45mm", "default": 12, "hands": {"resource": "hands", "amount": 1},
                "pairs": [{"from": "45mm", "to": "22mm", "minutes": 8}]}},
    {"id": "clamps-900", "capacity": 12}
  ],
  "zones": ["finish-room"],
  "jobs":  [{"id": "bench-for-the-hall", "due": 4080, "weight": 3}],
  "tasks": [
    {"id": "glue-top", "job": "bench-for-the-hall", "attended": 35, "interruptible": false, "unattended": 240,
     "uses": [{"resource": "hands", "amount": 2, "during": "attended"},
              {"resource": "clamps-900", "amount": 5, "during": "all"}],
     "zone": {"name": "finish-room", "kind": "wet"},
     "release": 0, "deadline": null, "start": null},
    {"id": "plane-rails", "job": "bench-for-the-hall", "attended": 25, "interruptible": true, "unattended": 0,
     "uses": [{"resource": "hands", "amount": 1, "during": "attended"}],
     "setup": {"resource": "planer", "state": "22mm"}}
  ],
  "links": [{"before": "plane-rails", "after": "glue-top", "min": 0, "max": 1440}],
  "objective": {"tardiness": 1000, "setup": 10, "flow": 0, "makespan": 1, "moved": 0},
  "previous": {"tolerance": 15, "starts": [{"id": "glue-top", "start": 480}]}
}`

func TestReadTakesEveryFieldOfTheContract(t *testing.T) {
	p, err := Read(strings.NewReader(small))
	require.NoError(t, err)
	assert.Equal(t, 20160, p.Horizon)
	assert.Equal(t, []Window{{480, 720}, {780, 1020}}, p.Calendars["shop"])
	require.NotNil(t, p.Resources[1].Setups)
	assert.Equal(t, Setups{Initial: new("45mm"), Default: 12, Hands: &Amount{"hands", 1}, Pairs: []Pair{{"45mm", "22mm", 8}}}, *p.Resources[1].Setups)
	assert.Equal(t, Job{ID: "bench-for-the-hall", Due: new(4080), Weight: 3}, p.Jobs[0])
	assert.Equal(t, Task{ID: "glue-top", Job: "bench-for-the-hall", Attended: 35, Unattended: 240,
		Uses: []Use{{"hands", 2, Attended}, {"clamps-900", 5, All}}, Zone: &ZoneUse{"finish-room", Wet}}, p.Tasks[0])
	assert.Equal(t, &SetupNeed{"planer", "22mm"}, p.Tasks[1].Setup)
	assert.Equal(t, []Link{{Before: "plane-rails", After: "glue-top", Max: new(1440)}}, p.Links)
	assert.Equal(t, Weights{Tardiness: 1000, Setup: 10, Makespan: 1}, p.Objective)
	assert.Equal(t, &Previous{Tolerance: 15, Starts: []Start{{"glue-top", 480}}}, p.Previous)
}

func TestProblemsSurviveWritingAndReading(t *testing.T) {
	names := []string{"ft/ft06.jss", "ubo10/psp1.sch", "bt/t2-ps05.dat", "wt_sds/wt_sds_1.instance"}
	problems := []*Problem{mustRead(t, small)}
	for _, name := range names {
		problems = append(problems, instance(t, name))
	}
	for _, p := range problems {
		var text bytes.Buffer
		require.NoError(t, WriteProblem(&text, p))
		again, err := Read(&text)
		require.NoError(t, err)
		assert.Equal(t, p, again)
	}
}

func mustRead(t testing.TB, text string) *Problem {
	t.Helper()
	p, err := Read(strings.NewReader(text))
	require.NoError(t, err)
	return p
}

// Each case replaces one piece of the small problem and expects the error's
// field, value, and a word of its reason.
func TestBadInputIsNamed(t *testing.T) {
	cases := []struct{ name, old, new, field, value, reason string }{
		{"unknown field", `"interruptible": true`, `"interuptible": true`, "tasks[1].interuptible", "true", "no such field"},
		{"wrong case", `"zones"`, `"Zones"`, "Zones", "", "no such field"},
		{"field twice", `"zones": [`, `"horizon": 5, "zones": [`, "horizon", "", "given twice"},
		{"calendar twice", `"shop": [`, `"shop": [], "shop": [`, "calendars.shop", "", "given twice"},
		{"not an integer", `"attended": 35`, `"attended": 35.5`, "tasks[0].attended", "35.5", "whole number"},
		{"a text for a number", `"attended": 35`, `"attended": "35"`, "tasks[0].attended", `"35"`, "whole number"},
		{"a number for a text", `"id": "glue-top", "job"`, `"id": 7, "job"`, "tasks[0].id", "7", "a text"},
		{"a number beyond counting", `"attended": 35`, `"attended": 99999999999999999999`, "tasks[0].attended", "99999999999999999999", "whole number"},
		{"window of three", `[480,720]`, `[480,720,740]`, "calendars.shop[0]", "[480,720,740]", "list of two"},
		{"broken JSON", `"zones": [`, `"zones": ["a" `, "zones", "", "line 12, column"},
		{"text after the problem", `"start": 480}]}
}`, `"start": 480}]}
} {}`, "", "", "line 27, column 3"},
		{"version", `"version": 1`, `"version": 2`, "version", "2", "version 1"},
		{"no horizon", `"horizon": 20160,`, ``, "horizon", "0", "at least 1"},
		{"great horizon", `"horizon": 20160`, `"horizon": 4000000000`, "horizon", "4000000000", "at most"},
		{"window backwards", `[480,720]`, `[720,480]`, "calendars.shop[0]", "[720,480]", "after it begins"},
		{"windows overlap", `[780,1020]`, `[719,1020]`, "calendars.shop[1]", "[719,1020]", "overlaps the window [480,720]"},
		{"window before the origin", `[480,720]`, `[-480,720]`, "calendars.shop[0][0]", "-480", "at least 0"},
		{"resource twice", `"clamps-900", "capacity"`, `"hands", "capacity"`, "resources[2].id", `"hands"`, "two have this name"},
		{"resource without id", `{"id": "clamps-900", `, `{`, "resources[2].id", "", "needs a name"},
		{"negative capacity", `"capacity": 12`, `"capacity": -12`, "resources[2].capacity", "-12", "at least 0"},
		{"no capacity", `, "capacity": 12`, ``, "resources[2].capacity", "", "not given"},
		{"unknown calendar", `"calendar": "shop"`, `"calendar": "shed"`, "resources[0].calendar", `"shed"`, "no calendar"},
		{"setups on two", `"planer", "capacity": 1`, `"planer", "capacity": 2`, "resources[1].capacity", "2", "capacity 1"},
		{"negative setup", `"default": 12`, `"default": -12`, "resources[1].setups.default", "-12", "at least 0"},
		{"hands unknown", `{"resource": "hands", "amount": 1},`, `{"resource": "feet", "amount": 1},`, "resources[1].setups.hands.resource", `"feet"`, "no resource"},
		{"hands of none", `{"resource": "hands", "amount": 1},`, `{"resource": "hands", "amount": 0},`, "resources[1].setups.hands.amount", "0", "at least 1"},
		{"own hands", `{"resource": "hands", "amount": 1},`, `{"resource": "planer", "amount": 1},`, "resources[1].setups.hands.resource", `"planer"`, "own setup"},
		{"pair twice", `"minutes": 8}`, `"minutes": 8}, {"from": "45mm", "to": "22mm", "minutes": 9}`, "resources[1].setups.pairs[1]", `"45mm" to "22mm"`, "twice"},
		{"negative pair", `"minutes": 8`, `"minutes": -8`, "resources[1].setups.pairs[0].minutes", "-8", "at least 0"},
		{"pair from nowhere", `{"from": "45mm", "to"`, `{"to"`, "resources[1].setups.pairs[0]", "", "from and to"},
		{"nameless initial state", `"initial": "45mm"`, `"initial": ""`, "resources[1].setups.initial", `""`, "null"},
		{"zone twice", `["finish-room"]`, `["finish-room", "finish-room"]`, "zones[1]", `"finish-room"`, "two have this name"},
		{"negative weight", `"weight": 3`, `"weight": -3`, "jobs[0].weight", "-3", "at least 0"},
		{"job calendar", `"weight": 3`, `"calendar": "client"`, "jobs[0].calendar", `"client"`, "no calendar"},
		{"job unknown", `"job": "bench-for-the-hall", "attended": 35`, `"job": "benches", "attended": 35`, "tasks[0].job", `"benches"`, "no job"},
		{"task twice", `"id": "plane-rails"`, `"id": "glue-top"`, "tasks[1].id", `"glue-top"`, "two have this name"},
		{"negative attended", `"attended": 35`, `"attended": -35`, "tasks[0].attended", "-35", "at least 0"},
		{"negative unattended", `"unattended": 240`, `"unattended": -240`, "tasks[0].unattended", "-240", "at least 0"},
		{"use of nothing", `"resource": "clamps-900"`, `"resource": "clamps"`, "tasks[0].uses[1].resource", `"clamps"`, "no resource"},
		{"use of none", `"amount": 5`, `"amount": 0`, "tasks[0].uses[1].amount", "0", "at least 1"},
		{"use during lunch", `"during": "all"`, `"during": "lunch"`, "tasks[0].uses[1].during", `"lunch"`, "attended, unattended or all"},
		{"setup of nothing", `{"resource": "planer", "state"`, `{"resource": "plane", "state"`, "tasks[1].setup.resource", `"plane"`, "no resource"},
		{"setup of clamps", `{"resource": "planer", "state"`, `{"resource": "hands", "state"`, "tasks[1].setup.resource", `"hands"`, "no setups"},
		{"setup to nothing", `"state": "22mm"`, `"state": ""`, "tasks[1].setup.state", `""`, "needs a name"},
		{"zone unknown", `"name": "finish-room"`, `"name": "attic"`, "tasks[0].zone.name", `"attic"`, "no zone"},
		{"kind unknown", `"kind": "wet"`, `"kind": "damp"`, "tasks[0].zone.kind", `"damp"`, "wet or dusty"},
		{"link from nobody", `"before": "plane-rails"`, `"before": "plane-legs"`, "links[0].before", `"plane-legs"`, "no task"},
		{"link to nobody", `"after": "glue-top"`, `"after": "glue-legs"`, "links[0].after", `"glue-legs"`, "no task"},
		{"link from lunch", `"min": 0`, `"from": "lunch"`, "links[0].from", `"lunch"`, "end, start or attended"},
		{"negative factor", `"setup": 10`, `"setup": -10`, "objective.setup", "-10", "at least 0"},
		{"overflowing factor", `"tardiness": 1000`, `"tardiness": 9000000000000000000`, "objective.tardiness", "9000000000000000000", "smaller weights"},
		{"unknown factor", `"moved": 0`, `"late": 0`, "objective.late", "0", "no such field"},
		{"previous nobody", `"starts": [{"id": "glue-top"`, `"starts": [{"id": "glue-legs"`, "previous.starts[0].id", `"glue-legs"`, "no task"},
		{"previous twice", `"start": 480}`, `"start": 480}, {"id": "glue-top", "start": 500}`, "previous.starts[1].id", `"glue-top"`, "twice"},
		{"negative tolerance", `"tolerance": 15`, `"tolerance": -15`, "previous.tolerance", "-15", "at least 0"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			require.Equal(t, 1, strings.Count(small, c.old), "the piece to replace")
			_, err := Read(strings.NewReader(strings.Replace(small, c.old, c.new, 1)))
			var input *InputError
			require.ErrorAs(t, err, &input)
			assert.Equal(t, c.field, input.Field)
			if c.value != "" {
				assert.Equal(t, c.value, input.Value)
				assert.Contains(t, err.Error(), c.value)
			}
			assert.Contains(t, input.Reason, c.reason)
			assert.Contains(t, err.Error(), c.field)
			assert.NotContains(t, err.Error(), "\n")
		})
	}
}

func TestOtherBadFiles(t *testing.T) {
	for text, reason := range map[string]string{
		"":                "empty",
		" \n":             "empty",
		"[]":              "must be an object",
		"null":            "this program reads version 1",
		"{":               "no JSON in line 1",
		`{"version": 1}`:  "at least 1",
		"{\"a\xff\": 1}":  "no JSON",
		`{"version": 1e}`: "no JSON",
	} {
		_, err := Read(strings.NewReader(text))
		var input *InputError
		require.ErrorAs(t, err, &input, "%q", text)
		assert.Contains(t, err.Error(), reason, "%q", text)
	}
	broken := errors.New("the disk is gone")
	_, err := Read(iotest.ErrReader(broken))
	require.ErrorIs(t, err, broken)
	var input *InputError
	assert.NotErrorAs(t, err, &input, "a failure to read is not bad input")
}

// What cannot be solved is not invalid.
func TestImpossibleIsValid(t *testing.T) {
	cases := map[string][2]string{
		"cycle":                 {`"links": [`, `"links": [{"before": "glue-top", "after": "plane-rails"}, `},
		"link to itself":        {`"before": "plane-rails", "after": "glue-top"`, `"before": "glue-top", "after": "glue-top"`},
		"min above max":         {`"min": 0`, `"min": 2000`},
		"demand above capacity": {`"amount": 5`, `"amount": 500`},
		"longer than windows":   {`"attended": 35`, `"attended": 600`},
		"deadline too early":    {`"deadline": null`, `"deadline": 10`},
		"deadline before all":   {`"deadline": null`, `"deadline": -10`},
		"start before all":      {`"start": null`, `"start": -10`},
		"no windows":            {`[[480,720],[780,1020]]`, `[]`},
		"touching windows":      {`[780,1020]`, `[720,1020]`},
		"windows in disorder":   {`[[480,720],[780,1020]]`, `[[780,1020],[480,720]]`},
		"late from the start":   {`"due": 4080`, `"due": -4080`},
		"no due":                {`"due": 4080`, `"due": null`},
		"negative min":          {`"min": 0`, `"min": -30`},
		"no capacity at all":    {`"capacity": 12`, `"capacity": 0`},
		"free first setup":      {`"initial": "45mm"`, `"initial": null`},
		"state to itself":       {`"to": "22mm"`, `"to": "45mm"`},
		"weights left out":      {`{"tardiness": 1000, "setup": 10, "flow": 0, "makespan": 1, "moved": 0}`, `{}`},
		"one use twice":         {`"uses": [{"resource": "hands", "amount": 2, "during": "attended"}`, `"uses": [{"resource": "hands", "amount": 1, "during": "attended"}, {"resource": "hands", "amount": 1, "during": "all"}`},
	}
	for name, c := range cases {
		require.Equal(t, 1, strings.Count(small, c[0]), name)
		_, err := Read(strings.NewReader(strings.Replace(small, c[0], c[1], 1)))
		assert.NoError(t, err, name)
	}
}

func TestPlansAreWrittenAsTheContractSays(t *testing.T) {
	plan := &Plan{Version: 1, Status: Feasible, Objective: 12, Bound: 3,
		Tasks:  []PlanTask{{"glue-top", 470, 480, 515, 755}},
		Jobs:   []PlanJob{{"bench-for-the-hall", 755, 0}},
		Setups: []PlanSetup{{"planer", "45mm", "22mm", 500, 8, "plane-rails"}},
		Trace:  []TracePoint{{0.01, 12}}, Stats: Stats{Schedules: 4, Seconds: 0.5, Seed: 1}}
	var text bytes.Buffer
	require.NoError(t, WritePlan(&text, plan))
	assert.JSONEq(t, `{"version": 1, "status": "feasible", "objective": 12, "bound": 3,
		"tasks": [{"id": "glue-top", "setup_start": 470, "start": 480, "attended_end": 515, "end": 755}],
		"jobs":  [{"id": "bench-for-the-hall", "end": 755, "tardiness": 0}],
		"setups": [{"resource": "planer", "from": "45mm", "to": "22mm", "start": 500, "minutes": 8, "for": "plane-rails"}],
		"trace": [{"seconds": 0.01, "objective": 12}],
		"stats": {"schedules": 4, "seconds": 0.5, "seed": 1},
		"conflict": []}`, text.String())

	text.Reset()
	require.NoError(t, WritePlan(&text, &Plan{Version: 1, Status: Infeasible}))
	var fields map[string]any
	require.NoError(t, json.Unmarshal(text.Bytes(), &fields))
	for _, list := range []string{"tasks", "jobs", "setups", "trace", "conflict"} {
		assert.Equal(t, []any{}, fields[list], "%s is a list even where it is empty", list)
	}
	assert.ErrorIs(t, WritePlan(failingWriter{}, plan), os.ErrClosed)
}

type failingWriter struct{}

func (failingWriter) Write([]byte) (int, error) { return 0, os.ErrClosed }
