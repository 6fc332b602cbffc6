package handlers

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"testing"

	"github.com/stretchr/testify/require"

	"faceside/models/testrig"
)

// BenchmarkBench draws one person's bench in a shop with 300 open steps of 30
// commissions and a plan for them.
func BenchmarkBench(b *testing.B) { benchmarkPage(b, "/", "en") }

// BenchmarkBenchInGerman draws it in the other language: every text of the records
// is looked up.
func BenchmarkBenchInGerman(b *testing.B) { benchmarkPage(b, "/", "de") }

// BenchmarkCommissions lists 30 commissions with their forecasts.
func BenchmarkCommissions(b *testing.B) { benchmarkPage(b, "/commissions", "en") }

func benchmarkPage(b *testing.B, path, language string) {
	store := testrig.Shop(b, testrig.Monday())
	shop := testrig.Snapshot(b, store).Shop
	shop.Language = language
	require.NoError(b, store.SaveShop(b.Context(), shop))
	cfg := config(b, store)
	handler, err := New(cfg)
	require.NoError(b, err)
	for i := range 30 {
		testrig.Commission(b, store, fmt.Sprintf("Shelf %d", i+1), "2026-06-30")
	}
	_, err = cfg.Planner.Plan(b.Context())
	require.NoError(b, err)
	req := httptest.NewRequest(http.MethodGet, path, nil)
	req.AddCookie(&http.Cookie{Name: personCookie, Value: "1"})
	b.ReportAllocs()
	for b.Loop() {
		w := httptest.NewRecorder()
		handler.ServeHTTP(w, req)
		require.Equal(b, http.StatusOK, w.Code)
	}
}
