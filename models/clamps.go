package models

import (
	"context"
	"fmt"

	"faceside/models/wood"

	"gorm.io/gorm"
)

// SaveClampClass adds a class of clamps (ID 0) or changes one, and returns it
// with its ID. The count cannot fall below what a step of an open or held
// commission that is not done needs.
func (s *Store) SaveClampClass(ctx context.Context, c ClampClass) (ClampClass, error) {
	err := first(keyGiven("key", c.Key), nameGiven("name", c.Name),
		lengthBetween("reach", c.Reach, wood.Length(1)), between("count", c.Count, 0, 10000, ""))
	if err != nil {
		return c, err
	}
	err = s.write(ctx, "save the clamps", func(tx *gorm.DB) (*Change, error) {
		if err := unused[ClampClass](tx, "key", "key", c.Key, c.ID); err != nil {
			return nil, err
		}
		if err := c.enough(tx); err != nil {
			return nil, err
		}
		return &Change{Kind: ChangedShop}, save(tx, "clamp class", &c, c.ID, "Key", "Name", "Reach", "Count")
	})
	return c, err
}

// enough refuses a count with which a step could never be clamped.
func (c *ClampClass) enough(tx *gorm.DB) error {
	var short []struct {
		Name  string
		Count int
	}
	err := tx.Model(&StepClamp{}).Select("steps.name, step_clamps.count").
		Joins("JOIN steps ON steps.id = step_clamps.step_id JOIN commissions ON commissions.id = steps.commission_id").
		Where("step_clamps.clamp_class_id = ? AND step_clamps.count > ? AND steps.state <> ?", c.ID, c.Count, Done).
		Where("commissions.state IN ?", []CommissionState{Open, Held}).
		Order("step_clamps.count DESC").Limit(1).Scan(&short).Error
	if err != nil {
		return fmt.Errorf("look for steps that need clamps %d: %w", c.ID, err)
	}
	if len(short) > 0 {
		return invalid("count", c.Count, "%d of %s are too few: “%s” needs %d.", c.Count, c.Name, short[0].Name, short[0].Count)
	}
	return nil
}
