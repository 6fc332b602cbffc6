package phrase

import (
	"encoding/json"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestListsAreSaid(t *testing.T) {
	for n, want := range []string{"", "a", "a and b", "a, b and c", "a, b, c and d"} {
		assert.Equal(t, want, List([]string{"a", "b", "c", "d"}[:n]).String())
	}
	assert.Equal(t, "a, b", Commas([]Phrase{Name("a"), Name("b")}).String())
	assert.Equal(t, "One. Two.", Name("One.").Then(Name("Two.")).String())
	assert.Equal(t, "One.", Phrase{}.Then(Name("One.")).Then(Phrase{}).String())
}

func TestDatesAreSaid(t *testing.T) {
	at := time.Date(2026, 5, 3, 8, 5, 0, 0, time.UTC)
	assert.Equal(t, "Sunday 3 May", Date(at).String())
	assert.Equal(t, "Sun 3 May", ShortDate(at).String())
	assert.Equal(t, "8:05", Clock(at))
}

// What is stored is said again as it was, whatever fills its blanks.
func TestAPhraseIsStoredAndReadBack(t *testing.T) {
	p := Of("%s takes %d of %s, %g °C", Name("100 %"), 3, Of("%s and %s", "a", "b"), 21.5)
	text, err := json.Marshal([]Phrase{p, Of("nothing open")})
	require.NoError(t, err)
	var back []Phrase
	require.NoError(t, json.Unmarshal(text, &back))
	assert.Equal(t, []Phrase{p, Of("nothing open")}, back)
	assert.Equal(t, "100 % takes 3 of a and b, 21.5 °C", back[0].String())
	assert.Error(t, json.Unmarshal([]byte(`{"say": 7}`), &p))
	assert.Error(t, json.Unmarshal([]byte(`{"say": "%s", "with": [{"say": 7}]}`), &p))
}

func TestWhatAPersonTypedIsKnown(t *testing.T) {
	for _, row := range []struct {
		format   string
		verbatim []int
	}{
		{"%s is %q", []int{1}}, {"%[2]q of %[1]s", []int{1}}, {"%q and %d %% %q", []int{0, 2}}, {"quite %s", nil}, {"%[2]s %q", []int{2}},
	} {
		var got []int
		for i := range 3 {
			if Verbatim(row.format, i) {
				got = append(got, i)
			}
		}
		assert.Equal(t, row.verbatim, got, row.format)
	}
}
