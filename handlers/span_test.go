package handlers

import (
	"testing"

	"faceside/handlers/tapform"
	_ "faceside/models/testrig/sameseed"
	"faceside/views/tongues"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

func TestASpanIsReadBackAsItWasSaid(t *testing.T) {
	for _, language := range tongues.Languages() {
		w := words{speaker: speaker(t, language.Code)}
		rapid.Check(t, func(t *rapid.T) {
			minutes := rapid.IntRange(0, tapform.MostSpan).Draw(t, "minutes")
			got, ok := tapform.Span(w.exactSpan(minutes))
			assert.True(t, ok, w.exactSpan(minutes))
			assert.Equal(t, minutes, got, w.exactSpan(minutes))
		})
	}
}
