package handlers

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/gin-gonic/gin"
	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
	"faceside/models/testrig"
)

const plannersWords = "seven planes hang on a nail"

// newDoor is a rig where everybody signs in.
func newDoor(t *testing.T, changes ...with) *rig {
	t.Helper()
	r := newRig(t, changes...)
	require.NoError(t, r.store.SetPassphrase(t.Context(), plannersWords, 0))
	return r
}

// enrolled is a tablet that is enrolled by its link.
func (r *rig) enrolled(name string) *browser {
	r.Helper()
	_, code, err := r.store.MakeCode(r.Context(), name)
	require.NoError(r, err)
	t := r.browser()
	p := t.press(t.get("/enrol/"+code), "Enrol this tablet")
	require.Equal(r, "/sign-in", p.path)
	return t
}

func (r *rig) personID(name string) models.ID {
	r.Helper()
	return testrig.Person(r.T, testrig.Snapshot(r.T, r.store), name)
}

func (r *rig) pinOf(name string) string {
	r.Helper()
	pin, err := r.store.GivePIN(r.Context(), r.personID(name))
	require.NoError(r, err)
	return pin
}

// try sends a PIN as the pad does.
func (t *browser) try(person models.ID, pin string) page {
	t.Helper()
	return t.post(fmt.Sprintf("/sign-in/people/%d", person), url.Values{"pin": {pin}, "done": {"on"}})
}

// signedIn signs a person in on a tablet.
func (t *browser) signedIn(name string) *browser {
	t.Helper()
	p := t.try(t.personID(name), t.pinOf(name))
	require.Equal(t, "/pin", p.path, "the PIN is one that was drawn")
	return t
}

// asPlanner is a browser on which the planner is signed in.
func (r *rig) asPlanner() *browser {
	r.Helper()
	t := r.browser()
	p := t.post("/sign-in/planner", url.Values{"passphrase": {plannersWords}, "back": {"/shop"}})
	require.Equal(r, "/shop", p.path)
	return t
}

// led says where a redirect would lead: the browser follows none from now on.
func (t *browser) unled() *browser {
	led := *t.client
	led.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
	return &browser{rig: t.rig, client: &led, script: t.script}
}

func engine(t *testing.T, r *rig) *gin.Engine {
	t.Helper()
	s, err := newServer(r.cfg)
	require.NoError(t, err)
	return s.routes().(*gin.Engine)
}

func TestEveryRouteHasItsRole(t *testing.T) {
	routes := map[string]bool{}
	for _, route := range engine(t, newRig(t)).Routes() {
		name := route.Method + " " + route.Path
		routes[name] = true
		_, listed := accessOf[name]
		assert.True(t, listed, "%s stands in no list of handlers/roles.go: who may ask for it?", name)
	}
	listed := 0
	for _, all := range may {
		listed += len(all)
		for _, name := range all {
			assert.True(t, routes[name], "there is no route %s", name)
		}
	}
	assert.Len(t, accessOf, listed, "an address stands in two lists")
}

var inPath = regexp.MustCompile(`[:*][a-z]+`)

// walked calls every route once, with records' numbers in their places.
func (t *browser) walked(see func(name string, who access, p page)) {
	t.Helper()
	for name, who := range accessOf {
		method, path, _ := strings.Cut(name, " ")
		path = inPath.ReplaceAllStringFunc(path, func(of string) string {
			if of == ":id" || of == ":step" || of == ":defect" {
				return "1"
			}
			return "x"
		})
		switch {
		case who == open, who == door, path == "/live":
		case method == http.MethodGet:
			see(name, who, t.get(path))
		default:
			see(name, who, t.post(path, nil))
		}
	}
}

func TestNobodyGetsNowhere(t *testing.T) {
	r := newDoor(t)
	r.take("Hall shelf")
	for _, tab := range []*browser{r.browser().unled(), r.enrolled("Window").unled()} {
		before := r.revision()
		tab.walked(func(name string, who access, p page) {
			if who == program {
				assert.Equal(t, http.StatusUnauthorized, p.status, name)
				assert.Equal(t, problemType, p.header.Get("Content-Type"), name)
				assert.Equal(t, `Bearer realm="Faceside"`, p.header.Get("WWW-Authenticate"), name)
				return
			}
			assert.Equal(t, http.StatusSeeOther, p.status, name)
			assert.True(t, strings.HasPrefix(p.header.Get("Location"), "/sign-in"), "%s leads to %s", name, p.header.Get("Location"))
		})
		tab.script = true
		tab.walked(func(name string, who access, p page) {
			assert.Equal(t, http.StatusUnauthorized, p.status, name)
			if who != program {
				assert.Equal(t, "/sign-in", p.header.Get("HX-Redirect"), name)
			}
		})
		assert.Equal(t, before, r.revision())
	}
	res, err := http.Get(r.server.URL + "/gates")
	require.NoError(t, err)
	require.NoError(t, res.Body.Close())
	assert.Equal(t, "/sign-in", res.Request.URL.Path)
	assert.Equal(t, "back=%2Fgates", res.Request.URL.RawQuery)
	req, err := http.NewRequest(http.MethodGet, r.server.URL+"/live", nil)
	require.NoError(t, err)
	req.Header.Set("Accept", "text/event-stream")
	p := r.browser().do(req)
	assert.Equal(t, http.StatusUnauthorized, p.status)
}

func TestWhoIsAtTheBenchIsKeptFromThePlannersScreens(t *testing.T) {
	r := newDoor(t)
	r.take("Hall shelf")
	ana := r.enrolled("Window").signedIn("Ana").unled()
	before := r.revision()
	ana.walked(func(name string, who access, p page) {
		switch who {
		case plannerOnly, program:
			assert.Equal(t, http.StatusForbidden, p.status, name)
			if who == plannerOnly {
				assert.Contains(t, p.text(".refusal"), "That is the planner's: sign in with the passphrase first.", name)
			}
		default:
			assert.NotContains(t, []int{http.StatusUnauthorized, http.StatusForbidden}, p.status, name)
			assert.NotContains(t, p.header.Get("Location"), "/sign-in", name)
		}
	})
	assert.Equal(t, before, r.revision())
	assert.Contains(t, ana.get("/shop").doc.Find(`.panel a[href^="/sign-in/planner"]`).AttrOr("href", ""), "back=%2Fshop")
	nav := ana.get("/").texts(".nav a")
	assert.Equal(t, []string{"Bench", "Stations", "Gates", "Week"}, nav)
}

func TestThePlannerMayDoEverything(t *testing.T) {
	r := newDoor(t)
	r.take("Hall shelf")
	r.enrolled("Window").signedIn("Ana") // session 1, which the walk ends
	r.asPlanner().unled().walked(func(name string, who access, p page) {
		if name == "GET /pin" || name == "POST /pin" { // no person's
			assert.Equal(t, http.StatusForbidden, p.status, name)
			return
		}
		assert.NotContains(t, []int{http.StatusUnauthorized, http.StatusForbidden}, p.status, name)
		assert.NotContains(t, p.header.Get("Location"), "/sign-in", name)
	})
}

func TestAPersonSignsIn(t *testing.T) {
	r := newDoor(t)
	r.take("Hall shelf")
	tab := r.enrolled("Window")
	pin := r.pinOf("Ana")
	p := tab.press(tab.get("/steps/1"), "Ana")
	require.Equal(t, "Ana", p.text("h1"))
	assert.Zero(t, p.doc.Find(".nav, #live").Length(), "nothing else is there yet")
	for i := range pin { // without script each key is a form
		assert.Equal(t, pin[:i], p.doc.Find("[name=pin]").AttrOr("value", ""))
		p = tab.press(p, pin[i:i+1])
	}
	require.Equal(t, "/pin", p.path)
	p = tab.post("/pin", url.Values{"pin": {pin}, "next": {"730195"}, "again": {"730159"}, "back": {"/steps/1"}})
	assert.Equal(t, http.StatusUnprocessableEntity, p.status)
	assert.Contains(t, p.text(".wrong-why"), "The two are not the same.")
	p = tab.post("/pin", url.Values{"pin": {pin}, "next": {"730195"}, "again": {"730195"}, "back": {"/steps/1"}})
	require.Equal(t, "/steps/1", p.path)
	assert.Contains(t, p.text(".sign-off"), "Ana")

	p = tab.tap(models.TapStart, r.step("joint"))
	require.Equal(t, http.StatusOK, p.status)
	assert.Equal(t, r.personID("Ana"), r.journal()[0].PersonID)
	p = tab.press(p, "Sign off Ana")
	assert.Equal(t, "/sign-in", p.path)
	assert.Equal(t, "/sign-in", tab.get("/").path)
	assert.Equal(t, "/", tab.try(r.personID("Ana"), "730195").path, "the own PIN leads on at once")

	r.clock.Step(15 * time.Minute)
	p = tab.tap(models.TapFinish, r.step("joint"))
	assert.Equal(t, "/sign-in", p.path)
	assert.Contains(t, p.text(".refusal"), "was not taken")
	assert.Len(t, r.journal(), 1)
}

// The keys of the pad take digits back, too, and nothing of what was typed is lost to a
// wrong key.
func TestThePadTakesDigitsBack(t *testing.T) {
	r := newDoor(t)
	tab := r.enrolled("Window")
	pin := r.pinOf("Ana")
	path := fmt.Sprintf("/sign-in/people/%d", r.personID("Ana"))
	p := tab.post(path, url.Values{"pin": {pin[:4] + "0"}, "key": {"back"}})
	assert.Equal(t, pin[:4], p.doc.Find("[name=pin]").AttrOr("value", ""))
	p = tab.post(path, url.Values{"pin": {pin[:5]}, "key": {pin[5:]}})
	assert.Equal(t, "/pin", p.path)
	p = tab.post(path, url.Values{"pin": {""}, "key": {"back"}})
	assert.Equal(t, http.StatusOK, p.status)
}

func TestWrongPINsAreToldInPlainWords(t *testing.T) {
	r := newDoor(t)
	tab := r.enrolled("Window")
	ana, pin := r.personID("Ana"), r.pinOf("Ana")
	p := tab.try(ana, "000000")
	assert.Equal(t, http.StatusUnprocessableEntity, p.status)
	assert.Equal(t, "That was wrong. 9 tries are left before it is locked.", p.text(".refusal"))
	assert.Empty(t, p.doc.Find("[name=pin]").AttrOr("value", ""), "nothing of it is sent back")
	unknown := tab.try(99, "000000")
	assert.Equal(t, p.status, unknown.status)
	assert.Equal(t, p.text(".refusal"), unknown.text(".refusal"), "whether it was the person or the PIN is not told")
	for range 2 {
		tab.try(ana, "000000")
	}
	p = tab.try(ana, pin)
	assert.Equal(t, http.StatusTooManyRequests, p.status)
	assert.Equal(t, "5", p.header.Get("Retry-After"))
	assert.Contains(t, p.text(".refusal"), "wait another 5 seconds")
	for range 7 {
		r.clock.Step(time.Hour)
		p = tab.try(ana, "000000")
	}
	assert.Equal(t, http.StatusForbidden, p.status)
	r.clock.Step(time.Hour)
	p = tab.try(ana, pin)
	assert.Contains(t, p.text(".refusal"), "The planner frees it, on the Shop screen under People and tablets.")
	assert.Zero(t, p.doc.Find("[name=pin]").Length())

	planner := r.asPlanner()
	p = planner.get("/shop/access")
	assert.Contains(t, p.text("#pins"), "locked since")
	assert.Contains(t, p.text("#journal"), "Ana was locked after wrong PINs (Window).")
	planner.press(p, "Free the lock Ana")
	assert.Equal(t, "/pin", tab.try(ana, pin).path)
}

// A thousand strangers who try the passphrase at once have no more of theirs looked at
// than one, and the planner's own browser signs in among them.
func TestAThousandStrangersKeepNoPlannerWaiting(t *testing.T) {
	r := newDoor(t)
	planner := r.asPlanner()
	planner.press(planner.get("/"), "Sign off The planner")
	var strangers sync.WaitGroup
	numbers := make(chan int)
	own := &http.Client{Transport: &http.Transport{MaxConnsPerHost: 50}}
	for range 50 {
		strangers.Go(func() {
			for n := range numbers {
				res, err := own.PostForm(r.server.URL+plannerSignInPath, url.Values{"passphrase": {fmt.Sprintf("one of a thousand, number %d", n)}})
				if assert.NoError(t, err) {
					assert.NotEqual(t, http.StatusSeeOther, res.StatusCode)
					_ = res.Body.Close()
				}
			}
		})
	}
	for n := range 1000 {
		numbers <- n
		if n == 500 {
			p := planner.post(plannerSignInPath, url.Values{"passphrase": {plannersWords}})
			assert.Equal(t, http.StatusOK, p.status)
			assert.Equal(t, "/", p.path)
		}
	}
	close(numbers)
	strangers.Wait()
	events, err := r.store.SignInEvents(t.Context(), 2000)
	require.NoError(t, err)
	looked := 0
	for _, e := range events {
		if e.Kind == models.EventWrongPassphrase {
			looked++
		}
	}
	assert.Equal(t, 3, looked, "passphrases that were looked at, on a clock that stands")
	p := r.browser().post(plannerSignInPath, url.Values{"passphrase": {plannersWords}})
	assert.Equal(t, http.StatusTooManyRequests, p.status, "a stranger waits")
}

// A thousand guesses at once are no more than ten, however they fall.
func TestAThousandTriesAtOnce(t *testing.T) {
	r := newDoor(t)
	tab := r.enrolled("Window")
	pin := r.pinOf("Ana")
	path := fmt.Sprintf("/sign-in/people/%d", r.personID("Ana"))
	tab.client.Transport = &http.Transport{MaxConnsPerHost: 50}
	var mu sync.Mutex
	var all sync.WaitGroup
	statuses := map[int]int{}
	guesses := make(chan int)
	for range 50 {
		all.Go(func() {
			for n := range guesses {
				guess := fmt.Sprintf("%06d", n)
				if guess == pin {
					continue
				}
				res, err := tab.client.PostForm(r.server.URL+path, url.Values{"pin": {guess}, "done": {"on"}})
				if !assert.NoError(t, err) {
					continue
				}
				_ = res.Body.Close()
				mu.Lock()
				statuses[res.StatusCode]++
				mu.Unlock()
			}
		})
	}
	for n := range 1000 {
		if n%60 == 59 {
			r.clock.Step(time.Hour) // so that waiting alone does not hold them off
		}
		guesses <- n
	}
	close(guesses)
	all.Wait()
	access, err := r.store.PeopleAccess(t.Context())
	require.NoError(t, err)
	assert.LessOrEqual(t, access[r.personID("Ana")].Failed, 10)
	events, err := r.store.SignInEvents(t.Context(), 2000)
	require.NoError(t, err)
	tried := 0
	for _, e := range events {
		if e.Kind == models.EventWrongPIN || e.Kind == models.EventLocked {
			tried++
		}
	}
	assert.LessOrEqual(t, tried, 10, "PINs that were looked at")
	assert.GreaterOrEqual(t, tried, 3)
	assert.LessOrEqual(t, statuses[http.StatusUnprocessableEntity], 9)
	assert.Zero(t, statuses[http.StatusOK]+statuses[http.StatusInternalServerError], "%v", statuses)
	t.Log("answers by status:", statuses, "looked at:", tried)
}

// What somebody put into a browser before is worth nothing once a person signs in there.
func TestASessionCannotBeHandedOut(t *testing.T) {
	r := newDoor(t)
	tab := r.enrolled("Window")
	home, err := url.Parse(r.server.URL)
	require.NoError(t, err)
	tab.client.Jar.SetCookies(home, []*http.Cookie{{Name: sessionCookie, Value: "HANDEDOUTHANDEDOUTHANDEDOUT", Path: "/"}})
	tab.signedIn("Ana")
	first := cookieOf(t, tab, sessionCookie)
	assert.NotEqual(t, "HANDEDOUTHANDEDOUTHANDEDOUT", first)
	tab.signedIn("Ana")
	assert.NotEqual(t, first, cookieOf(t, tab, sessionCookie))
	thief := r.browser()
	thief.client.Jar.SetCookies(home, []*http.Cookie{{Name: sessionCookie, Value: cookieOf(t, tab, sessionCookie), Path: "/"}})
	assert.Equal(t, "/sign-in", thief.get("/").path, "without the tablet's own key it opens nothing")
}

func cookieOf(t *testing.T, tab *browser, name string) string {
	t.Helper()
	home, err := url.Parse(tab.server.URL)
	require.NoError(t, err)
	for _, c := range tab.client.Jar.Cookies(home) {
		if c.Name == name {
			return c.Value
		}
	}
	require.Fail(t, "no cookie", name)
	return ""
}

func TestCookiesOfWhoIsSignedIn(t *testing.T) {
	for name, secure := range map[string]bool{"plain": false, "TLS": true} {
		t.Run(name, func(t *testing.T) {
			r := newDoor(t)
			if secure {
				r.server.Close()
				s, err := newServer(r.cfg)
				require.NoError(t, err)
				r.server = httptest.NewTLSServer(s.routes())
				t.Cleanup(r.server.Close)
			}
			jar, err := cookiejar.New(nil)
			require.NoError(t, err)
			client := r.server.Client()
			client.Jar = jar
			client.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
			_, code, err := r.store.MakeCode(t.Context(), "Window")
			require.NoError(t, err)
			seen := map[string]*http.Cookie{}
			for path, form := range map[string]url.Values{"/enrol": {"code": {code}}, "/sign-in/planner": {"passphrase": {plannersWords}}} {
				res, err := client.PostForm(r.server.URL+path, form)
				require.NoError(t, err)
				require.NoError(t, res.Body.Close())
				require.Equal(t, http.StatusSeeOther, res.StatusCode)
				for _, c := range res.Cookies() {
					seen[c.Name] = c
				}
			}
			for _, name := range []string{sessionCookie, keyCookie, knownCookie} {
				c := seen[name]
				require.NotNil(t, c, name)
				assert.True(t, c.HttpOnly, name)
				assert.Equal(t, http.SameSiteStrictMode, c.SameSite, name)
				assert.Equal(t, secure, c.Secure, name)
				assert.Empty(t, c.Domain, name)
			}
			assert.Zero(t, seen[sessionCookie].MaxAge, "it ends with the browser")
		})
	}
}

// queueSends has a tablet's queue send a tap.
func (t *browser) queueSends(fields url.Values) (status int, answer tapAnswer) {
	t.Helper()
	p := t.accepting("/tap", fields, "application/json")
	require.NoError(t, json.Unmarshal([]byte(p.body), &answer), "%d %s", p.status, p.body)
	return p.status, answer
}

// A tap that waited while its person was signed off is theirs; one that was made later,
// or by nobody that was there, is asked about; one on a screen that is out of date stays
// on its tablet. None is lost.
func TestTapsThatWaitedOutlastTheSession(t *testing.T) {
	type made struct {
		ago, heard time.Duration // before it is sent
		late       bool
		person     string
	}
	for name, tt := range map[string]struct {
		ended  string // how, at once after signing in; "" idle 15 minutes later
		wait   time.Duration
		tap    made
		status int
		state  string
	}{
		"still signed in":                              {wait: time.Minute, tap: made{late: true, ago: 30 * time.Second, heard: time.Minute, person: "Ana"}, status: 200, state: "written"},
		"made before it idled out":                     {wait: time.Hour, tap: made{late: true, ago: 50 * time.Minute, heard: 55 * time.Minute, person: "Ana"}, status: 200, state: "written"},
		"made later, without a server since":           {wait: time.Hour, tap: made{late: true, ago: 10 * time.Minute, heard: 55 * time.Minute, person: "Ana"}, status: 200, state: "written"},
		"made later, where the server could have told": {wait: time.Hour, tap: made{late: true, ago: 10 * time.Minute, heard: 11 * time.Minute, person: "Ana"}, status: 200, state: "asked"},
		"made just now on an old screen":               {wait: time.Hour, tap: made{person: "Ana"}, status: 401},
		"of somebody who was never there":              {wait: time.Minute, tap: made{late: true, ago: 30 * time.Second, heard: time.Minute, person: "Ben"}, status: 200, state: "asked"},
		"made before signing off":                      {ended: "off", wait: time.Hour, tap: made{late: true, ago: time.Hour, heard: time.Hour, person: "Ana"}, status: 200, state: "written"},
		"made after signing off":                       {ended: "off", wait: time.Hour, tap: made{late: true, ago: 30 * time.Minute, heard: time.Hour, person: "Ana"}, status: 200, state: "asked"},
		"on a tablet that was taken back":              {ended: "revoked", wait: time.Minute, tap: made{late: true, ago: time.Minute, heard: time.Minute, person: "Ana"}, status: 401},
	} {
		t.Run(name, func(t *testing.T) {
			r := newDoor(t)
			r.take("Hall shelf")
			tab := r.enrolled("Window").signedIn("Ana")
			switch tt.ended {
			case "off":
				tab.post("/sign-off", nil)
			case "revoked":
				keys, err := r.store.Keys(t.Context())
				require.NoError(t, err)
				require.NoError(t, r.store.EndKey(t.Context(), keys[0].ID))
			}
			r.clock.Step(tt.wait)
			now := r.clock.Now()
			fields := url.Values{
				"tap_id": {uuid.NewString()}, "kind": {"start"}, "step": {strconv.FormatInt(r.step("joint").ID, 10)}, "person": {strconv.FormatInt(r.personID(tt.tap.person), 10)},
				"queue": {uuid.NewString()}, "number": {"1"}, "heard": {now.Add(-tt.tap.heard).Format(time.RFC3339Nano)},
			}
			if tt.tap.late {
				fields.Set("late", "on")
				fields.Set("waited", strconv.FormatInt(tt.tap.ago.Milliseconds(), 10))
			}
			status, answer := tab.queueSends(fields)
			assert.Equal(t, tt.status, status)
			assert.Equal(t, tt.state, answer.State, "%+v", answer)
			snap := testrig.Snapshot(t, r.store)
			switch tt.state {
			case "written":
				require.Len(t, r.journal(), 1)
				assert.Equal(t, r.personID("Ana"), r.journal()[0].PersonID)
				status, again := tab.queueSends(fields)
				assert.Equal(t, 200, status)
				assert.Equal(t, answer.Seq, again.Seq, "the same tap again is the same row")
			case "asked":
				assert.Empty(t, r.journal())
				require.Len(t, snap.Returned, 1)
				assert.Equal(t, fields.Get("tap_id"), snap.Returned[0].ID)
			default:
				assert.Empty(t, r.journal())
				assert.Empty(t, snap.Returned, "the tablet keeps it")
			}
		})
	}
}

func TestTicksThatWaitedOutlastTheSession(t *testing.T) {
	r := newDoor(t)
	r.take("Hall shelf")
	tab := r.enrolled("Window").signedIn("Ana")
	tab.tap(models.TapStart, r.step("joint"))
	snap := testrig.Snapshot(t, r.store)
	step := r.step("joint")
	var part models.ID
	for _, of := range snap.StepParts {
		if of.StepID == step.ID {
			part = of.PartID
		}
	}
	send := func(person string) page {
		return tab.accepting("/ticks", url.Values{"tick_id": {uuid.NewString()}, "step": {fmt.Sprint(step.ID)}, "part": {fmt.Sprint(part)}, "number": {"1"}, "done": {"on"}, "person": {fmt.Sprint(r.personID(person))}}, "application/json")
	}
	assert.Equal(t, http.StatusOK, send("Ana").status)
	r.clock.Step(time.Hour)
	assert.Equal(t, http.StatusOK, send("Ana").status, "it was hers")
	assert.Equal(t, http.StatusUnauthorized, send("Ben").status, "the tablet keeps it")
	tab.signedIn("Ana")
	assert.Equal(t, http.StatusForbidden, send("Ben").status, "Ben was never here")
}

func TestSeveralPeopleAtOneTablet(t *testing.T) {
	r := newDoor(t)
	tab := r.enrolled("Window").signedIn("Ana").signedIn("Ben")
	p := tab.get("/")
	assert.Equal(t, "Ben", p.text(".bench-who strong"))
	p = tab.press(p, "Ana")
	assert.Equal(t, "/", p.path)
	assert.Equal(t, "Ana", p.text(".bench-who strong"), "no PIN within the idle time")
	assert.Contains(t, tab.get("/sign-in").text(".who"), "Ben was here just now: no PIN is needed")
	r.clock.Step(20 * time.Minute)
	p = tab.press(tab.get("/sign-in"), "Ben")
	assert.Equal(t, 1, p.doc.Find("[name=pin]").Length())
}

func TestTheLiveStreamEndsWithTheSession(t *testing.T) {
	r := newDoor(t, func(c *Config) { c.Heartbeat = 20 * time.Millisecond })
	tab := r.enrolled("Window").signedIn("Ana")
	res, err := tab.client.Get(r.server.URL + "/live")
	require.NoError(t, err)
	defer res.Body.Close()
	require.Equal(t, http.StatusOK, res.StatusCode)
	sessions, err := r.store.Sessions(t.Context())
	require.NoError(t, err)
	require.NoError(t, r.store.EndSession(t.Context(), sessions[0].ID))
	said := new(strings.Builder)
	buffer := make([]byte, 512)
	for !strings.Contains(said.String(), "event: signed-out") {
		n, err := res.Body.Read(buffer)
		said.Write(buffer[:n])
		if err != nil {
			break
		}
	}
	assert.Contains(t, said.String(), "event: signed-out")
}

func TestThePlannersScreenOfPeopleAndTablets(t *testing.T) {
	r := newDoor(t)
	planner := r.asPlanner()
	p := planner.get("/shop/access")
	p = planner.press(p, "Draw a PIN Ana")
	pin := strings.ReplaceAll(p.text(".told-secret"), " ", "")
	require.Regexp(t, `^[0-9]{6}$`, pin)
	assert.NotContains(t, planner.get("/shop/access").body, p.text(".told-secret"), "it is shown once")

	p = planner.post("/shop/access/tablets", url.Values{"name": {"Saw"}})
	code := strings.ReplaceAll(p.text(".told-secret"), " ", "")
	require.Len(t, code, 24)
	assert.Equal(t, 1, p.doc.Find(".told svg.code").Length())
	assert.Contains(t, p.text(".told"), "You are here by an address that only this machine has")
	tab := r.browser()
	p = tab.post("/enrol", url.Values{"code": {"wrong"}})
	assert.Equal(t, http.StatusUnprocessableEntity, p.status)
	assert.Contains(t, p.text(".wrong-why"), "That code enrols no tablet")
	p = tab.post("/enrol", url.Values{"code": {code[:4] + " " + code[4:]}})
	require.Equal(t, "/sign-in", p.path)
	assert.Equal(t, "/pin", tab.try(r.personID("Ana"), pin).path)

	p = planner.get("/shop/access")
	assert.Contains(t, p.text("#sessions"), "Ana Saw")
	assert.Contains(t, p.text("#tablets"), "Saw last seen")
	p = planner.press(p, "End it Ana, Saw")
	assert.Equal(t, "/sign-in", tab.get("/").path)
	planner.press(p, "Take it back Saw")
	assert.Contains(t, tab.get("/").text("h1"), "This tablet is not enrolled")

	p = planner.post("/shop/access/idle", url.Values{"idle_time": {"481"}})
	assert.Equal(t, http.StatusUnprocessableEntity, p.status)
	assert.Contains(t, p.text("#pins .wrong-why"), "The idle time 481 min is not between 1 and 480 min.")
	assert.Equal(t, "481", p.typed("idle_time"))
	p = planner.post("/shop/access/tablets", url.Values{"name": {strings.Repeat("x", 121)}})
	assert.Equal(t, http.StatusUnprocessableEntity, p.status)
	assert.Len(t, p.doc.Find("#tablets-new [name=name]").AttrOr("value", ""), 121, "what was typed is not lost")
	p = planner.post("/shop/access/idle", url.Values{"idle_time": {"5"}})
	assert.Equal(t, http.StatusOK, p.status)

	const next = "another nail, another plane"
	p = planner.post("/shop/access/passphrase", url.Values{"now": {"no"}, "next": {next}, "again": {next}})
	assert.Contains(t, p.text("#passphrase .wrong-why"), "That is not the planner's passphrase.")
	p = planner.post("/shop/access/passphrase", url.Values{"now": {plannersWords}, "next": {next}, "again": {next}})
	assert.Equal(t, http.StatusOK, p.status)
	assert.Equal(t, "/shop/access", planner.get("/shop/access").path, "this session goes on")
	for _, secret := range []string{pin, code, next, plannersWords} {
		assert.NotContains(t, planner.get("/shop/access").body, secret)
	}
}

func TestProgramsShowTheirKey(t *testing.T) {
	r := newDoor(t)
	p := r.asPlanner().post("/shop/access/programs", url.Values{"name": {"Spreadsheet"}})
	token := p.text(".told-secret")
	_, code, err := r.store.MakeCode(t.Context(), "Wall")
	require.NoError(t, err)
	p = r.browser().accepting("/enrol", url.Values{"code": {code}}, "application/json")
	var wall struct{ Token string }
	require.NoError(t, json.Unmarshal([]byte(p.body), &wall))
	for bearer, want := range map[string]int{token: 200, wall.Token: 200, "guessed": 401, "": 401} {
		req, err := http.NewRequest(http.MethodGet, r.server.URL+"/api/v1/shop", nil)
		require.NoError(t, err)
		req.Header.Set("Authorization", "Bearer "+bearer)
		assert.Equal(t, want, r.browser().do(req).status, bearer)
		req, err = http.NewRequest(http.MethodGet, r.server.URL+"/shop", nil)
		require.NoError(t, err)
		req.Header.Set("Authorization", "Bearer "+bearer)
		assert.Equal(t, "/sign-in", r.browser().do(req).path, "the key opens no screen")
	}
}

// Where people go on after signing in is always a page of this server.
func TestSigningInLeadsNowhereElse(t *testing.T) {
	r := newDoor(t)
	tab := r.browser().unled()
	for _, back := range []string{"https://elsewhere.example/", "//elsewhere.example", "/\\elsewhere.example", "javascript:alert(1)"} {
		p := tab.post("/sign-in/planner", url.Values{"passphrase": {plannersWords}, "back": {back}})
		assert.Equal(t, "/", p.header.Get("Location"), back)
	}
}

// Without a passphrase nothing asks who is there.
func TestWithoutAPassphraseNobodyIsAsked(t *testing.T) {
	r := newRig(t)
	tab := r.browser()
	assert.Equal(t, "/", tab.get("/sign-in").path)
	assert.Equal(t, "/", tab.get("/sign-in/planner").path)
	assert.Zero(t, tab.get("/").doc.Find(".sign-off").Length())
	p := tab.get("/shop/access")
	assert.Contains(t, p.text(".caution-card"), "faceside passphrase")
}
