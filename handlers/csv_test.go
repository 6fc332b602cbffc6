package handlers

import (
	"encoding/csv"
	"fmt"
	"mime"
	"net/http"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"faceside/models"
	"faceside/models/testrig"
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
		form := csvForm{comma: rapid.SampledFrom([]rune{',', ';'}).Draw(t, "comma"), mark: rapid.Bool().Draw(t, "mark"), decimal: ".", time: time.RFC3339, zone: time.UTC}
		table := csvTable{name: "table", columns: []string{"a", "b"}}
		for range rapid.IntRange(0, 5).Draw(t, "rows") {
			table.rows = append(table.rows, []any{text.Draw(t, "text"), rapid.IntRange(0, 1<<40).Draw(t, "number")})
		}
		out, err := form.write(table)
		if err != nil {
			t.Fatal(err)
		}
		read := csv.NewReader(strings.NewReader(strings.TrimPrefix(string(out), "\uFEFF")))
		read.Comma = form.comma
		rows, err := read.ReadAll()
		if err != nil || len(rows) != len(table.rows)+1 {
			t.Fatalf("%d rows of %d (%v): %q", len(rows), len(table.rows)+1, err, out)
		}
		for i, row := range table.rows {
			cell := rows[i+1][0]
			if cell != "" && strings.ContainsAny(cell[:1], "=+-@\t\n") {
				t.Fatalf("a formula: %q", cell)
			}
			want := strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(row[0].(string))
			if got := plainAgain(cell); got != want || rows[i+1][1] != fmt.Sprint(row[1]) {
				t.Fatalf("%q came back as %q", want, got)
			}
		}
	})
}

// table reads the rows of a table by the names of its columns.
func (t *browser) table(path string, comma rune) []map[string]string {
	t.Helper()
	p := t.get(path)
	require.Equal(t, http.StatusOK, p.status, p.body)
	require.Equal(t, "text/csv; charset=utf-8; header=present", p.header.Get("Content-Type"))
	read := csv.NewReader(strings.NewReader(strings.TrimPrefix(p.body, "\uFEFF")))
	read.Comma = comma
	rows, err := read.ReadAll()
	require.NoError(t, err)
	var all []map[string]string
	for _, row := range rows[1:] {
		named := map[string]string{}
		for i, name := range rows[0] {
			named[name] = row[i]
		}
		all = append(all, named)
	}
	return all
}

func TestPartsAsATable(t *testing.T) {
	r := newRig(t)
	com := r.take("=Regal; Äpfel")
	r.plan()
	tab := r.browser()
	snap := testrig.Snapshot(t, r.store)
	rows := tab.table("/commissions/1/parts.csv", ',')
	require.Len(t, rows, len(snap.Parts))
	for i, p := range snap.Parts {
		row := rows[i]
		assert.Equal(t, "=Regal; Äpfel", plainAgain(row["commission"]))
		assert.Equal(t, fmt.Sprint(p.ID, " ", p.Name, " ", p.Quantity, " ", p.Species), row["part_id"]+" "+row["part"]+" "+row["quantity"]+" "+row["species"])
		for column, l := range map[string]models.ID{"length_mm": int64(p.Length), "width_mm": int64(p.Width), "rough_thickness_mm": int64(p.RoughThickness)} {
			mm, err := strconv.ParseFloat(row[column], 64)
			require.NoError(t, err)
			assert.Equal(t, l, int64(mm*1e6+.5), column)
		}
	}
	header := tab.get("/commissions/1/parts.csv").header
	_, params, err := mime.ParseMediaType(header.Get("Content-Disposition"))
	require.NoError(t, err)
	assert.Equal(t, "regal-pfel-parts.csv", params["filename"])
	assert.Equal(t, http.StatusNotFound, tab.get("/commissions/99/parts.csv").status)

	com.State = models.Dropped
	require.NoError(t, r.store.SaveCommission(r.Context(), *com))
	assert.Len(t, tab.table("/commissions/1/parts.csv", ','), len(snap.Parts), "of a closed commission too")
	assert.Empty(t, tab.table("/commissions/1/plan.csv", ','), "which is not planned")
}

func TestThePlanAsATable(t *testing.T) {
	r := newRig(t)
	r.take("Regal")
	r.take("Tisch")
	r.plan()
	tab := r.as("Ana")
	tab.tap(models.TapStart, r.step("joint"))
	tab.tap(models.TapFinish, r.step("joint"))
	snap := testrig.Snapshot(t, r.store)
	rows := tab.table("/plan.csv", ',')
	require.Len(t, rows, len(snap.Steps)-1, "what is done is no plan any more")
	last := ""
	for _, row := range rows {
		id, err := strconv.ParseInt(row["step_id"], 10, 64)
		require.NoError(t, err)
		st := snap.Step(id)
		assert.Equal(t, st.Name+" "+snap.Station(st.StationID).Name, row["step"]+" "+row["station"])
		start, err := time.Parse(time.RFC3339, row["start"])
		require.NoError(t, err)
		assert.False(t, start.Before(snap.At), "not in the past: %s", start)
		assert.LessOrEqual(t, last, row["setup_start"], "in the order of time")
		last = row["setup_start"]
		assert.Contains(t, []string{"Ana", "Ben", "Ana; Ben"}, row["people"])
	}
	assert.Len(t, tab.table("/commissions/2/plan.csv", ','), 10)

	for _, tt := range []struct {
		language string
		comma    rune
	}{{"en", ','}, {"de", ';'}} {
		language := tt.language
		if language == "de" {
			r.german()
		}
		p := tab.get("/plan.csv?for=spreadsheet")
		assert.True(t, strings.HasPrefix(p.body, "\uFEFFstep_id"+string(tt.comma)), language)
		row := tab.table("/plan.csv?for=spreadsheet", tt.comma)[0]
		assert.Regexp(t, `^2026-03-02 \d\d:\d\d$`, row["start"], language)
	}
	assert.Equal(t, "22,5", csvForm{decimal: ","}.cell(22.5))
	p := tab.get("/plan.csv?for=paper")
	assert.Equal(t, http.StatusUnprocessableEntity, p.status)
	assert.Contains(t, p.text("main"), `for: "paper" ist nicht bekannt`)
}
