package pattern

import (
	"slices"
	"strings"
)

// write is the section "changes" of a pattern file; nothing where there are none.
func (c *Changes) write() string {
	if c.None() {
		return ""
	}
	var b strings.Builder
	b.WriteString("changes: # made by hand in the order of work that the rest of this file makes\n")
	for _, s := range c.sections {
		b.WriteString("  " + s.name + ":\n")
		for _, e := range s.entries {
			for i, f := range e.fields {
				lead := "      "
				if i == 0 {
					lead = "    - "
				}
				if f.name != "" {
					lead += f.name + ": "
				}
				b.WriteString(lead + f.text + "\n")
			}
		}
	}
	return b.String()
}

// withChanges puts changes into the text of a pattern file, in the place of those
// that it has.
func withChanges(source []byte, c *Changes) []byte {
	lines := strings.SplitAfter(string(source), "\n")
	start := slices.IndexFunc(lines, func(line string) bool { return strings.HasPrefix(line, "changes:") })
	if start >= 0 {
		end := start + 1
		for i := end; i < len(lines) && (lines[i] == "" || strings.ContainsAny(lines[i][:1], " \t\r\n#")); i++ {
			if lines[i] != "" && strings.ContainsAny(lines[i][:1], " \t") && strings.TrimSpace(lines[i]) != "" {
				end = i + 1
			}
		}
		lines = slices.Delete(lines, start, end)
	}
	text := strings.Join(lines, "")
	if written := c.write(); written != "" {
		if !strings.HasSuffix(text, "\n") {
			text += "\n"
		}
		text += written
	}
	return []byte(text)
}
