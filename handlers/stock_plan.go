package handlers

import (
	"context"
	"fmt"
	"slices"
	"sync"
	"time"

	"faceside/models"
	"faceside/models/phrase"
	"faceside/models/planner"
	"faceside/models/stock"
	"faceside/models/wood"
)

// Work that goes into a cutting plan: pieces laid in all, so that the same question has
// the same answer on any machine. patience ends it on one that is too slow.
const (
	planWork  = stock.UsualWork
	buyWork   = stock.UsualWork / 10
	patience  = 2 * time.Second
	plansKept = 8
)

// cutQuestion is what a cutting plan answers.
type cutQuestion struct {
	revision   int64
	commission models.ID // 0: all that are open
	kerf, trim wood.Length
	match      bool
	work       int
}

// cutAnswer is a cutting plan, one stock a problem.
type cutAnswer struct {
	list     planner.StockList
	lines    []stock.Line // that take wood
	problems []stock.Problem
	plans    []stock.Plan // by problem
	refused  []error      // by problem
	unsound  []error      // what stock.Check has against plans, which are refused then
	hurried  bool         // patience ended before the work was done
}

// errUnsound is said instead of a plan that does not hold.
var errUnsound = stock.Fault{Phrase: phrase.Of("the plan that was found does not hold against the check of its cuts, so it is not shown; the reason is in the server's log")}

// solver finds a plan of cuts.
type solver func(context.Context, stock.Problem, stock.Search) (stock.Plan, error)

// cutPlans makes cutting plans, one at a time, and keeps the last few: tablets that
// show the same do not have it made again.
type cutPlans struct {
	making sync.Mutex
	kept   []keptPlan // the newest last
	solve  solver     // nil: stock.Solve
}

type keptPlan struct {
	question cutQuestion
	answer   *cutAnswer
}

// answer finds or makes a plan from a snapshot and the boards on hand.
func (p *cutPlans) answer(ctx context.Context, q cutQuestion, snap *models.Snapshot, boards func() ([]models.Board, error)) (*cutAnswer, error) {
	p.making.Lock()
	defer p.making.Unlock()
	if i := slices.IndexFunc(p.kept, func(k keptPlan) bool { return k.question == q }); i >= 0 {
		return p.kept[i].answer, nil
	}
	onHand, err := boards()
	if err != nil {
		return nil, err
	}
	solve := p.solve
	if solve == nil {
		solve = stock.Solve
	}
	a := q.plan(ctx, solve, snap, onHand)
	if err := ctx.Err(); err != nil {
		return nil, fmt.Errorf("plan the cuts: %w", err)
	}
	if !a.hurried && len(a.unsound) == 0 {
		p.kept = append(p.kept, keptPlan{q, a})
		p.kept = p.kept[max(0, len(p.kept)-plansKept):]
	}
	return a, nil
}

// plan makes the plan: the work is shared out among the stocks by their pieces. What
// does not hold when it is checked is refused.
func (q cutQuestion) plan(ctx context.Context, solve solver, snap *models.Snapshot, boards []models.Board) *cutAnswer {
	a := &cutAnswer{}
	if q.commission == 0 {
		a.list = planner.ReadStockList(snap)
	} else {
		a.list = planner.ReadStockList(snap, q.commission)
	}
	a.lines = a.list.ToCut()
	if q.match {
		a.lines = stock.MatchEach(a.lines)
	}
	a.problems = stock.Problems(a.lines, planner.StockBoards(boards), cutRules(q.kerf, q.trim))
	pieces := 0
	for _, l := range a.lines {
		pieces += l.Quantity
	}
	ctx, cancel := context.WithTimeout(ctx, patience)
	defer cancel()
	for _, problem := range a.problems {
		plan, err := solve(ctx, problem, stock.Search{Tries: max(1, q.work/max(1, pieces)), Seed: 1})
		if err == nil {
			if wrong := stock.Check(problem, plan); wrong != nil {
				a.unsound = append(a.unsound, fmt.Errorf("the plan of %s: %w", problem.Stock, wrong))
				plan, err = stock.Plan{}, errUnsound
			}
		}
		a.plans, a.refused = append(a.plans, plan), append(a.refused, err)
	}
	a.hurried = ctx.Err() != nil
	return a
}

// cutRules are how the shop saws, with its kerf and what it takes off the ends.
func cutRules(kerf, trim wood.Length) stock.Rules {
	rules := stock.UsualRules
	rules.Kerf, rules.EndTrim = kerf, trim
	return rules
}

// cutAnswer answers a question from the records of a room and the rack, and logs what
// does not hold.
func (s *server) cutAnswer(ctx context.Context, q cutQuestion, r *room) (*cutAnswer, error) {
	a, err := s.cutPlans.answer(ctx, q, r.snap, func() ([]models.Board, error) { return s.boardsOnHand(ctx) })
	if err != nil {
		return nil, err
	}
	for _, wrong := range a.unsound {
		s.log.Error("a cutting plan does not hold", "error", wrong)
	}
	return a, nil
}
