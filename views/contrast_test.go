package views

import (
	"fmt"
	"maps"
	"math"
	"os"
	"regexp"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// colours reads the named colours of the style sheets, by light and by dark.
func colours(t *testing.T) (light, dark map[string]string) {
	t.Helper()
	light, dark = map[string]string{}, map[string]string{}
	for _, name := range []string{"../static/app.css", "../static/drawings.css"} {
		css, err := os.ReadFile(name)
		require.NoError(t, err)
		named := regexp.MustCompile(`--([\w-]+):\s*(#[0-9a-f]{6})`)
		read := func(blocks string, into map[string]string) {
			for _, block := range regexp.MustCompile(blocks).FindAllSubmatch(css, -1) {
				for _, c := range named.FindAllSubmatch(block[1], -1) {
					into[string(c[1])] = string(c[2])
				}
			}
		}
		read(`(?s)(?:^|\n):root \{(.*?)\n\}`, light)
		read(`(?s)prefers-color-scheme: dark\) \{\s*:root \{(.*?)\}`, dark)
	}
	both := maps.Clone(light)
	maps.Copy(both, dark)
	return light, both
}

// contrast is the contrast ratio of WCAG 2.2 (W3C Recommendation, 2023,
// definitions of "contrast ratio" and "relative luminance").
func contrast(t *testing.T, a, b string) float64 {
	t.Helper()
	x, y := luminance(t, a), luminance(t, b)
	return (max(x, y) + 0.05) / (min(x, y) + 0.05)
}

func luminance(t *testing.T, colour string) float64 {
	t.Helper()
	require.Len(t, colour, 7, "a colour is missing")
	sum := 0.0
	for i, weight := range []float64{0.2126, 0.7152, 0.0722} {
		n, err := strconv.ParseUint(colour[1+2*i:3+2*i], 16, 8)
		require.NoError(t, err)
		c := float64(n) / 255
		if c <= 0.04045 {
			c /= 12.92
		} else {
			c = math.Pow((c+0.055)/1.055, 2.4)
		}
		sum += weight * c
	}
	return sum
}

func TestContrast(t *testing.T) {
	assert.InDelta(t, 21, contrast(t, "#000000", "#ffffff"), 0.001, "the standard's own extreme")
	light, dark := colours(t)
	for mode, of := range map[string]map[string]string{"light": light, "dark": dark} {
		text := [][2]string{{"ink", "panel"}, {"ink", "sunk"}, {"ink", "good"}, {"ink", "wait"}, {"ink", "bad"},
			{"panel", "ink"}, {"panel", "bad-ink"}, {"ink", "wood"}, {"muted", "panel"}, {"muted", "sunk"}}
		shapes := [][2]string{{"line-strong", "panel"}, {"line-strong", "sunk"}, {"good-edge", "panel"}, {"wait-edge", "panel"}, {"bad-edge", "panel"}}
		for i := 1; i <= commissionLooks; i++ {
			com := fmt.Sprintf("com-%d", i)
			text = append(text, [2]string{"panel", com}, [2]string{"ink", com + "-soft"})
			shapes = append(shapes, [2]string{com, com + "-soft"}, [2]string{com, "panel"})
		}
		for _, p := range text {
			assert.GreaterOrEqual(t, contrast(t, of[p[0]], of[p[1]]), 7.0, "%s: text in %s on %s", mode, p[0], p[1])
		}
		for _, p := range shapes {
			assert.GreaterOrEqual(t, contrast(t, of[p[0]], of[p[1]]), 3.0, "%s: %s beside %s", mode, p[0], p[1])
		}
	}
}
