package models

import (
	"context"
	"fmt"
	"time"

	"gorm.io/gorm"
)

// check refuses fields of a commission that cannot be.
func (c *Commission) check() error {
	return first(
		nameGiven("name", c.Name), textAtMost("client", c.Client, nameLimit),
		dateGiven("promised date", c.PromisedOn),
		between("weight", c.Weight, 1, 9, ""),
		oneOf("state", c.State, Open, Held, Delivered, Dropped),
		textAtMost("note", c.Note, noteLimit),
	)
}

// notPast refuses a promised date before the shop's today.
func (c *Commission) notPast(tx *gorm.DB, now time.Time) error {
	shop, err := get[Shop](tx, "shop", 1)
	if err != nil {
		return err
	}
	today, err := shop.Today(now)
	if err != nil {
		return err
	}
	if c.PromisedOn < today {
		return invalid("promised date", c.PromisedOn, "The promised date %s is past: today is %s.", c.PromisedOn, today)
	}
	return nil
}

// SaveCommission changes the name, client, promised date, weight, note and
// state of a commission. It is delivered only when all its steps are done, and
// not dropped while somebody has a step of it in hand. A promised date that is
// past can stay, but none can be given.
func (s *Store) SaveCommission(ctx context.Context, c Commission) error {
	if err := c.check(); err != nil {
		return err
	}
	return s.write(ctx, "save the commission", func(tx *gorm.DB) (*Change, error) {
		return &Change{Kind: ChangedCommission}, c.save(tx, s.Now())
	})
}

// save writes what was checked, where the steps and the day allow it.
func (c *Commission) save(tx *gorm.DB, now time.Time) error {
	was, err := get[Commission](tx, "commission", c.ID)
	if err != nil {
		return err
	}
	if c.PromisedOn != was.PromisedOn {
		if err := c.notPast(tx, now); err != nil {
			return err
		}
	}
	if c.State != was.State {
		if err := c.mayBecome(tx, now); err != nil {
			return err
		}
	}
	return save(tx, "commission", c, c.ID, "Name", "Client", "PromisedOn", "Weight", "State", "Note")
}

// mayBecome refuses a state that the steps do not allow.
func (c *Commission) mayBecome(tx *gorm.DB, now time.Time) error {
	if c.State != Delivered && c.State != Dropped {
		return nil
	}
	var steps []Step
	if err := tx.Where("commission_id = ?", c.ID).Order("piece_id, position").Find(&steps).Error; err != nil {
		return fmt.Errorf("read the steps of commission %d: %w", c.ID, err)
	}
	for i := range steps {
		step := &steps[i]
		_, ended := step.Ended(now)
		if c.State == Delivered && !ended {
			return conflict("state", c.State, "“%s” cannot be delivered: “%s” is not done.", c.Name, step.Name)
		}
		if c.State == Dropped && step.State == InHand {
			holder, err := get[Person](tx, "person", idOf(step.PersonID))
			if err != nil {
				return err
			}
			return conflict("state", c.State, "“%s” cannot be dropped: %s has “%s” in hand.", c.Name, holder.Name, step.Name)
		}
	}
	return nil
}

// CommissionSummary is a commission and how far it has come.
type CommissionSummary struct {
	Commission
	Steps       int
	Done        int // rests that are over by the clock among them
	Minutes     int // attended, estimated
	MinutesLeft int // estimated less worked, of the steps whose attended part is not done
}

// Commissions lists all commissions, those open and held first, each by its
// promised date. It takes one pass over all steps.
func (s *Store) Commissions(ctx context.Context) ([]CommissionSummary, error) {
	var all []CommissionSummary
	err := s.read(ctx, "list the commissions", func(tx *gorm.DB) error {
		return tx.Model(&Commission{}).
			Select(`commissions.*,
				count(steps.id) AS steps,
				coalesce(sum(steps.state = ? OR (steps.state = ? AND steps.rest_ends_at <= ?)), 0) AS done,
				coalesce(sum(steps.attended), 0) AS minutes,
				coalesce(sum(CASE WHEN steps.finished_at IS NULL THEN max(steps.attended - steps.worked / 60, 0) END), 0) AS minutes_left`,
				Done, AtRest, s.Now()).
			Joins("LEFT JOIN steps ON steps.commission_id = commissions.id").
			Group("commissions.id").
			Order("commissions.state NOT IN ('open', 'held'), commissions.promised_on, commissions.id").
			Scan(&all).Error
	})
	return all, err
}
