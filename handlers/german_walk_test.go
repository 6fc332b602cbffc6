package handlers

import (
	"context"
	"net/http"
	"net/url"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
	"faceside/models/testrig"
	"faceside/models/wood"
	"faceside/seed"
	"faceside/views/tongues"
)

// notGerman are marks of another language in what a German screen says. What a person
// types, and the texts of pattern files, are no screen's words.
var notGerman = map[string]*regexp.Regexp{
	"a decimal point":                regexp.MustCompile(`\d\.\d+ ?(mm|cm|m²|m³|kg|h|%|°C|°F|Board)`),
	"a month without its point":      regexp.MustCompile(`\b(Jan|Feb|Apr|Aug|Sept|Okt|Nov|Dez)( |$|,)`),
	"an English month":               regexp.MustCompile(`\b(Mar|May|Oct|Dec)\b`),
	"an English day of the week":     regexp.MustCompile(`\b(Mon|Tue|Wed|Thu|Fri|Sat|Sun|Monday|Tuesday|Wednesday|Thursday|Friday|Saturday|Sunday)\b`),
	"a blank that was not filled":    regexp.MustCompile(`%!|%\[?\d*\]?[sdqvg]\b|\{[a-z_]+\}|<nil>`),
	"an English word":                regexp.MustCompile(`(?i)\b(the|and|with|from|until|before|after|wide|deep|glue|clamps?|coat|shelf|drawer|saw|bench|router|mortise|finish|sand|steps?|days?)\b`),
	"two stops":                      regexp.MustCompile(`\pL\.\.( |$)`),
	"thousands in a record's number": regexp.MustCompile(`(Nr\.|Nummer|Brett|Tipp) \d{1,3}[.,]\d{3}`),
}

// englishMeant are texts of German screens that are no German on purpose: names that the
// demo's people gave, and names of files and addresses.
var englishMeant = regexp.MustCompile(`^(Ninth Plank|Faceside|English.*|.*Europe/Zurich.*|America/New_York)$`)

// demoRig serves the demo shop in German and millimetres.
func demoRig(t *testing.T) *rig {
	t.Helper()
	start, err := seed.DemoStartOn("2026-11-26")
	require.NoError(t, err)
	clock := seed.NewDemoClock(start)
	store, err := models.OpenStore(context.Background(), filepath.Join(t.TempDir(), "shop.db"), clock.Now)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, store.Close()) })
	require.NoError(t, seed.Demo(context.Background(), store, clock, start))
	r := newRig(t, func(cfg *Config) {
		stopping := cfg.Stopping
		*cfg = config(t, store)
		cfg.Stopping = stopping
	})
	r.store, r.planner = store, r.cfg.Planner
	shop := testrig.Snapshot(t, store).Shop
	shop.Language, shop.Units = "de", wood.Millimetres
	require.NoError(t, store.SaveShop(context.Background(), shop))
	r.plan()
	return r
}

// Every screen that a link leads to, in a German shop that was kept in English and inches
// until today, speaks German and writes figures and dates as German does.
func TestEveryScreenOfTheDemoSpeaksGerman(t *testing.T) {
	r := demoRig(t)
	catalogue, err := tongues.Load()
	require.NoError(t, err)
	names := r.givenNames()
	said := map[string]bool{}
	kinds := r.as("Maren").walk("/", func(path string, p page) {
		for _, text := range append(spoken(p), fieldsSpoken(p)...) {
			text = strings.Join(strings.Fields(text), " ")
			if said[text] || englishMeant.MatchString(text) || library(t).Pattern(text) != nil { // a pattern's key
				continue
			}
			said[text] = true
			bare := names.Replace(text)
			for what, mark := range notGerman {
				assert.NotRegexp(t, mark, bare, "%s: %s in %q", path, what, text)
			}
			if german := catalogue.In("de").Shipped(text); german != text && names.Replace(text) == text {
				assert.Fail(t, "shipped text in English", "%s says %q, in German %q", path, text, german)
			}
		}
	})
	assert.Greater(t, len(said), 1000, "texts seen")
	assert.Greater(t, len(kinds), 15, "kinds of screens: %v", kinds)
}

// walk gets every screen that links lead to from one: of screens alike, whose addresses
// differ in numbers or keys, a few. It tells how many of each kind there were.
func (t *browser) walk(from string, see func(path string, p page)) map[string]int {
	t.Helper()
	const alike = 4
	number := regexp.MustCompile(`/(\d+|new/[a-z-]+|add-piece/[a-z-]+|patterns/[a-z-]+)\b|=[^&]*`)
	seen, kinds := map[string]bool{}, map[string]int{}
	for next := []string{from}; len(next) > 0; next = next[1:] {
		path := next[0]
		kind := number.ReplaceAllString(path, "*")
		if seen[path] || kinds[kind] == alike {
			continue
		}
		seen[path] = true
		kinds[kind]++
		p := t.get(path)
		require.Less(t, p.status, http.StatusInternalServerError, path)
		if !strings.HasPrefix(p.header.Get("Content-Type"), "text/html") {
			continue
		}
		see(path, p)
		for _, a := range p.doc.Find("a[href]").EachIter() {
			if to, err := url.Parse(a.AttrOr("href", "")); err == nil && to.Host == "" && strings.HasPrefix(to.Path, "/") {
				to.Fragment = ""
				next = append(next, to.String())
			}
		}
	}
	return kinds
}

// fieldsSpoken lists what the fields of a page hold.
func fieldsSpoken(p page) []string {
	var all []string
	for _, f := range p.doc.Find(`input[type="text"], input:not([type])`).EachIter() {
		all = append(all, f.AttrOr("value", ""))
	}
	for _, f := range p.doc.Find("textarea").EachIter() {
		all = append(all, f.Text())
	}
	return all
}

// givenNames takes the names out that the demo's people gave: those stay as they are. A
// drawing may cut a commission's name short.
func (r *rig) givenNames() *strings.Replacer {
	r.Helper()
	snap := testrig.Snapshot(r.T, r.store)
	var given []string
	for _, d := range snap.DaysOff {
		given = append(given, d.Reason)
	}
	boards, err := r.store.Boards(r.Context())
	require.NoError(r, err)
	for _, b := range boards {
		given = append(given, b.Log)
	}
	commissions, err := r.store.Commissions(r.Context())
	require.NoError(r, err)
	for _, c := range commissions {
		given = append(given, c.Name, c.Client, c.Note)
		for i := range c.Name {
			if i > 7 {
				given = append(given, c.Name[:i]+"…")
			}
		}
	}
	slices.SortFunc(given, func(a, b string) int { return len(b) - len(a) })
	var pairs []string
	for _, name := range given {
		if name != "" {
			pairs = append(pairs, name, "")
		}
	}
	return strings.NewReplacer(pairs...)
}
