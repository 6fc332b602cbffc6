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

// The screen of a step tells why it is planned for then, and what room it leaves to each
// promise; of one that is in hand only that.
func TestAStepTellsWhyThenAndWhatHangsOnIt(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	r.plan()
	tab := r.as("Ana")
	p := tab.get(stepHref(r.step("plane").ID))
	assert.Equal(t, []string{"Why then?", "What hangs on it"}, p.texts("#why-then h2"))
	assert.Equal(t, "Planned 8:50 to 9:05.", p.text("#why-then .lead"))
	assert.Equal(t, []string{"“Joint a face and an edge” comes before it and is done 8:50."}, p.texts("#why-then .plain li"))
	assert.Equal(t, []string{"Hall shelf"}, p.texts("#why-then .row-name"))
	assert.Regexp(t, `^promised .*`, p.text("#why-then .row-detail"))
	assert.Regexp(t, ` to spare$`, p.text("#why-then .row-when"))

	joint := r.step("joint")
	tab.tap(models.TapStart, joint)
	r.plan()
	assert.Equal(t, []string{"What hangs on it"}, tab.get(stepHref(joint.ID)).texts("#why-then h2"))
}
