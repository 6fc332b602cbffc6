package models

import (
	"context"
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"faceside/models/testrig/disk"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Whenever the power is cut while a new shop is made, or an old one brought up to date,
// the next start makes it whole, with all that was in it.
func TestAPowerCutAmongMigrations(t *testing.T) {
	t.Parallel()
	for _, schema := range []int64{0, 1, 12} {
		t.Run(fmt.Sprint("from ", schema), func(t *testing.T) {
			folder := t.TempDir()
			path := filepath.Join(folder, "shop.db")
			before := map[string][]map[string]any{}
			if schema > 0 {
				peopled(t, path, schema)
				before = contents(t, path)
			}
			start := func(path string) {
				s, err := OpenStore(context.Background(), path, time.Now)
				require.NoError(t, err)
				require.NoError(t, s.Close())
			}
			d := disk.Watch(t, folder)
			start(path)
			want := shape(t, path)
			d.CutPower(t, 0, max(*PowerCuts/18, 1), func(c disk.PowerCut) {
				path := filepath.Join(c.Folder, "shop.db")
				start(path)
				require.Equal(t, want, shape(t, path), "cut at %d, drawn with %d", c.At, c.Seed)
				holds(t, before, contents(t, path))
			})
			assert.Greater(t, d.Len(), 100)
		})
	}
}
