package models_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
	"faceside/models/testrig"
)

// What is kept of a station that is down is a tap with the reason; letting it go is one
// without, as it is in order then.
func TestAStationDownIsTapped(t *testing.T) {
	b := newBench(t)
	planer := testrig.Station(t, b.snap(), "planer").ID
	kept := b.keep(models.Steer{Kind: models.SteerDown, StationID: planer, Name: "Blade dull"})
	require.NoError(t, b.store.LetGo(t.Context(), kept[0].ID, b.ben))
	taps, err := b.store.Journal(t.Context(), models.JournalFilter{})
	require.NoError(t, err)
	type said struct {
		kind models.TapKind
		who  models.ID
		note string
	}
	var all []said
	for _, tap := range taps {
		all = append(all, said{tap.Kind, tap.PersonID, tap.Note})
	}
	assert.Equal(t, []said{{models.TapDown, b.ana, "Blade dull"}, {models.TapUp, b.ben, ""}}, all)
}
