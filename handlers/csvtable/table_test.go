package csvtable

import (
	"encoding/csv"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	_ "faceside/models/testrig/sameseed"
)

// plainAgain takes the apostrophes out that harmless put in.
func plainAgain(text string) string {
	var out strings.Builder
	begins, marked := true, false
	for _, c := range text {
		if begins && c == '\'' && !marked {
			marked = true
			continue
		}
		out.WriteRune(c)
		begins, marked = beginsCell(begins, c), false
	}
	return out.String()
}

func TestNoCellIsAFormula(t *testing.T) {
	for text, want := range map[string]string{
		"Tisch":                      "Tisch",
		"":                           "",
		"=1+1":                       "'=1+1",
		"+41 44 000 00 00":           "'+41 44 000 00 00",
		"-2 mm":                      "'-2 mm",
		"@SUM(A1:A2)":                "'@SUM(A1:A2)",
		"\t=1":                       "'\t'=1",
		"\r=1":                       "'\n'=1",
		"\r\nx":                      "'\nx",
		"＝1+1":                       "'＝1+1",
		"x;=1+1":                     "x;'=1+1",
		"x,\"=1+1":                   "x,\"'=1+1",
		"\"=1+1\"":                   "\"'=1+1\"",
		"line\n@x":                   "line\n'@x",
		"2 × 3 - 4":                  "2 × 3 - 4",
		"a=b":                        "a=b",
		"'so'":                       "''so'",
		"'=1":                        "''=1",
		`=cmd|' /C calc'!A0`:         `'=cmd|' /C calc'!A0`,
		`=HYPERLINK("http://x";"y")`: `'=HYPERLINK("http://x";"y")`,
	} {
		got := harmless(text)
		assert.Equal(t, want, got, "%q", text)
		assert.Equal(t, strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(text), plainAgain(got), "%q", text)
	}
}

// What a table holds is read back as it was, whatever somebody typed, in either form.
func TestTablesAreReadBack(t *testing.T) {
	text := rapid.StringOf(rapid.OneOf(rapid.Rune(), rapid.SampledFrom([]rune("=+-@'\",; \t\nä"))))
	rapid.Check(t, func(t *rapid.T) {
		form := Form{Comma: rapid.SampledFrom([]rune{',', ';'}).Draw(t, "comma"), Mark: rapid.Bool().Draw(t, "mark"), Decimal: ".", Time: time.RFC3339, Zone: time.UTC}
		table := Table{Name: "table", Columns: []string{"a", "b"}}
		for range rapid.IntRange(0, 5).Draw(t, "rows") {
			table.Rows = append(table.Rows, []any{text.Draw(t, "text"), rapid.IntRange(0, 1<<40).Draw(t, "number")})
		}
		readBack(t, form, table)
	})
}

func TestNumbersHaveTheDecimalSignOfTheForm(t *testing.T) {
	assert.Equal(t, "22,5", Form{Decimal: ","}.cell(22.5))
	assert.Equal(t, "22.5", Form{Decimal: "."}.cell(22.5))
}

// readBack writes a table, of texts and numbers, and holds it against what is read back.
func readBack(t interface{ Fatalf(string, ...any) }, form Form, table Table) {
	out, err := form.Write(table)
	if err != nil {
		t.Fatalf("%v", err)
	}
	read := csv.NewReader(strings.NewReader(strings.TrimPrefix(string(out), "\uFEFF")))
	read.Comma = form.Comma
	rows, err := read.ReadAll()
	if err != nil || len(rows) != len(table.Rows)+1 {
		t.Fatalf("%d rows of %d (%v): %q", len(rows), len(table.Rows)+1, err, out)
	}
	for i, row := range table.Rows {
		cell := rows[i+1][0]
		if cell != "" && strings.ContainsAny(cell[:1], "=+-@\t\n") {
			t.Fatalf("a formula: %q", cell)
		}
		want := strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(row[0].(string))
		if got := plainAgain(cell); got != want || rows[i+1][1] != fmt.Sprint(row[1]) {
			t.Fatalf("%q came back as %q", want, got)
		}
	}
}

// FuzzTable writes whatever is typed.
func FuzzTable(f *testing.F) {
	for _, text := range []string{"", "Tisch", "=1+1", "x;=1+1", "line\n@x", "\r\n", "\"", "'", "＝1", "\xff\x00", ",\t;"} {
		f.Add(text, "Äpfel", false)
		f.Add("\"", text, true)
	}
	f.Fuzz(func(t *testing.T, one, other string, german bool) {
		form := Form{Comma: ',', Decimal: ".", Time: time.RFC3339, Zone: time.UTC}
		if german {
			form = Form{Comma: ';', Mark: true, Decimal: ",", Time: "2006-01-02 15:04", Zone: time.UTC}
		}
		// What is kept is text: the forms refuse bytes that are none.
		one, other = strings.ToValidUTF8(one, "?"), strings.ToValidUTF8(other, "?")
		readBack(t, form, Table{Name: "table", Columns: []string{"a", "b"}, Rows: [][]any{{one, 1}, {other, 2}}})
	})
}
