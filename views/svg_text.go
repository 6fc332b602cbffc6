package views

import (
	"strings"
	"unicode"
)

// SVG does not break or cut lines, so the drawings do, by an estimate of how
// wide a system sans-serif sets each letter. It errs to the wide side.

// textWidth estimates the width of s in pixels, set at a size in pixels.
func textWidth(s string, size int) int {
	thousandths := 0
	for _, r := range s {
		thousandths += letterWidth(r)
	}
	return (thousandths*size + 999) / 1000
}

// letterWidth is in thousandths of the size. Figures for Latin letters are the
// rounded-up widths of the common system faces (common practice, no source).
func letterWidth(r rune) int {
	switch {
	case unicode.Is(unicode.Mn, r) || unicode.Is(unicode.Cf, r):
		return 0
	case strings.ContainsRune("iljI.,:;'|!·", r):
		return 300
	case strings.ContainsRune("ftr()[]/- \"+", r):
		return 380
	case strings.ContainsRune("mwMW@%–—…", r):
		return 920
	case r >= 0x1100: // scripts set in full squares, and emoji
		return 1050
	case unicode.IsUpper(r):
		return 700
	}
	return 560
}

// fit cuts s to a width, with an ellipsis where something was cut; "" when not
// even two letters fit.
func fit(s string, size, width int) string {
	if textWidth(s, size) <= width {
		return s
	}
	room := width - textWidth("…", size)
	used, kept := 0, 0
	for i, r := range s {
		w := letterWidth(r) * size
		if used+w > room*1000 {
			kept = i
			break
		}
		used += w
	}
	cut := strings.TrimRight(s[:kept], " ,·-")
	if len([]rune(cut)) < 2 {
		return ""
	}
	return cut + "…"
}

// wrap breaks s at spaces into at most so many lines of a width; what is left
// over is cut from the last.
func wrap(s string, size, width, lines int) []string {
	var out []string
	rest := strings.Fields(s)
	for len(rest) > 0 && len(out) < lines {
		if len(out) == lines-1 {
			rest, out = nil, append(out, strings.Join(rest, " "))
			break
		}
		n := 1
		for n < len(rest) && textWidth(strings.Join(rest[:n+1], " "), size) <= width {
			n++
		}
		out, rest = append(out, strings.Join(rest[:n], " ")), rest[n:]
	}
	kept := out[:0]
	for _, line := range out {
		if line = fit(line, size, width); line != "" {
			kept = append(kept, line)
		}
	}
	return kept
}
