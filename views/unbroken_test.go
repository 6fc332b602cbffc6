package views

import (
	"html"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

// _ is where a line must not be broken.
func TestWhatStaysWithANumberIsNotBroken(t *testing.T) {
	for text, want := range map[string]string{
		`Mitre 45° 2 3/8", 7 boards 1/2" wide`:                           `Mitre 45° 2_3/8", 7 boards 1/2" wide`,
		`cut 14 15/16" × 4 3/8" × 1/2"`:                                  `cut 14_15/16" ×_4_3/8" ×_1/2"`,
		"379 × 110,5 × 12 mm":                                            "379 ×_110,5 ×_12_mm",
		"5 × board, 0.43 m² and 3 m³ of oak × 2":                         "5_× board, 0.43_m² and 3_m³ of oak_×_2",
		"level of the carcase × 5, post × 4 and rail (long) × 2":         "level of the carcase_×_5, post_×_4 and rail (long)_×_2",
		"Führung × 2, bench × 3, 40 mm × 5 mm, oak × birch":              "Führung_×_2, bench_×_3, 40_mm ×_5_mm, oak × birch",
		"Seitenwandverkleidung × 2, Seitenverkleidungen × 2, x/y × 3, ×": "Seitenwandverkleidung ×_2, Seitenverkleidungen_×_2, x/y_×_3, ×",
		"about 4 h 10, then 25 min: not below 13 °C.":                    "about 4_h_10, then 25_min: not below 13_°C.",
		"fertig Do 13:20 or by Thu 7:05; prices 12:3, at noon 12:00":     "fertig Do_13:20 or by Thu_7:05; prices 12:3, at noon 12:00",
		"4\u00a0h 10":                       "4_h_10",
		"<%= 7*7 %>, 3 m*2":                 "<%= 7*7 %>, 3 m*2",
		"65,9 % der Bretter":                "65,9_% der Bretter",
		"done Wed 2 Dec 16:50, 24 November": "done Wed 2_Dec 16:50, 24_November",
		"fertig Mi 2. Dez. 16:50":           "fertig Mi 2._Dez. 16:50",
		"2 hands, 3 millings, 13 Schritte":  "2 hands, 3 millings, 13 Schritte",
		"each 2 of 12 steps. 10 h":          "each 2 of 12 steps. 10_h",
	} {
		assert.Equal(t, strings.ReplaceAll(want, "_", "\u00a0"), html.UnescapeString(string(unbroken([]byte(html.EscapeString(text))))))
	}
}

// What is sent back, and what is to be copied, is as it was typed.
func TestFieldsHoldWhatWasTyped(t *testing.T) {
	for _, kept := range []string{
		`<input name="width" value="2 3/8 &gt; 12 mm">`, `<textarea rows="3">2 3/8 by 12 mm</textarea>`, `<code>2 3/8</code>`,
		`<p data-says="25 min">`, `<p unfinished 2 3/8`, ``,
	} {
		assert.Equal(t, kept, string(unbroken([]byte(kept))))
		assert.Equal(t, "<b>12\u00a0mm</b>"+kept, string(unbroken([]byte("<b>12 mm</b>"+kept))))
	}
}

// Nothing but spaces is changed, and what was bound once stays as it is.
func TestUnbrokenChangesSpacesOnly(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		page := rapid.StringOf(rapid.SampledFrom([]rune(`12 /<>"=abh. ×mM%°é`))).Draw(t, "page")
		once := unbroken([]byte(page))
		assert.Equal(t, page, strings.ReplaceAll(string(once), "\u00a0", " "))
		assert.Equal(t, once, unbroken(once))
	})
}

func BenchmarkUnbroken(b *testing.B) {
	page := []byte(strings.Repeat(`<li class="row"><a href="/steps/4">Rip to 2 3/8": level of the carcase × 5</a> <span>about 9 min, Table saw</span></li>`, 2000))
	b.SetBytes(int64(len(page)))
	for b.Loop() {
		unbroken(page)
	}
}
