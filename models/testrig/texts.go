package testrig

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"faceside/models"
	"faceside/models/wood"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"
)

// HostileTexts are what somebody could type so that a page becomes another one: where it
// runs as script it sets window.hostile.
func HostileTexts() []string {
	const run = "window.hostile=1"
	return []string{
		`<script>` + run + `</script>}</style><style>*{display:none}</style>`,
		`"><img src=x onerror=` + run + `>]]><hostile-element xlink:href="javascript:` + run + `"/>`,
		`' onmouseover='` + run + `' autofocus onfocus='` + run + `' x='`,
		`</title></textarea></style></script></template></svg><svg onload=` + run + `>`,
		`javascript:` + run,
		`data:text/html,<script>` + run + `</script>`,
		`"style="background:url(javascript:` + run + `)"`,
		`{{.}}{{template "x"}}${` + run + `}<%= 7*7 %>#{7*7}&lt;script&gt;` + run + `&#60;script&#62;`,
		`<!--<hostile-element hx-get="/shop" hx-trigger="load" hx-on:click="` + run + `">-->`,
		"\u202egnirts desrever\u202c <b>\u2066x\u2069 عربي עברית 👩‍🔧🪚 Z͑ͫ̓ͪ̂ͫA\u200b\ufeff\u2028\u2029<u>",
		strings.Repeat("W", 90) + `'; DROP TABLE steps; --`,
		`=HYPERLINK("http://evil.example","x")`,
	}
}

// PlainTexts are as many that mean no harm.
func PlainTexts() []string {
	texts := make([]string, len(HostileTexts()))
	for i := range texts {
		texts[i] = fmt.Sprintf("Plain & simple %d", i+1)
	}
	return texts
}

// Written fills a shop with records of every kind, with each of the texts in every field
// of each kind.
func Written(t testing.TB, store *models.Store, texts []string) {
	t.Helper()
	ctx := context.Background()
	shop := Snapshot(t, store).Shop
	shop.Name = texts[0]
	require.NoError(t, store.SaveShop(ctx, shop))
	for i, text := range texts {
		writeShop(t, store, i, text)
		com := writeCommission(t, store, i, text)
		writeTaps(t, store, com, text)
	}
}

// writeShop adds what the Shop and Stock screens list.
func writeShop(t testing.TB, store *models.Store, i int, text string) {
	t.Helper()
	ctx := context.Background()
	key, mm := fmt.Sprintf("written-%d", i), wood.Millimetre
	person, err := store.SavePerson(ctx, models.Person{Name: text, Active: true})
	require.NoError(t, err)
	zone, err := store.SaveZone(ctx, models.Zone{Key: key, Name: text})
	require.NoError(t, err)
	_, err = store.SaveStation(ctx, models.Station{Key: key, Name: text, Kind: "bench", Places: 1, ZoneID: &zone.ID, Caution: text})
	require.NoError(t, err)
	_, err = store.SaveClampClass(ctx, models.ClampClass{Key: key, Name: text, Reach: 300 * mm, Count: 1})
	require.NoError(t, err)
	_, err = store.SaveGlue(ctx, models.Glue{Key: key, Name: text, OpenMin: 8, ClampMin: 45, CureMin: 1440, LeastTempC: 10, Caution: text})
	require.NoError(t, err)
	_, err = store.SaveFinish(ctx, models.Finish{Key: key, Name: text, DryMin: 60, RecoatLeastMin: 60, CureMin: 1440, LeastTempC: 10, Caution: text})
	require.NoError(t, err)
	_, err = store.SaveDayOff(ctx, models.DayOff{Date: fmt.Sprintf("2026-04-%02d", i+1), PersonID: &person.ID, Reason: text})
	require.NoError(t, err)
	require.NoError(t, store.SaveTablet(ctx, models.Tablet{ID: uuid.NewString(), Name: text, PersonID: &person.ID}))
	board, err := store.SaveBoard(ctx, models.Board{Species: "ash", Quarter: "4/4", Thickness: 27 * mm, Length: 2000 * mm, Width: 200 * mm, Count: 1, Log: text, InLog: i + 1, Note: text})
	require.NoError(t, err)
	_, err = store.MarkDefect(ctx, models.BoardDefect{BoardID: board.ID, X: 10 * mm, Y: 10 * mm, Length: 30 * mm, Width: 30 * mm, Note: text})
	require.NoError(t, err)
}

// writeCommission takes one whose every name and note is the text.
func writeCommission(t testing.TB, store *models.Store, i int, text string) *models.Commission {
	t.Helper()
	n := NewCommission(t, store, text, fmt.Sprintf("2026-05-%02d", i+1))
	n.Client, n.Note = text, text
	piece := &n.Pieces[0]
	piece.Name = text
	piece.Measures, piece.Choices = map[string]string{"width": text}, map[string]string{"species": text}
	for i := range piece.Parts {
		piece.Parts[i].Name, piece.Parts[i].Note = text, text
	}
	for i := range piece.Assemblies {
		piece.Assemblies[i].Name = text
	}
	for i := range piece.Links {
		piece.Links[i].Why = text
	}
	for i := range piece.Steps {
		s := &piece.Steps[i]
		s.Name, s.Verb, s.Note, s.SetTo, s.Cautions = text, text, text, text, []string{text}
		if s.Setup != nil {
			s.Setup = &models.Setup{Family: text, State: text, Instruction: text}
		}
	}
	com, err := store.TakeCommission(context.Background(), n)
	require.NoError(t, err)
	return com
}

// writeTaps has the first step begun, put down, in trouble, with a note, each with the text.
func writeTaps(t testing.TB, store *models.Store, com *models.Commission, text string) {
	t.Helper()
	ctx, snap := context.Background(), Snapshot(t, store)
	who := Person(t, snap, text)
	for i := range snap.Steps {
		st := &snap.Steps[i]
		if st.CommissionID != com.ID || st.Key != "joint" {
			continue
		}
		for _, kind := range []models.TapKind{models.TapStart, models.TapPutDown, models.TapTrouble} {
			_, err := store.Tap(ctx, models.TapRequest{ID: uuid.NewString(), Kind: kind, StepID: st.ID, PersonID: who, Tablet: uuid.NewString(), Note: text})
			require.NoError(t, err)
		}
		require.NoError(t, store.AddNote(ctx, models.StepNote{ID: uuid.NewString(), StepID: st.ID, PersonID: who, Text: text}, nil))
	}
}
