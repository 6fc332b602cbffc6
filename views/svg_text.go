package views

import (
	"slices"
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

// letterWidth is in thousandths of the size, for a half-bold weight of the
// widest of the common system faces (measured by eye; common practice, no source).
func letterWidth(r rune) int {
	switch {
	case unicode.Is(unicode.Mn, r) || unicode.Is(unicode.Cf, r):
		return 0
	case strings.ContainsRune("iljI.,:;'|! ·", r):
		return 380
	case strings.ContainsRune("ftr()[]/-\"+", r):
		return 480
	case strings.ContainsRune("mwMW@%–—…", r):
		return 1000
	case r >= 0x1100: // scripts set in full squares, and emoji
		return 1050
	case unicode.IsUpper(r):
		return 780
	}
	return 670
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
	cut := strings.TrimRight(s[:kept], " ,:·-")
	if len([]rune(cut)) < 2 {
		return ""
	}
	return cut + "…"
}

// wrap breaks s at spaces into lines of the widths given, at most one each, and not
// between a number and what stays with it; what is left over is cut from the last.
func wrap(s string, size int, widths ...int) []string {
	var out []string
	rest := strings.FieldsFunc(string(bind(nil, []byte(s))), func(r rune) bool { return r != '\u00a0' && unicode.IsSpace(r) })
	for i, width := range widths {
		if len(rest) > 0 && textWidth(rest[0], size) > width { // rather a count alone than one that is cut off
			if name, count, counted := strings.Cut(rest[0], "\u00a0×"); counted {
				rest = slices.Replace(rest, 0, 1, name, "×"+count)
			}
		}
		n := min(1, len(rest))
		for n < len(rest) && (i == len(widths)-1 || textWidth(strings.Join(rest[:n+1], " "), size) <= width) {
			n++
		}
		line := fit(strings.Join(rest[:n], " "), size, width)
		if line == "" {
			break
		}
		out, rest = append(out, line), rest[n:]
	}
	return out
}
