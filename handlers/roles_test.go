package handlers

import (
	"net/http"
	"net/url"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"
	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
)

// routeShapes are the routes' addresses with their blanks.
var routeShapes = func() map[string]*regexp.Regexp {
	all := map[string]*regexp.Regexp{}
	for name := range accessOf {
		all[name] = regexp.MustCompile("^" + inPath.ReplaceAllString(name, "[^/]+") + "$")
	}
	return all
}()

// routeOf is the route that an address of this server belongs to, "" for none: one that
// is written out goes before one with a blank.
func routeOf(method, path string) string {
	name := method + " " + path
	if _, there := accessOf[name]; there {
		return name
	}
	for route, shape := range routeShapes {
		if shape.MatchString(name) {
			return route
		}
	}
	return ""
}

// offered lists what a page offers to go to or to send, each as its route.
func offered(p page) map[string]string {
	all := map[string]string{}
	for selector, method := range map[string]string{
		"a[href]": http.MethodGet, "[hx-get]": http.MethodGet, `form[method="post"][action]`: http.MethodPost, "button[formaction]": http.MethodPost, "[hx-post]": http.MethodPost,
	} {
		attr := strings.Trim(selector[strings.LastIndex(selector, "["):], "[]")
		for _, in := range []*goquery.Selection{p.doc.Selection, p.templates} {
			for _, e := range in.Find(selector).EachIter() {
				to, err := url.Parse(e.AttrOr(attr, ""))
				if err == nil && to.Host == "" && strings.HasPrefix(to.Path, "/") {
					all[method+" "+to.Path] = routeOf(method, to.Path)
				}
			}
		}
	}
	return all
}

// Who is at the bench is offered nothing that would be refused: on no screen that a link
// leads to, in whatever state.
func TestTheBenchIsOfferedNothingOfThePlanners(t *testing.T) {
	r := newDoor(t)
	r.take("Hall shelf")
	ana := r.enrolled("Window").signedIn("Ana")
	walk := func(from string) map[string]int {
		r.plan()
		return ana.walk(from, func(path string, p page) {
			assert.Less(t, p.status, http.StatusBadRequest, path)
			for what, route := range offered(p) {
				require.NotEmpty(t, route, "%s offers %s, which is no route", path, what)
				assert.NotContains(t, []access{plannerOnly, program}, accessOf[route], "%s offers %s", path, what)
			}
		})
	}
	kinds := walk("/")
	for _, kind := range []string{"/steps*", "/stations*", "/stations*/sheet", "/sheets", "/gates", "/week"} {
		assert.Positive(t, kinds[kind], kind)
	}
	walk("/bench/ahead")

	for _, key := range []string{"joint", "plane", "rip"} {
		ana.tap(models.TapStart, r.step(key))
		ana.tap(models.TapFinish, r.step(key))
	}
	ana.tap(models.TapStart, r.step("glue-panel"))
	glue := stepHref(r.step("glue-panel").ID)
	walk(glue + "/trouble")
	p := ana.answer(ana.ask(), "spoiled:part:"+r.partNo("board"))
	assert.Contains(t, p.text("#told"), "no board on hand gives it")
	walk(p.path)
	p = ana.press(p, "Take the trouble back")
	p = ana.answer(ana.get(glue+"/trouble"), "order:"+strconv.FormatInt(r.step("plane-rails").ID, 10))
	assert.Contains(t, p.text("#told"), "comes first now")
	walk(p.path)
	ana.post("/tap", url.Values{"tap_id": {uuid.NewString()}, "kind": {"down"}, "station": {"2"}, "back": {"/stations/2"}})
	walk("/stations/2")
}
