package models

import (
	"context"
	"fmt"
	"strings"

	"gorm.io/gorm"
)

// KeepTogether has parts of a commission match in colour under a name, beside those
// that have the name already; with no name it takes them out of their group.
func (s *Store) KeepTogether(ctx context.Context, commission ID, parts []ID, name string) error {
	name = strings.TrimSpace(name)
	if err := textAtMost("group", name, nameLimit); err != nil {
		return err
	}
	if len(parts) == 0 {
		return invalid("part", "", "No part is chosen: tick the parts that belong together.")
	}
	return s.write(ctx, "keep the parts together", func(tx *gorm.DB) (*Change, error) {
		if _, err := get[Commission](tx, "commission", commission); err != nil {
			return nil, err
		}
		for _, id := range parts {
			part, err := get[Part](tx, "part", id)
			if err != nil {
				return nil, err
			}
			if part.CommissionID != commission {
				return nil, invalid("part", id, "“%s” is a part of another commission.", part.Name)
			}
		}
		if err := tx.Model(&Part{}).Where("id IN ?", parts).UpdateColumn("together", name).Error; err != nil {
			return nil, fmt.Errorf("name the group of the parts: %w", err)
		}
		// What was read of the parts under the edition before does not hold any more.
		return &Change{Kind: ChangedCommission}, countEdition(tx, commission)
	})
}
