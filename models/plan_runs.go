package models

import (
	"bytes"
	"compress/gzip"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"

	"gorm.io/gorm"
)

// PlanRun is what makes a plan again: the problem that the engine was asked, and with how
// much work. The rest stands in the plan's own row: the seed, what came out, how long it
// took.
type PlanRun struct {
	PlanID    ID `gorm:"primaryKey"`
	ProblemID ID
	TapSeq    int64  // the newest tap that counted then; 0: there was none
	Work      int64  // 0: the search was broken off before anything that can be made again for sure
	Searches  int    // that made plans
	Answer    string // fingerprint of the engine's plan
	Program   string // that made it; empty: it did not know its version
}

// planProblem is a problem as the engine's file contract writes it. The plans of one
// search have one in common.
type planProblem struct {
	ID   ID
	Hash string
	Text []byte // by gzip
}

func (planProblem) TableName() string { return "plan_problems" }

// Runs are kept as long as their plans are (keptPlans, and those spared), as far as their
// problems go into keptProblemBytes, the newest first. A problem of 100 steps takes about
// 4 kB and one of 1,500 some 40: for most shops these are all plans there are, and the
// file, which every backup copies, stays small.
const keptProblemBytes = 8 << 20

// KeptRun is a run and the plan it made.
type KeptRun struct {
	PlanRun
	Plan Plan `gorm:"foreignKey:PlanID"` // its steps are not read
}

func (KeptRun) TableName() string { return "plan_runs" }

// KeepRun notes how a saved plan was made, and lets old runs go. The problem is a text of
// the engine's file contract.
func (s *Store) KeepRun(ctx context.Context, run PlanRun, problem []byte) error {
	hash := Fingerprint(problem)
	packed, err := pack(problem)
	if err != nil {
		return err
	}
	return s.write(ctx, "save the plan", func(tx *gorm.DB) (*Change, error) {
		p, err := one[planProblem](tx.Select("id").Where("hash = ?", hash))
		if err != nil {
			return nil, fmt.Errorf("look for the problem of the plan: %w", err)
		}
		if p == nil {
			p = &planProblem{Hash: hash, Text: packed}
			if err := tx.Create(p).Error; err != nil {
				return nil, fmt.Errorf("store the problem of the plan: %w", err)
			}
		}
		run.ProblemID = p.ID
		if err := tx.Create(&run).Error; err != nil {
			return nil, fmt.Errorf("store how the plan was made: %w", err)
		}
		return nil, pruneRuns(tx, keptProblemBytes)
	})
}

// pruneRuns keeps the newest problems only, as many as go into so many bytes, and the
// runs that have one.
func pruneRuns(tx *gorm.DB, most int) error {
	const old = `SELECT id FROM (SELECT id, sum(length(text)) OVER (ORDER BY id DESC) AS bytes FROM plan_problems) WHERE bytes > ?`
	if err := tx.Exec("DELETE FROM plan_runs WHERE problem_id IN ("+old+")", most).Error; err != nil {
		return fmt.Errorf("let old runs go: %w", err)
	}
	if err := tx.Exec("DELETE FROM plan_problems WHERE id NOT IN (SELECT problem_id FROM plan_runs)").Error; err != nil {
		return fmt.Errorf("let old problems go: %w", err)
	}
	return nil
}

// Runs lists the runs that are kept, the newest first.
func (s *Store) Runs(ctx context.Context) ([]KeptRun, error) {
	var all []KeptRun
	err := s.read(ctx, "read an earlier plan", func(tx *gorm.DB) error {
		return tx.Preload("Plan").Order("plan_id DESC").Find(&all).Error
	})
	return all, err
}

// Run returns how a plan was made, and the problem that the engine was asked.
func (s *Store) Run(ctx context.Context, plan ID) (*KeptRun, []byte, error) {
	var run *KeptRun
	var problem []byte
	err := s.read(ctx, "read an earlier plan", func(tx *gorm.DB) error {
		var err error
		if run, err = one[KeptRun](tx.Preload("Plan").Where("plan_id = ?", plan)); err != nil {
			return err
		}
		if run == nil {
			return notFound("plan", plan)
		}
		p, err := get[planProblem](tx, "plan", run.ProblemID)
		if err != nil {
			return err
		}
		problem, err = unpack(p.Text)
		return err
	})
	if err != nil {
		return nil, nil, err
	}
	return run, problem, nil
}

// Fingerprint is a short text that is another one for every other text.
func Fingerprint(text []byte) string { return fmt.Sprintf("%x", sha256.Sum256(text)) }

func pack(text []byte) ([]byte, error) {
	var packed bytes.Buffer
	w := gzip.NewWriter(&packed)
	_, err := w.Write(text)
	if err := errors.Join(err, w.Close()); err != nil {
		return nil, fmt.Errorf("pack a problem: %w", err)
	}
	return packed.Bytes(), nil
}

func unpack(packed []byte) ([]byte, error) {
	r, err := gzip.NewReader(bytes.NewReader(packed))
	if err != nil {
		return nil, fmt.Errorf("unpack a problem: %w", err)
	}
	text, err := io.ReadAll(r)
	if err := errors.Join(err, r.Close()); err != nil {
		return nil, fmt.Errorf("unpack a problem: %w", err)
	}
	return text, nil
}
