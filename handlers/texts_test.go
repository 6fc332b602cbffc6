package handlers

import (
	"encoding/json"
	"maps"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"

	"faceside/models/testrig"
)

// oneLikeTheNext is what differs between the paths of records, and of patterns.
var oneLikeTheNext = regexp.MustCompile(`/[0-9]+|/(new|add-piece)/[a-z-]+`)

// anatomy is what a walk through all screens found them made of.
type anatomy struct {
	pages      []string
	elements   map[string]bool
	attributes map[string]bool // of which element
	scripts    int             // on the page that has the most
}

// linked are where the links of a page lead, within this server, by the shape of the
// path: one commission is like the next, but each of the texts stands in another.
func linked(doc *goquery.Document) []string {
	var all []string
	doc.Find("a[href]").Each(func(_ int, a *goquery.Selection) {
		href, _, _ := strings.Cut(a.AttrOr("href", ""), "#")
		if strings.HasPrefix(href, "/") && !strings.Contains(href, ".csv") && !strings.HasSuffix(href, "/file") && !strings.HasPrefix(href, "/calendars/") {
			all = append(all, href)
		}
	})
	return all
}

// walkedTexts walks all screens of a shop in which the texts stand everywhere.
func walkedTexts(t *testing.T, texts []string) anatomy {
	r := newRig(t)
	testrig.Written(t, r.store, texts)
	r.plan()
	tab := r.as(texts[len(texts)-1])
	a := anatomy{elements: map[string]bool{}, attributes: map[string]bool{}}
	todo, seen, shapes := []string{"/", "/stations", "/gates", "/week?list=on", "/commissions", "/shop", "/stock", "/times", "/steered", "/patterns", "/sheets", "/bench/ahead", "/gates/resting"}, map[string]bool{}, map[string]int{}
	for len(todo) > 0 {
		path := todo[0]
		todo = todo[1:]
		shape := oneLikeTheNext.ReplaceAllString(strings.SplitN(path, "?", 2)[0], "/#")
		if seen[path] || shapes[shape] >= 2 {
			continue
		}
		seen[path] = true
		shapes[shape]++
		p := tab.get(path)
		require.Less(t, p.status, 500, "%s: %s", path, p.text(".refusal"))
		a.pages = append(a.pages, shape)
		a.look(t, path, p)
		todo = append(todo, linked(p.doc)...)
	}
	return a
}

// look takes a page apart; what lies in templates is part of it too.
func (a *anatomy) look(t *testing.T, path string, p page) {
	a.scripts = max(a.scripts, p.doc.Find("script").Length())
	doc, err := html.Parse(strings.NewReader(p.body))
	require.NoError(t, err)
	for n := range doc.Descendants() {
		if n.Type != html.ElementNode {
			continue
		}
		a.elements[n.Data] = true
		for _, at := range n.Attr {
			name := strings.ToLower(at.Key)
			a.attributes[n.Data+" "+name] = true
			assert.False(t, strings.HasPrefix(name, "on") || strings.HasPrefix(name, "hx-on") || name == "style", "%s: <%s %s>", path, n.Data, name)
			if slices.Contains([]string{"href", "src", "action", "formaction", "data", "srcset", "poster", "cite"}, name) {
				at := strings.ToLower(strings.TrimSpace(at.Val))
				u, err := url.Parse(at)
				if assert.NoError(t, err, "%s: <%s %s=%s>", path, n.Data, name, at) {
					assert.Contains(t, []string{"", "http"}, u.Scheme, "%s: <%s %s=%s>", path, n.Data, name, at)
				}
				assert.False(t, strings.HasPrefix(at, "//"), "%s: <%s %s=%s>", path, n.Data, name, at)
			}
		}
	}
}

// Whatever people type: the pages are made of the same elements and attributes as with
// plain texts, none of them runs anything or leads away, and the text itself is there.
func TestNoTextBecomesPartOfAPage(t *testing.T) {
	plain := walkedTexts(t, testrig.PlainTexts())
	hostile := walkedTexts(t, testrig.HostileTexts())
	assert.Greater(t, len(hostile.pages), 50)
	known := slices.Sorted(maps.Keys(plain.elements))
	for name := range hostile.elements {
		assert.Contains(t, known, name, "an element that plain texts do not bring about")
	}
	for name := range hostile.attributes {
		assert.True(t, plain.attributes[name], "an attribute that plain texts do not bring about: <%s>", name)
	}
	assert.Equal(t, plain.scripts, hostile.scripts)
	t.Logf("%d pages, %d kinds of element, %d of attributes", len(hostile.pages), len(hostile.elements), len(hostile.attributes))
}

// The walk sees what would be wrong.
func TestTheWalkThroughTextsSees(t *testing.T) {
	for _, body := range []string{`<p onclick="x">`, `<p style="x">`, `<a href="javascript:x">`, `<img src="//evil.example/x">`, `<a href="data:text/html,x">`} {
		seen := &testing.T{}
		a := anatomy{elements: map[string]bool{}, attributes: map[string]bool{}}
		doc, err := goquery.NewDocumentFromReader(strings.NewReader(body))
		require.NoError(t, err)
		a.look(seen, "/", page{T: seen, body: body, doc: doc})
		assert.True(t, seen.Failed(), body)
	}
}

// The texts come back as they were typed, on the screens and for programs.
func TestTextsAreShownAsTyped(t *testing.T) {
	r := newRig(t)
	texts := testrig.HostileTexts()
	testrig.Written(t, r.store, texts)
	tab := r.browser()
	shown := tab.get("/commissions").doc.Find("h2").Map(func(_ int, s *goquery.Selection) string { return strings.TrimSpace(s.Text()) })
	for _, text := range texts {
		assert.Contains(t, shown, strings.TrimSpace(text))
	}
	var names struct {
		Items []struct{ Name string } `json:"items"`
	}
	p := tab.get("/api/v1/commissions")
	require.Equal(t, http.StatusOK, p.status)
	require.NoError(t, json.Unmarshal([]byte(p.body), &names))
	for i, text := range texts {
		assert.Equal(t, text, names.Items[i].Name)
	}
	table := tab.get("/plan.csv?for=spreadsheet")
	assert.NotRegexp(t, `(?m)(^|[,;])"?=HYPERLINK`, table.body, "a spreadsheet takes none for a formula")
	assert.Equal(t, http.StatusOK, table.status)
}
