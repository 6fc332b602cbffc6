package tongues

import (
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models/phrase"
)

func read(t *testing.T, text string) (*Catalogue, error) {
	t.Helper()
	return Read(fstest.MapFS{"a.yaml": {Data: []byte(text)}})
}

func TestSpeakersFillTheBlanksInTheirLanguage(t *testing.T) {
	c, err := read(t, `
"%d steps":
  en: {one: "%d step", other: "%d steps"}
  de: {one: "%d Schritt", other: "%d Schritte"}
"%s before %s": "vor %[2]s kommt %[1]s"
"Open ## a commission": Offen
`)
	require.NoError(t, err)
	en, de := c.In("en"), c.In("de")
	for _, row := range []struct {
		key            string
		args           []any
		english, other string
	}{
		{"%d steps", []any{1}, "1 step", "1 Schritt"},
		{"%d steps", []any{2}, "2 steps", "2 Schritte"},
		{"%s before %s", []any{"A", "B"}, "A before B", "vor B kommt A"},
		{"%s before %s", []any{phrase.Of("%d steps", 1), phrase.Name("100 %")}, "1 step before 100 %", "vor 100 % kommt 1 Schritt"},
		{"Open ## a commission", nil, "Open", "Offen"},
		{"not there: %s", []any{"x"}, "not there: x", "not there: x"},
		{"%.1f h", []any{1.5}, "1.5 h", "1,5 h"},
		{"no. %d", []any{int64(1234)}, "no. 1234", "no. 1234"},
		{"no. %d", []any{int64(-1234567)}, "no. -1234567", "no. -1234567"},
		{"%d steps", []any{12345}, "12,345 steps", "12.345 Schritte"},
		{"%d steps", []any{int64(1)}, "1 step", "1 Schritt"},
		{"Until %s.", []any{"28. Nov."}, "Until 28. Nov.", "Until 28. Nov."},
		{"Until %s. Then %s.", []any{phrase.Name("28. Nov."), "a/../b"}, "Until 28. Nov. Then a/../b.", "Until 28. Nov. Then a/../b."},
		{"", nil, "", ""},
	} {
		assert.Equal(t, row.english, en.Say(row.key, row.args...))
		assert.Equal(t, row.other, de.Say(row.key, row.args...))
		assert.Equal(t, row.other, de.Phrase(phrase.Of(row.key, row.args...)))
	}
	assert.Equal(t, "1 step", c.In("not a language").Say("%d steps", 1))
}

// A phrase is said again in another language: its blanks stay phrases.
func TestSayingAPhraseLeavesItAsItIs(t *testing.T) {
	c, err := read(t, `"inner": innen`+"\n"+`"<%s>": "[%s]"`)
	require.NoError(t, err)
	p := phrase.Of("<%s>", phrase.Of("inner"))
	assert.Equal(t, "[innen]", c.In("de").Phrase(p))
	assert.Equal(t, "<inner>", c.In("en").Phrase(p))
	assert.Equal(t, "<inner>", p.String())
}

func TestABadCatalogueIsRefused(t *testing.T) {
	for text, want := range map[string]string{
		`"a": 7`:                    "neither a text",
		`"a": {fr: b}`:              `no language is called "fr"`,
		`"a": {de: {one: b}}`:       "wants one and other",
		`"a": {de: [b]}`:            "neither a text",
		"\"a\": b\n\"a\": c":        "a.yaml",
		`"a": {de: {one: b, x: c}}`: "wants one and other",
	} {
		_, err := read(t, text)
		assert.ErrorContains(t, err, want, text)
	}
	_, err := Read(fstest.MapFS{"a.yaml": {Data: []byte(`"k": b`)}, "b.yaml": {Data: []byte(`"k": b`)}})
	assert.ErrorContains(t, err, "twice")
}
