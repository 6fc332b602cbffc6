package handlers

import (
	"context"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
	"faceside/models/testrig"
)

// However often a step was put down, its screen tells what was tapped last.
func TestAStepTellsWhatWasTappedLast(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	joint, ana := r.step("joint").ID, testrig.Person(t, r.snap(), "Ana")
	for range historyShown {
		for _, kind := range []models.TapKind{models.TapStart, models.TapPutDown} {
			r.clock.Step(time.Second)
			_, err := r.store.Tap(context.Background(), models.TapRequest{ID: uuid.NewString(), Kind: kind, StepID: joint, PersonID: ana})
			require.NoError(t, err)
		}
	}
	r.clock.Step(time.Hour)
	tab := r.as("Ana")
	tab.tap(models.TapStart, r.step("joint"))
	told := tab.get(stepHref(joint)).texts(".history li")
	require.Len(t, told, historyShown)
	assert.Equal(t, "9:31 Ana started it", told[len(told)-1])
}
