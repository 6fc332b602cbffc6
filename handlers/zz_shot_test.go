package handlers

import (
	"os"
	"strings"
	"testing"
	"time"

	"faceside/models"
)

func TestZZShot(t *testing.T) {
	out := os.Getenv("UI2_SHOT")
	if out == "" {
		t.Skip()
	}
	r := newRig(t)
	a := r.take("Hall shelf")
	_ = a
	r.plan()
	ana := r.as("Ana")
	for _, k := range []string{"joint", "plane"} {
		ana.tap(models.TapStart, r.step(k))
		r.clock.Step(25 * time.Minute)
		ana.tap(models.TapFinish, r.step(k))
	}
	r.take("Bedside cabinet for the loft")
	r.take("Wall shelf")
	r.plan()
	ana.tap(models.TapStart, r.step("plane-rails"))
	r.clock.Step(12 * time.Minute)
	r.plan()
	for _, q := range []string{"", "?days=1", "?days=10", "?from=x"} {
		p := ana.get("/week" + q)
		body := strings.NewReplacer("/static/app.css", "/work/main/static/app.css", "/static/drawings.css", "/work/main/static/drawings.css").Replace(p.body)
		name := strings.NewReplacer("?", "-", "=", "").Replace(q)
		os.WriteFile(out+name+".html", []byte(body), 0o644)
		t.Log(q, p.status, len(p.body))
	}
}
