package sequence

import (
	"bytes"
	"context"
	"errors"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/go-json-experiment/json"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// The peers are the general solvers that come with npm's MiniZinc; testdata/peer
// says how to fetch them and what each is.
const peerFolder = "testdata/peer"

// Two of the peers by their MiniZinc ids: one learns clauses, one propagates.
const (
	chuffed = "org.minizinc.chuffed"
	gecode  = "org.minizinc.gecode_presolver"
)

// peersOrSkip skips a test where the peers were not fetched.
func peersOrSkip(t *testing.T) {
	if _, err := os.Stat(filepath.Join(peerFolder, "node_modules", "minizinc")); err != nil {
		t.Skipf("wants the peers: npm ci --ignore-scripts in models/sequence/%s", peerFolder)
	}
}

// peerAnswer is what solve.mjs prints.
type peerAnswer struct {
	Solver   string       `json:"solver"`
	Status   string       `json:"status"` // as MiniZinc says it
	Trace    []TracePoint `json:"trace"`
	Error    string       `json:"error"`
	Solution *struct {
		SetupStart  []int `json:"setup_start"`
		Start       []int `json:"start"`
		AttendedEnd []int `json:"attended_end"`
		End         []int `json:"end"`
		Setup       []int `json:"setup"`
		StateBefore []int `json:"state_before"`
		JobEnd      []int `json:"job_end"`
		Late        []int `json:"late"`
		Objective   int64 `json:"objective"`
	} `json:"solution"`
}

// askPeer lets a peer search. The plan is nil where it found none; every figure of
// it is the peer's own, so that the checker has something to check.
func askPeer(ctx context.Context, folder string, p *Problem, solver string, limit time.Duration) (*peerAnswer, *Plan, error) {
	m, err := newPeerMaker(p)
	if err != nil {
		return nil, nil, fmt.Errorf("the model does not cover the problem: %w", err)
	}
	data, err := json.Marshal(m.peerData)
	if err != nil {
		return nil, nil, fmt.Errorf("writing the data: %w", err)
	}
	file := filepath.Join(folder, "data.json")
	if err := os.WriteFile(file, data, 0o644); err != nil {
		return nil, nil, err
	}
	node := exec.CommandContext(ctx, "node", filepath.Join(peerFolder, "solve.mjs"), solver, fmt.Sprint(limit.Seconds()), filepath.Join(peerFolder, "shop.mzn"), file)
	var said, complaint bytes.Buffer
	node.Stdout, node.Stderr = &said, &complaint
	if err := node.Run(); err != nil {
		return nil, nil, fmt.Errorf("asking %s: %w: %s", solver, err, complaint.String())
	}
	var a peerAnswer
	if err := json.Unmarshal(said.Bytes(), &a); err != nil {
		return nil, nil, fmt.Errorf("reading what %s said: %w", solver, err)
	}
	if a.Error != "" && a.Solution == nil {
		return &a, nil, errors.New(a.Error)
	}
	return &a, m.plan(&a), nil
}

// plan puts what a peer found into the words of the contract.
func (m *peerMaker) plan(a *peerAnswer) *Plan {
	s := a.Solution
	if s == nil {
		return nil
	}
	plan := &Plan{Version: Version, Status: Feasible, Objective: s.Objective}
	if a.Status == "OPTIMAL_SOLUTION" {
		plan.Status, plan.Bound = Optimal, s.Objective
	}
	for i, t := range m.p.Tasks {
		plan.Tasks = append(plan.Tasks, PlanTask{ID: t.ID, SetupStart: s.SetupStart[i], Start: s.Start[i], AttendedEnd: s.AttendedEnd[i], End: s.End[i]})
	}
	for i, j := range m.p.Jobs {
		plan.Jobs = append(plan.Jobs, PlanJob{ID: j.ID, End: s.JobEnd[i], Tardiness: s.Late[i]})
	}
	for v, minutes := range s.Setup {
		if minutes == 0 {
			continue
		}
		t, names := &m.p.Tasks[m.Visitor[v]-1], m.stateName[m.stationOf[v]]
		plan.Setups = append(plan.Setups, PlanSetup{Resource: t.Setup.Resource, From: names[s.StateBefore[v]-1], To: t.Setup.State,
			Start: s.SetupStart[m.Visitor[v]-1], Minutes: minutes, For: t.ID})
	}
	return plan
}

var peerDraws = flag.Int("peer-draws", 3, "tiny problems on which TestPeersFindTheSameOptimum asks each peer")

// On tiny problems with every feature of the contract a peer, which knows it by
// shop.mzn alone, finds the optimum that the search finds, and its plan passes the
// checker.
func TestPeersFindTheSameOptimum(t *testing.T) {
	peersOrSkip(t)
	asked := 0
	for draw := 0; asked < *peerDraws; draw++ {
		p := rapid.Custom(drawProblem).Example(draw)
		if _, err := newPeerMaker(p); err != nil {
			continue
		}
		asked++
		ours := solveWith(t, p, Options{Work: 20000, Seed: 1})
		for _, solver := range []string{chuffed, gecode} {
			text, err := json.Marshal(p)
			require.NoError(t, err)
			a, theirs, err := askPeer(t.Context(), t.TempDir(), p, solver, 2*time.Minute)
			require.NoError(t, err, "%s, draw %d: %s", solver, draw, text)
			if ours.Status == Infeasible {
				assert.Equal(t, "UNSATISFIABLE", a.Status, "%s, draw %d: %s", solver, draw, text)
				continue
			}
			require.Equal(t, "OPTIMAL_SOLUTION", a.Status, "%s, draw %d: %s", solver, draw, text)
			assert.NoError(t, Check(p, theirs), "%s, draw %d: %s", solver, draw, text)
			assert.Equal(t, ours.Objective, theirs.Objective, "%s, draw %d: %s", solver, draw, text)
		}
	}
}

// A plan of the search, every start of it given, is one for a peer as well, and costs
// the same.
func TestPeersTakeOurPlan(t *testing.T) {
	peersOrSkip(t)
	p := shopWeek{Number: 2, Steps: 60}.problem()
	ours := solveWith(t, p, Options{Work: 300, Seed: 1})
	given := *p
	given.Tasks = append([]Task(nil), p.Tasks...)
	for i := range given.Tasks {
		given.Tasks[i].Start = &ours.Tasks[i].Start
	}
	a, theirs, err := askPeer(t.Context(), t.TempDir(), &given, chuffed, 2*time.Minute)
	require.NoError(t, err)
	require.Equal(t, "OPTIMAL_SOLUTION", a.Status)
	require.NoError(t, Check(&given, theirs))
	assert.Equal(t, ours.Objective, theirs.Objective)
}
