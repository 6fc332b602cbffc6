package handlers

import (
	"context"
	"fmt"
	"slices"
	"sync"
	"time"

	"faceside/models"
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
	hurried  bool         // patience ended before the work was done
}

// cutPlans makes cutting plans, one at a time, and keeps the last few: tablets that
// show the same do not have it made again.
type cutPlans struct {
	making sync.Mutex
	kept   []keptPlan // the newest last
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
	a := q.plan(ctx, snap, onHand)
	if err := ctx.Err(); err != nil {
		return nil, fmt.Errorf("plan the cuts: %w", err)
	}
	if !a.hurried {
		p.kept = append(p.kept, keptPlan{q, a})
		p.kept = p.kept[max(0, len(p.kept)-plansKept):]
	}
	return a, nil
}

// plan makes the plan: the work is shared out among the stocks by their pieces.
func (q cutQuestion) plan(ctx context.Context, snap *models.Snapshot, boards []models.Board) *cutAnswer {
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
	rules := stock.UsualRules
	rules.Kerf, rules.EndTrim = q.kerf, q.trim
	a.problems = stock.Problems(a.lines, planner.StockBoards(boards), rules)
	pieces := 0
	for _, l := range a.lines {
		pieces += l.Quantity
	}
	ctx, cancel := context.WithTimeout(ctx, patience)
	defer cancel()
	for _, problem := range a.problems {
		plan, err := stock.Solve(ctx, problem, stock.Search{Tries: max(1, q.work/max(1, pieces)), Seed: 1})
		a.plans, a.refused = append(a.plans, plan), append(a.refused, err)
	}
	a.hurried = ctx.Err() != nil
	return a
}
