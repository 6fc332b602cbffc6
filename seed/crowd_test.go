package seed

import (
	"context"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
)

func TestCrowd(t *testing.T) {
	ctx := context.Background()
	now := time.Date(2026, 11, 24, 15, 0, 0, 0, time.UTC)
	store, err := models.OpenStore(ctx, filepath.Join(t.TempDir(), "shop.db"), func() time.Time { return now })
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, store.Close()) })
	require.NoError(t, Crowd(ctx, store, 12))
	snap, err := store.Snapshot(ctx)
	require.NoError(t, err)
	assert.Len(t, snap.People, 2+12, "the demo's and the makers")
	ready := ReadySteps(snap, now)
	assert.GreaterOrEqual(t, len(ready), 12)
	for i, id := range ready[:12] {
		_, err := store.Tap(ctx, models.TapRequest{ID: string(rune('a' + i)), Kind: models.TapStart, StepID: id, PersonID: snap.People[2+i].ID})
		require.NoError(t, err, "each maker can begin one")
	}
}
