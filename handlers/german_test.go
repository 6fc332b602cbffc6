package handlers

import (
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"

	"faceside/models"
	"faceside/models/testrig"
	"faceside/views/tongues"
)

// german makes the shop's language German.
func (r *rig) german() {
	r.Helper()
	shop := testrig.Snapshot(r.T, r.store).Shop
	shop.Language = "de"
	require.NoError(r, r.store.SaveShop(r.Context(), shop))
}

// spoken lists what a page says: its texts, and the attributes that are read out or shown.
func spoken(p page) []string {
	var all []string
	var walk func(*html.Node)
	walk = func(n *html.Node) {
		if n.Type == html.ElementNode && (n.Data == "script" || n.Data == "style" || n.Data == "code") {
			return
		}
		if n.Type == html.TextNode {
			all = append(all, strings.TrimSpace(n.Data))
		}
		for _, a := range n.Attr {
			switch a.Key {
			case "aria-label", "title", "placeholder", "alt", "data-head":
				all = append(all, a.Val)
			}
		}
		for c := n.FirstChild; c != nil; c = c.NextSibling {
			walk(c)
		}
	}
	for _, n := range p.doc.Nodes {
		walk(n)
	}
	return all
}

// No screen says a message in English that the catalogue has in German.
func TestEveryScreenSpeaksTheShopsLanguage(t *testing.T) {
	r := newRig(t)
	com := r.take("Regal Huber")
	r.plan()
	r.german()
	catalogue, err := tongues.Load()
	require.NoError(t, err)
	english := map[string]string{}
	for key, m := range catalogue.Messages() {
		if said := m["de"].Other; !strings.Contains(key, "%") && said != m[tongues.English].Other {
			english[m[tongues.English].Other] = said
		}
	}
	tab := r.as("Ana")
	step := r.step("glue-panel").ID
	tab.post("/tap", tapOf(models.TapStart, r.step("joint").ID))
	for _, path := range []string{
		"/", "/week", "/week?days=10", "/commissions", fmt.Sprintf("/commissions/%d", com.ID), "/commissions/new", "/commissions/new/table",
		"/commissions/new/hall-bench", fmt.Sprintf("/commissions/%d/edit", com.ID), fmt.Sprintf("/commissions/%d/edit/add", com.ID),
		fmt.Sprintf("/commissions/%d/edit/steps/%d", com.ID, step), fmt.Sprintf("/commissions/%d/keep", com.ID),
		fmt.Sprintf("/commissions/%d/cut-list", com.ID), fmt.Sprintf("/steps/%d", step), fmt.Sprintf("/steps/%d/trouble", step),
		"/shop", "/patterns", "/stock", "/stock/buy", "/stock/cuts", "/stock/runs", "/nowhere",
	} {
		p := tab.get(path)
		assert.Equal(t, "de", p.doc.Find("html").AttrOr("lang", ""), path)
		for _, text := range spoken(p) {
			said, known := english[text]
			assert.False(t, known, "%s says %q, in German %q", path, text, said)
		}
	}
	p := tab.post("/tap", tapOf(models.TapStart, step))
	assert.Equal(t, http.StatusConflict, p.status)
	assert.Contains(t, p.text("main"), "in der Hand: zuerst fertig melden oder ablegen", "a refusal of the records")
}

// tapOf is the form of a tap on a step.
func tapOf(kind models.TapKind, step models.ID) url.Values {
	return url.Values{"tap_id": {uuid.NewString()}, "kind": {string(kind)}, "step": {strconv.FormatInt(step, 10)}}
}
