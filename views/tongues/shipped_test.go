package tongues

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	_ "faceside/models/testrig/sameseed"

	"github.com/goccy/go-yaml"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestShippedTextsAreSaid(t *testing.T) {
	c, err := Load()
	require.NoError(t, err)
	de := c.In("de")
	for english, german := range map[string]string{
		"Plane to 22 mm: leg × 4":                                                      "Auf 22 mm hobeln: Bein × 4",
		"Joint one face: post and foot and cap of the table × 2":                       "Eine Fläche abrichten: Pfosten und Fuß und Kappe (Tisch) × 2",
		"Cut to rough length: leg × 4, long rail × 2 and post":                         "Auf Rohlänge ablängen: Bein × 4, lange Zarge × 2 und Pfosten",
		"Mark out the joints from the face side: foot and cap of the left trestle × 2": "Verbindungen von der Bezugsseite anreißen: Fuß und Kappe (linker Bock) × 2",
		"Board of the levels of the carcase":                                           "Brett (Böden, Korpus)",
		`bit brad point 5/16" depth 5/8"`:                                              `Holzbohrer 5/16" Tiefe 5/8"`,
		`"7x mm" is not a length: x is not a unit it knows (mm, cm, m, in, ft)`:        "„7x mm“ ist keine Länge: x ist keine bekannte Einheit (mm, cm, m, in, ft)",
		`Length: "leg" is not a number`:                                                "Länge: „leg“ ist keine Zahl",
		"Length is 12.5 mm; it must lie between 300 mm and 2000.5 mm":                  "Länge: 12,5 mm liegt nicht zwischen 300 mm und 2000,5 mm",
		`Table saw: grooving set-up 3/4" wide, 1/4" high, stop on the mitre gauge`:     `Tischkreissäge: Nutwerkzeug 3/4" breit, 1/4" hoch, Anschlag am Queranschlag`,
		"20.5 °C":                   "20,5 °C",
		"Sand the left door to 180": "Bis 180 schleifen: linke Tür",
		"Levels of the carcase":     "Böden (Korpus)",
		"Thickness of the top is 5 mm; it must lie between 18 mm and 45 mm": "Dicke der Platte: 5 mm liegt nicht zwischen 18 mm und 45 mm",
		"fence 103 mm":               "Anschlag 103 mm",
		"Front to back. Square.":     "Von vorn nach hinten. Quadratisch.",
		"A step that a person typed": "A step that a person typed",
		"Ana":                        "Ana",
		"":                           "",
	} {
		assert.Equal(t, german, de.Shipped(english))
		assert.Equal(t, english, c.In("en").Shipped(english))
	}
}

// What a person typed is taken apart without end or fright, however odd it is.
func TestAnyTextIsSaid(t *testing.T) {
	c, err := Load()
	require.NoError(t, err)
	de := c.In("de")
	rapid.Check(t, func(t *rapid.T) {
		parts := rapid.SliceOfN(rapid.SampledFrom([]string{" and ", ", ", " × 2", "leg", "Sand the ", "of the ", "foot", ". ", "post of the ", "é", "{here}", "%s", " "}), 0, 14).Draw(t, "parts")
		text := strings.Join(parts, "")
		assert.Equal(t, de.Shipped(text), de.Shipped(text))
	})
}

// shownFields are those of the data files whose texts a screen shows.
var shownFields = map[string]bool{"name": true, "says": true, "say": true, "title": true, "blurb": true, "help": true, "note": true, "state": true, "caution": true}

// Every text that is shipped as data and shown has its German.
func TestEveryShippedTextIsKnown(t *testing.T) {
	s, err := readShipped("de")
	require.NoError(t, err)
	files, err := filepath.Glob("../../seed/*.yaml")
	require.NoError(t, err)
	patterns, err := filepath.Glob("../../seed/patterns/*.yaml")
	require.NoError(t, err)
	require.NotEmpty(t, patterns)
	for _, name := range append(files, patterns...) {
		text, err := os.ReadFile(name)
		require.NoError(t, err)
		var data any
		require.NoError(t, yaml.Unmarshal(text, &data), name)
		eachShown(data, func(field, text string) {
			if strings.HasPrefix(text, "{") && strings.Contains(text, "?") || !hasWords(blankOfForm.ReplaceAllString(text, "")) {
				return // a formula, or a blank alone
			}
			_, known := s.find(blankOfForm.ReplaceAllString(text, "5"), 0)
			assert.True(t, known, "%s, %s: %q is not in shipped/de.yaml", filepath.Base(name), field, text)
		})
	}
}

func eachShown(data any, tell func(field, text string)) {
	switch data := data.(type) {
	case map[string]any:
		for key, value := range data {
			if text, ok := value.(string); ok && shownFields[key] {
				tell(key, text)
				continue
			}
			if cautions, ok := value.(map[string]any); ok && key == "cautions" {
				for _, text := range cautions {
					tell(key, text.(string))
				}
				continue
			}
			eachShown(value, tell)
		}
	case []any:
		for _, value := range data {
			eachShown(value, tell)
		}
	}
}

func TestLengthsInTextsOfTheShippedDataHaveTheDecimalComma(t *testing.T) {
	catalogue, err := Load()
	require.NoError(t, err)
	assert.Equal(t, "Auf 22,2 mm hobeln: Platte", catalogue.In("de").Shipped("Plane to 22.2 mm: top"))
	assert.Equal(t, "Auf 558,8 mm × 914,4 mm besäumen: Platte", catalogue.In("de").Shipped("Trim to 558.8 mm by 914.4 mm: top"))
	assert.Equal(t, "Plane to 22.2 mm: top", catalogue.In("en").Shipped("Plane to 22.2 mm: top"))
}
