package main

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/seed"
)

// Plans after a tap keep most of what people have seen, far more than plans that know
// nothing of it, and are never later for it.
func TestPlansKeepWhatWasSeen(t *testing.T) {
	start, err := seed.DemoStartOn(demoDay)
	require.NoError(t, err)
	const most = 25
	s, err := playFortnight(t.Context(), start, 60, most)
	require.NoError(t, err)
	assert.Equal(t, most, s.Taps)
	assert.Positive(t, s.Seen)
	assert.Less(t, 3*s.Moved, s.Afresh, "%+v", s)
	assert.LessOrEqual(t, s.LateMin, s.KeptLate, "%+v", s)
	again, err := playFortnight(t.Context(), start, 60, most)
	require.NoError(t, err)
	assert.Equal(t, s, again, "the same taps and the same work move the same steps")

	var out bytes.Buffer
	printStability(&out, s, 60)
	assert.Contains(t, out.String(), "25 taps, and a plan after each, of 60 schedules")
}
