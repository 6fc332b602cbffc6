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

	"faceside/models"
	"faceside/models/testrig"
)

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
		assert.Equal(t, "'=Regal; Äpfel", row["commission"])
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
	p := tab.get("/plan.csv?for=paper")
	assert.Equal(t, http.StatusUnprocessableEntity, p.status)
	assert.Contains(t, p.text("main"), `for: "paper" ist nicht bekannt`)
}
