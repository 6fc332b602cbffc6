package views

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestWhatADayOrATimeIsUnderstoodAs(t *testing.T) {
	set, err := Load()
	require.NoError(t, err)
	english, german := calendarIn(set.In("en").Say), calendarIn(set.In("de").Say)
	for _, c := range []struct{ kind, value, en, de string }{
		{"date", "2026-12-03", "Thu 3 Dec 2026", "Do 3. Dez. 2026"},
		{"date", "2028-02-29", "Tue 29 Feb 2028", "Di 29. Feb. 2028"},
		{"date", "2026-05-03", "Sun 3 May 2026", "So 3. Mai 2026"},
		{"date", "2026-02-29", "", ""},
		{"date", "", "", ""},
		{"date", "03/12/2026", "", ""},
		{"time", "08:05", "8:05", "8:05"},
		{"time", "00:00", "0:00", "0:00"},
		{"time", "17:30", "17:30", "17:30"},
		{"time", "5:30 PM", "", ""},
	} {
		assert.Equal(t, c.en, english.Understood(c.kind, c.value), "%s %q", c.kind, c.value)
		assert.Equal(t, c.de, german.Understood(c.kind, c.value), "%s %q", c.kind, c.value)
	}
}
