package handlers

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"regexp"
	"strings"
	"testing"

	"github.com/gin-gonic/gin"
	"github.com/pb33f/libopenapi"
	validator "github.com/pb33f/libopenapi-validator"
	validation "github.com/pb33f/libopenapi-validator/config"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
	"faceside/models/testrig"
)

// described holds answers against the description of the API.
type described struct {
	*rig
	model validator.Validator
	seen  map[string]bool // path of the description and status
}

func newDescribed(t *testing.T) *described {
	t.Helper()
	doc, err := libopenapi.NewDocument(openAPI)
	require.NoError(t, err)
	require.Equal(t, "3.1.0", doc.GetVersion())
	// Strict: an answer has nothing that the description does not tell.
	model, errs := validator.NewValidator(doc, validation.WithStrictMode(), validation.WithFormatAssertions(),
		validation.WithStrictIgnorePaths("$.body.pieces[*].measures.*", "$.body.pieces[*].choices.*"), // named by the pattern
		validation.WithStrictIgnoredHeadersExtra("Content-Security-Policy", "Permissions-Policy", "Referrer-Policy", "X-Content-Type-Options",
			"Cross-Origin-Opener-Policy", "Cross-Origin-Resource-Policy"))
	require.Empty(t, errs)
	valid, wrong := model.ValidateDocument()
	require.True(t, valid, "%v", wrong)
	return &described{rig: newRig(t), model: model, seen: map[string]bool{}}
}

// ask sends a request and holds what comes back against the description.
func (d *described) ask(path string, header ...string) (*http.Response, []byte) {
	d.Helper()
	req, err := http.NewRequest(http.MethodGet, d.server.URL+path, nil)
	require.NoError(d, err)
	for i := 0; i < len(header); i += 2 {
		req.Header.Set(header[i], header[i+1])
	}
	res, err := http.DefaultClient.Do(req)
	require.NoError(d, err)
	body, err := io.ReadAll(res.Body)
	require.NoError(d, err)
	require.NoError(d, res.Body.Close())
	res.Body = io.NopCloser(bytes.NewReader(body))
	valid, wrong := d.model.ValidateHttpResponse(req, res)
	var said []string
	for _, w := range wrong {
		said = append(said, w.Error())
		for _, of := range w.SchemaValidationErrors {
			said = append(said, of.Reason+" at "+of.FieldPath)
		}
	}
	assert.True(d, valid, "%s: %s\n%s", path, strings.Join(said, "\n"), body)
	assert.Empty(d, res.Header.Values("Set-Cookie"), "a program is no tablet")
	d.seen[fmt.Sprintf("%s %d", numbered.ReplaceAllString(req.URL.Path, "/{id}"), res.StatusCode)] = true
	return res, body
}

var numbered = regexp.MustCompile(`/[0-9]+$`)

// filled has work in every state that an answer tells of.
func (d *described) filled() {
	d.Helper()
	first := d.take("Regal Huber")
	d.take("Tisch \"Ähre\"")
	d.plan()
	tab := d.as("Ana")
	tab.tap(models.TapStart, d.step("joint"))
	tab.tap(models.TapFinish, d.step("joint"))
	snap := testrig.Snapshot(d.T, d.store)
	_, err := d.store.SaveDayOff(d.Context(), models.DayOff{Date: "2026-03-06", Reason: "Fair"})
	require.NoError(d, err)
	ana := testrig.Person(d.T, snap, "Ana")
	_, err = d.store.SaveDayOff(d.Context(), models.DayOff{Date: "2026-03-05", PersonID: &ana})
	require.NoError(d, err)
	first.State = models.Held
	first.Edition = 0
	require.NoError(d, d.store.SaveCommission(d.Context(), *first))
	d.plan()
	d.foresee()
}

// Every address of the API is described, and answers as it is described.
func TestAPIIsAsDescribed(t *testing.T) {
	d := newDescribed(t)
	for _, path := range []string{"/api/v1/commissions", "/api/v1/steps", "/api/v1/plan", "/api/v1/taps"} {
		d.ask(path) // with nothing in it
	}
	d.filled()
	for _, path := range []string{
		"/api/v1/openapi.yaml", "/api/v1/shop", "/api/v1/commissions", "/api/v1/commissions?state=open", "/api/v1/commissions/1", "/api/v1/commissions/999",
		"/api/v1/commissions?state=lost", "/api/v1/steps", "/api/v1/steps?commission=2", "/api/v1/steps?commission=99", "/api/v1/steps?limit=x", "/api/v1/steps/1", "/api/v1/steps/999",
		"/api/v1/stations", "/api/v1/stations?limit=501", "/api/v1/stations/1", "/api/v1/stations/999", "/api/v1/plan", "/api/v1/plan?limit=0", "/api/v1/taps", "/api/v1/taps?after=-1",
	} {
		d.ask(path)
	}
	require.NoError(t, d.store.SetPassphrase(t.Context(), plannersWords, 0))
	for path := range d.paths() {
		d.ask(strings.ReplaceAll(path, "{id}", "1"))
	}
	_, token, err := d.store.MakeProgramKey(t.Context(), "Spreadsheet")
	require.NoError(t, err)
	res, _ := d.ask("/api/v1/shop", "Authorization", "Bearer "+token)
	assert.Equal(t, http.StatusOK, res.StatusCode)
	for path, item := range d.paths() {
		for status := range item {
			if status != "500" && status != "304" {
				assert.True(t, d.seen[path+" "+status], "%s was never seen to answer %s", path, status)
			}
		}
	}
}

// paths are the described ones, each with its statuses.
func (d *described) paths() map[string]map[string]bool {
	d.Helper()
	doc, err := libopenapi.NewDocument(openAPI)
	require.NoError(d, err)
	model, err := doc.BuildV3Model()
	require.NoError(d, err)
	all := map[string]map[string]bool{}
	for path, item := range model.Model.Paths.PathItems.FromOldest() {
		all[path] = map[string]bool{}
		for status := range item.Get.Responses.Codes.FromOldest() {
			all[path][status] = true
		}
	}
	return all
}

// What the server answers under the path is what the description lists, by GET alone.
func TestAPIRoutesAreDescribed(t *testing.T) {
	d := newDescribed(t)
	s, err := newServer(d.cfg)
	require.NoError(t, err)
	var routes, described []string
	for _, r := range s.routes().(*gin.Engine).Routes() {
		if strings.HasPrefix(r.Path, apiPath) {
			assert.Equal(t, http.MethodGet, r.Method, r.Path)
			routes = append(routes, strings.ReplaceAll(r.Path, ":id", "{id}"))
		}
	}
	for path := range d.paths() {
		described = append(described, path)
	}
	assert.ElementsMatch(t, routes, described)
}

func TestAPIPages(t *testing.T) {
	d := newDescribed(t)
	d.filled()
	for path, want := range map[string]int{"/api/v1/steps": 20, "/api/v1/steps?commission=2": 10, "/api/v1/commissions?state=held": 1, "/api/v1/stations": len(testrig.Snapshot(t, d.store).Stations), "/api/v1/taps": len(d.journal())} {
		var seen []float64
		sep := "?"
		if strings.Contains(path, "?") {
			sep = "&"
		}
		for next := path + sep + "limit=3"; next != ""; {
			var list struct {
				Items []map[string]any
				Next  string
			}
			_, body := d.ask(next)
			require.NoError(t, json.Unmarshal(body, &list))
			require.NotEmpty(t, list.Items, "no page is empty: %s", next)
			assert.LessOrEqual(t, len(list.Items), 3)
			for _, item := range list.Items {
				number, ok := item["id"].(float64)
				if seq, tap := item["seq"].(float64); tap {
					number, ok = seq, true
				}
				require.True(t, ok)
				seen = append(seen, number)
			}
			next = list.Next
		}
		assert.Len(t, seen, want, path)
		assert.IsIncreasing(t, append([]float64{0}, seen...), path)
	}
}

// The pages of the plan are the plan, in its own order.
func TestAPIPlanPages(t *testing.T) {
	d := newDescribed(t)
	d.filled()
	type page struct {
		Plan     struct{ ID int }
		Steps    []map[string]any
		Promises []map[string]any
		Next     string
	}
	read := func(path string) (p page) {
		_, body := d.ask(path)
		require.NoError(t, json.Unmarshal(body, &p), path)
		return p
	}
	whole := read("/api/v1/plan?limit=500")
	require.Empty(t, whole.Next)
	require.Greater(t, len(whole.Steps), 6)
	var pages []map[string]any
	for next := "/api/v1/plan?limit=3"; next != ""; {
		p := read(next)
		require.NotEmpty(t, p.Steps, "no page is empty: %s", next)
		require.LessOrEqual(t, len(p.Steps), 3)
		assert.Equal(t, whole.Plan, p.Plan)
		assert.Equal(t, whole.Promises, p.Promises, "each page has all of them")
		pages, next = append(pages, p.Steps...), p.Next
	}
	assert.Equal(t, whole.Steps, pages)
}

func TestAPIAnswersTheSameOnce(t *testing.T) {
	d := newDescribed(t)
	d.filled()
	res, _ := d.ask("/api/v1/commissions/2")
	tag := res.Header.Get("ETag")
	require.Regexp(t, `^W/"[0-9a-f]{24}"$`, tag)
	for header, want := range map[string]int{tag: 304, strings.TrimPrefix(tag, "W/"): 304, `"x", ` + tag: 304, "*": 304, `"x"`: 200, `W/"x"`: 200} {
		res, body := d.ask("/api/v1/commissions/2", "If-None-Match", header)
		assert.Equal(t, want, res.StatusCode, header)
		assert.Equal(t, want == 304, len(body) == 0, header)
	}
	com, err := d.store.CommissionSnapshot(d.Context(), 2)
	require.NoError(t, err)
	changed := com.Commissions[0]
	changed.Note = "by the door"
	require.NoError(t, d.store.SaveCommission(d.Context(), changed))
	res, _ = d.ask("/api/v1/commissions/2", "If-None-Match", tag)
	assert.Equal(t, http.StatusOK, res.StatusCode, "it has another note now")
}

func TestAPIProblems(t *testing.T) {
	d := newDescribed(t)
	tab := d.browser()
	for path, want := range map[string]apiProblem{
		"/api/v1/steps?limit=0":     {Status: 422, Title: "Unprocessable Entity", Field: "limit", Value: "0", Detail: `limit: "0" is no whole number between 1 and 500.`},
		"/api/v1/taps?after=a":      {Status: 422, Title: "Unprocessable Entity", Field: "after", Value: "a", Detail: `after: "a" is no whole number from 0 on.`},
		"/api/v1/plan?limit=501":    {Status: 422, Title: "Unprocessable Entity", Field: "limit", Value: "501", Detail: `limit: "501" is no whole number between 1 and 500.`},
		"/api/v1/plan?after=99":     {Status: 422, Title: "Unprocessable Entity", Field: "after", Value: "99", Detail: "after: step 99 is not among the steps to come. Begin again without it."},
		"/api/v1/stations/99":       {Status: 404, Title: "Not Found", Field: "station", Value: "99", Detail: "The shop has no station with number 99."},
		"/api/v1/stations/x":        {Status: 404, Title: "Not Found", Field: "id", Value: "x", Detail: `"x" is no number of a record.`},
		"/api/v1/nothing":           {Status: 404, Title: "Not Found", Detail: "There is no page at /api/v1/nothing."},
		"/api/v1/commissions?state": {},
	} {
		p := tab.get(path)
		if want.Status == 0 {
			assert.Equal(t, http.StatusOK, p.status, path)
			continue
		}
		want.Type, want.Instance = "about:blank", strings.Split(path, "?")[0]
		var got apiProblem
		require.NoError(t, json.Unmarshal([]byte(p.body), &got), path)
		assert.Equal(t, want, got, path)
		assert.Equal(t, want.Status, p.status, path)
		assert.Equal(t, problemType, p.header.Get("Content-Type"), path)
	}
	p := tab.post("/api/v1/shop", nil)
	assert.Equal(t, http.StatusMethodNotAllowed, p.status)
	assert.Equal(t, "GET", p.header.Get("Allow"))
	assert.Contains(t, p.body, `"title":"Method Not Allowed"`)
	d.german()
	assert.Contains(t, tab.get("/api/v1/stations/99").body, "Die Werkstatt hat keinen Platz")
}
