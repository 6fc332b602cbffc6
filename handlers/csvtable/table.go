package csvtable

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"strconv"
	"strings"
	"time"
)

// Table is what a program or a spreadsheet reads: its columns have names that stay
// as they are, in every language. A cell is a text, a whole number, a number, or a time.
type Table struct {
	Name    string // of the file, without its ending
	Columns []string
	Rows    [][]any
}

// Form is how a table is written.
type Form struct {
	Comma   rune
	Mark    bool   // a byte order mark, by which a spreadsheet knows UTF-8
	Decimal string // the decimal sign
	Time    string // layout
	Zone    *time.Location
}

// Write writes a table, its lines ended as RFC 4180 has them.
func (f Form) Write(t Table) ([]byte, error) {
	var out bytes.Buffer
	if f.Mark {
		out.WriteString("\uFEFF")
	}
	w := csv.NewWriter(&out)
	w.Comma, w.UseCRLF = f.Comma, true
	if err := w.Write(t.Columns); err != nil {
		return nil, fmt.Errorf("write the columns of %s: %w", t.Name, err)
	}
	for _, row := range t.Rows {
		cells := make([]string, len(row))
		for i, cell := range row {
			cells[i] = f.cell(cell)
		}
		if err := w.Write(cells); err != nil {
			return nil, fmt.Errorf("write a row of %s: %w", t.Name, err)
		}
	}
	w.Flush()
	return out.Bytes(), w.Error()
}

func (f Form) cell(cell any) string {
	switch cell := cell.(type) {
	case string:
		return harmless(cell)
	case float64:
		return strings.Replace(strconv.FormatFloat(cell, 'f', -1, 64), ".", f.Decimal, 1)
	case time.Time:
		return cell.In(f.Zone).Format(f.Time)
	}
	return fmt.Sprint(cell)
}

// risky is what at the beginning of a cell a spreadsheet could take for a formula, by
// OWASP (ASVS 5.0, 1.2.10, and its page on CSV injection), wide forms too, and the
// apostrophe that is put before it.
const risky = "=+-@\t\r\n\x00＝＋－＠'"

// harmless puts an apostrophe before what is risky at the beginning of a text, and
// behind what would begin a new cell where a program separates by something else.
// Whoever takes those apostrophes out again has the text as it was.
func harmless(text string) string {
	var out strings.Builder
	begins := true
	for _, c := range strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(text) {
		if begins && strings.ContainsRune(risky, c) {
			out.WriteByte('\'')
		}
		out.WriteRune(c)
		begins = beginsCell(begins, c)
	}
	return out.String()
}

// beginsCell tells whether a cell could begin after a character.
func beginsCell(begins bool, c rune) bool {
	return strings.ContainsRune(",;\t\n", c) || begins && c == '"'
}
