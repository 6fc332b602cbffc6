package tapform

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestSpansAreRead(t *testing.T) {
	for text, want := range map[string]int{
		"45": 45, "45 min": 45, "4 h": 240, "1.5 h": 90, "1 h 30": 90, "1 h 30 min": 90, "4h": 240,
		"7 days": 10080, "1 day": 1440, "2 days 12 h": 3600, " 0 ": 0, "24 H": 1440,
		"4 Std. 30": 270, "1,5 Std": 90, "7 Tage": 10080, "1 Tag 2 Stunden": 1560,
		"4\u00a0h\u00a010": 250, "2 days 12\u00a0h": 3600, "45\u202fmin": 45, // as the pages write them, and others
	} {
		got, ok := Span(text)
		assert.True(t, ok, text)
		assert.Equal(t, want, got, text)
	}
	for _, text := range []string{"", "soon", "-5", "1/2 h", "4 weeks", "30 min 1 h", "2 h 3 h", "0.1", "99999999999", "1:30", "1,000 days", "1.000 Tage"} {
		_, ok := Span(text)
		assert.False(t, ok, text)
	}
}
