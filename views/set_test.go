package views

import (
	"html/template"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/views/tongues"
)

// Every screen is drawn from nothing at all: a shop on its first day.
func TestEveryScreenIsDrawnFromNothing(t *testing.T) {
	all, err := Load()
	require.NoError(t, err)
	for _, l := range tongues.Languages() {
		t.Run(l.Name, func(t *testing.T) { drawnFromNothing(t, all.In(l.Code)) })
	}
}

func drawnFromNothing(t *testing.T, set *Screens) {
	page := Page{Title: "T", Shop: "S", Scripts: true, Asset: func(name string) string { return "/static/" + name }}
	bare := Bare{Title: "T", Asset: page.Asset}
	for screen, data := range map[string]any{
		"bench": Bench{}, "gates": Gates{}, "step": Step{}, "trouble": Trouble{}, "commissions": Commissions{}, "commission": Commission{},
		"patterns": Patterns{}, "draft": Draft{}, "shop": Shop{}, "week": Week{}, "problem": Problem{},
		"edit": Edit{}, "edit-step": EditStep{}, "edit-add": EditAdd{}, "pattern-own": OwnPatterns{}, "pattern-keep": KeepPattern{},
		"stock": Stock{}, "stock-board": Board{}, "stock-cutlist": CutList{}, "stock-buy": ToBuy{}, "stock-cuts": Cuts{}, "stock-runs": Runs{},
		"stock-cutting": Cutting{}, "stations": Stations{}, "station": Station{}, "times": Times{},
		"trouble-told": TroubleTold{}, "note": Note{},
		"what-if": WhatIf{}, "steered": Steered{}, "helps": Helps{}, "sheet": Sheets{}, "traveller": Traveller{},
		"sign-in": SignIn{}, "sign-in-planner": PlannerSignIn{}, "pin": PINPad{}, "enrol": Enrol{}, "own-pin": OwnPIN{}, "access": Access{},
		"arrive": Arrive{Bare: bare}, "trust": Trust{Bare: bare},
	} {
		page.Screen, page.Data = screen, data
		out, err := set.Page(screen, page)
		require.NoError(t, err, screen)
		assert.Contains(t, string(out), "</html>", screen)
		assert.NotContains(t, string(out), "ZgotmplZ", "%s: html/template refused a value", screen)
	}
	screens := 0
	for _, t := range set.all.Templates() {
		if strings.HasPrefix(t.Name(), contentOf("")) {
			screens++
		}
	}
	assert.Equal(t, 41, screens, "a screen is not in this test")
}

func TestATemplateIsDefinedOnce(t *testing.T) {
	all := template.New("")
	require.NoError(t, add(all, template.Must(template.New("tick").Parse("x")), "bench"))
	assert.ErrorContains(t, add(all, template.Must(template.New("tick").Parse("y")), "step"), `"tick" is defined twice`)
	require.NoError(t, add(all, template.Must(template.New("content").Parse("x")), "bench"))
	require.NoError(t, add(all, template.Must(template.New("content").Parse("x")), "step"), "each screen has its own")
}

func TestWhatIsNoScreenIsAnError(t *testing.T) {
	all, err := Load()
	require.NoError(t, err)
	set := all.In(tongues.English)
	_, err = set.Page("moon", Page{})
	assert.ErrorContains(t, err, "moon")
	_, err = set.Fragment("bench", "nothing", nil)
	assert.ErrorContains(t, err, "nothing")
	_, err = set.Page("bench", Page{Asset: func(string) string { return "" }, Data: 7})
	assert.ErrorContains(t, err, "bench", "data of another screen leave no half page")
}

// Text of 7:1 (WCAG 2.2, success criterion 1.4.6) on everything it stands on
// here, edges and marks of 3:1 (1.4.11).
func TestContrastOfTheScreens(t *testing.T) {
	light, dark := colours(t)
	for mode, of := range map[string]map[string]string{"light": light, "dark": dark} {
		for _, p := range [][2]string{
			{"ink", "ground"}, {"muted", "ground"}, {"sign-ink", "sign"}, {"go-ink", "go"}, {"go-ink", "go-edge"},
			{"warn-ink", "warn"}, {"bad-ink", "bad"}, {"good-ink", "good"}, {"wait-ink", "wait"}, {"ink", "warn"}, {"muted", "warn"},
		} {
			assert.GreaterOrEqual(t, contrast(t, of[p[0]], of[p[1]]), 7.0, "%s: text in %s on %s", mode, p[0], p[1])
		}
		for _, p := range [][2]string{
			{"go", "panel"}, {"line-strong", "ground"}, {"warn-edge", "panel"}, {"bad-edge", "bad"}, {"good-edge", "good"}, {"wait-edge", "wait"},
			{"wait-edge", "sunk"}, {"go", "sunk"}, {"focus", "panel"}, {"focus", "ground"}, {"focus", "sunk"}, {"sign-lit", "sign"},
		} {
			assert.GreaterOrEqual(t, contrast(t, of[p[0]], of[p[1]]), 3.0, "%s: %s beside %s", mode, p[0], p[1])
		}
	}
}
