package models

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestCodeOf(t *testing.T) {
	assert.Equal(t, Code(""), CodeOf(nil))
	assert.Equal(t, Internal, CodeOf(errors.New("disk full")))
	assert.Equal(t, Conflict, CodeOf(fmt.Errorf("tap: %w", conflict("step", "x", "Ana has it."))))
}

// A person reads the sentence, the log what lies behind it.
func TestDetails(t *testing.T) {
	err := failed("save the plan", fmt.Errorf("store the plan: %w", errors.New("disk full")))
	assert.EqualError(t, err, "Could not save the plan. Nothing was changed.")
	assert.Equal(t, "page: Could not save the plan. Nothing was changed. (store the plan: disk full)", Details(fmt.Errorf("page: %w", err)))
	assert.Equal(t, "plain", Details(errors.New("plain")))
	refusal := invalid("name", "", "The name is empty.")
	assert.Same(t, refusal, failed("save the person", fmt.Errorf("wrapped: %w", refusal)), "a refusal stays what it is")
	assert.NoError(t, failed("save the person", nil))
}

func TestDamagedCopyIsNoBackup(t *testing.T) {
	ctx := context.Background()
	path := filepath.Join(t.TempDir(), "shop.db")
	s, err := OpenStore(ctx, path, time.Now)
	require.NoError(t, err)
	require.NoError(t, s.Close())
	require.NoError(t, CheckBackup(ctx, path))
	records, err := os.ReadFile(path)
	require.NoError(t, err)
	for i := len(records) / 2; i < len(records)/2+4096; i++ {
		records[i] = 0xff
	}
	require.NoError(t, os.WriteFile(path, records, 0o600))
	require.Error(t, CheckBackup(ctx, path))
	require.NoError(t, os.WriteFile(path, nil, 0o600))
	require.ErrorContains(t, CheckBackup(ctx, path), "the file is empty")
}
