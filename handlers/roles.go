package handlers

import (
	"net/http"
	"net/url"
	"strings"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/views"
)

// access says who may ask for an address, where somebody has to sign in at all.
type access int

const (
	plannerOnly access = iota // of what stands in no list, too
	open                      // anybody, and nobody looks who it is
	door                      // anybody: it is where people sign in
	ownTablet                 // a tablet's queue, too, when its person is signed in no more: the action decides
	bench                     // whoever is signed in
	program                   // a program by its key
)

// may lists every address by who may ask for it. A test holds it against the routes.
var may = map[access][]string{
	open: {
		"GET /healthz", "GET /readyz", "GET /static/*name", "GET /sw.js", "GET " + trustPath, "GET " + trustFilePath, "GET " + shopFeedPath, "GET " + personFeedPath,
	},
	door: {
		"GET /sign-in", "POST /sign-in/people/:id", "GET /sign-in/planner", "POST /sign-in/planner", "POST /sign-off",
		"GET /enrol/:secret", "POST /enrol",
	},
	ownTablet: {"POST /tap", "POST /ticks"},
	bench: {
		"GET /", "GET /bench", "GET /bench/ahead", "GET /live", "POST /who", "GET /pin", "POST /pin",
		"POST /taps/:id", "GET /steps/:id", "GET /steps/:id/trouble", "GET /steps/:id/trouble/told",
		"GET /steps/:id/note", "POST " + notesPath, "POST /steps/:id/notes/remove", "GET /photos/:name",
		"GET /gates", "GET /gates/resting", "GET /week", "GET /stations", "GET /stations/:id", "GET /stations/:id/sheet", "GET /sheets",
	},
	program: {
		"GET /api/v1/openapi.yaml", "GET /api/v1/shop", "GET /api/v1/commissions", "GET /api/v1/commissions/:id", "GET /api/v1/steps",
		"GET /api/v1/steps/:id", "GET /api/v1/stations", "GET /api/v1/stations/:id", "GET /api/v1/plan", "GET /api/v1/taps",
	},
	plannerOnly: {
		"POST /tablet", "POST /steps/:id/pin", "POST /steps/:id/unpin", "GET /times", "GET /plan.csv",

		"GET /commissions", "GET /commissions/new", "GET /commissions/new/:pattern", "POST /commissions/new/:pattern", "POST /commissions/new/:pattern/preview",
		"GET /commissions/:id", "POST /commissions/:id", "POST /commissions/:id/state", "GET /commissions/:id/help", "POST /commissions/:id/help/anew",
		"GET /commissions/:id/add-piece", "GET /commissions/:id/add-piece/:pattern", "POST /commissions/:id/add-piece/:pattern", "POST /commissions/:id/add-piece/:pattern/preview",
		"GET /commissions/:id/keep", "POST /commissions/:id/keep", "GET /commissions/:id/traveller", "GET /commissions/:id/parts.csv", "GET /commissions/:id/plan.csv",
		"GET /commissions/:id/cut-list", "POST /commissions/:id/together",

		"GET /commissions/:id/edit", "GET /commissions/:id/edit/add", "POST /commissions/:id/edit/add", "POST /commissions/:id/edit/remedy", "GET /commissions/:id/edit/steps/:step",
		"POST /commissions/:id/edit/steps/:step/change",
		"POST /commissions/:id/edit/steps/:step/uses",
		"POST /commissions/:id/edit/steps/:step/split",
		"POST /commissions/:id/edit/steps/:step/move",
		"POST /commissions/:id/edit/steps/:step/remove",
		"POST /commissions/:id/edit/steps/:step/link",
		"POST /commissions/:id/edit/steps/:step/relink",
		"POST /commissions/:id/edit/steps/:step/unlink",

		"GET /what-if", "POST /what-if", "GET /steered", "POST /steered/:id/let-go",

		"GET /stock", "POST /stock/boards", "GET /stock/boards/:id", "POST /stock/boards/:id", "POST /stock/boards/:id/remove",
		"POST /stock/boards/:id/defects", "POST /stock/boards/:id/defects/:defect/remove", "GET /stock/cuts", "POST /stock/cuttings",
		"GET /stock/cuttings/:id", "POST /stock/cuttings/:id/undo", "GET /stock/buy", "GET /stock/runs",

		"GET /patterns", "POST /patterns", "GET /patterns/:key/file", "POST /patterns/:key/remove",

		"GET /shop", "POST /shop", "POST /shop/language", "POST /shop/hours", "POST /shop/days-off", "POST /shop/days-off/:id/remove",
		"POST /shop/people", "POST /shop/people/:id", "POST /shop/stations", "POST /shop/stations/:id", "POST /shop/clamps", "POST /shop/clamps/:id",
		"POST /shop/glues", "POST /shop/glues/:id", "POST /shop/finishes", "POST /shop/finishes/:id", "POST /shop/zones", "POST /shop/zones/:id",
		"POST /shop/calendars", "POST /shop/calendars/end",

		"GET /shop/access", "POST /shop/access/idle", "POST /shop/access/passphrase", "POST /shop/access/people/:id/pin", "POST /shop/access/people/:id/free",
		"POST /shop/access/tablets", "POST /shop/access/programs", "POST /shop/access/keys/:id/end", "POST /shop/access/sessions/:id/end", "POST /shop/access/planner/free",
	},
}

// accessOf is the list turned round.
var accessOf = func() map[string]access {
	all := map[string]access{}
	for who, routes := range may {
		for _, route := range routes {
			all[route] = who
		}
	}
	return all
}()

const admissionKey = "admission"

// The cookies of who is signed in, and of a tablet that is enrolled.
const (
	sessionCookie = "faceside_session"
	keyCookie     = "faceside_key"
	knownCookie   = "faceside_known" // of a browser on which the planner signed in
)

// admission is as what a request was let in.
func admission(c *gin.Context) models.Admission {
	a, _ := c.Value(admissionKey).(models.Admission)
	return a
}

// admitted lets a request through to its action, or says who has to sign in first. A
// tablet that is enrolled has its id from its key and not from what it says.
func (s *server) admitted(c *gin.Context) {
	who := accessOf[c.Request.Method+" "+c.FullPath()]
	if c.FullPath() == "" { // there is no such page, which anybody here may be told
		who = bench
	}
	if who == open {
		c.Next()
		return
	}
	a, err := s.store.Admit(c.Request.Context(), shown(c), acts(c))
	if err != nil {
		s.fail(c, err)
		return
	}
	c.Set(admissionKey, a)
	if a.Key != nil && a.Key.Tablet != nil {
		c.Set(tabletCookie, *a.Key.Tablet)
	}
	switch {
	case !a.On || allows(a, who, c):
		c.Next()
	case a.Role == models.Nobody:
		s.askIn(c)
	default:
		s.problem(c, http.StatusForbidden, s.words(c).say("That is the planner's: sign in with the passphrase first."), nil)
	}
}

// allows says whether somebody may ask for an address.
func allows(a models.Admission, who access, c *gin.Context) bool {
	switch who {
	case open, door:
		return true
	case ownTablet:
		return a.Role == models.Bench || a.Role == models.Planner || a.Key != nil && wantsJSON(c)
	case bench:
		return a.Role == models.Bench || a.Role == models.Planner
	case program:
		return a.Role == models.Program || a.Role == models.Planner
	}
	return a.Role == models.Planner
}

// shown is what a request shows of who asks.
func shown(c *gin.Context) models.Credentials {
	var all models.Credentials
	scheme, bearer, _ := strings.Cut(c.Request.Header.Get("Authorization"), " ")
	if strings.EqualFold(scheme, "Bearer") && isAPI(c) {
		all.Bearer = strings.TrimSpace(bearer)
		return all
	}
	all.Session, _ = c.Cookie(sessionCookie)
	all.Tablet, _ = c.Cookie(keyCookie)
	all.Browser, _ = c.Cookie(knownCookie)
	return all
}

// acts says whether a person did something. What a screen fetches by itself, and taps
// that had waited, are no sign that somebody is there.
func acts(c *gin.Context) bool {
	switch c.FullPath() {
	case livePath, "/bench", "/bench/ahead", "/gates/resting":
		return false
	case "/tap":
		return parseForm(c) != nil || c.PostForm("late") == ""
	}
	return c.Request.Method != http.MethodGet || !swapped(c)
}

func wantsJSON(c *gin.Context) bool {
	return strings.Contains(c.Request.Header.Get("Accept"), "application/json")
}

// askIn asks who is there before anything else: a person is led to where they say so,
// a script or a program told that it has to.
func (s *server) askIn(c *gin.Context) {
	sentence := s.words(c).say("Sign in first.")
	c.Header("WWW-Authenticate", `Bearer realm="Faceside"`)
	switch {
	case isAPI(c):
		s.failAPI(c, http.StatusUnauthorized, s.words(c).say("Programs show the key that the planner made for them on the Shop screen, under People and tablets (Authorization: Bearer …)."), nil)
	case wantsJSON(c):
		c.JSON(http.StatusUnauthorized, gin.H{"why": sentence, "now": s.store.Now()})
	case swapped(c):
		c.Header("HX-Redirect", signInHref(backOf(c.GetHeader("HX-Current-URL")), false))
		s.problem(c, http.StatusUnauthorized, sentence, nil)
	case c.Request.Header.Get("Accept") == "text/event-stream":
		c.Status(http.StatusUnauthorized)
	case c.Request.Method == http.MethodGet:
		c.Writer.Header().Del("WWW-Authenticate")
		seeOther(c, signInHref(c.Request.URL.RequestURI(), false))
	default:
		c.Writer.Header().Del("WWW-Authenticate")
		seeOther(c, signInHref(backOf(c.Request.Header.Get("Referer")), true))
	}
	c.Abort()
}

// signInHref is where people sign in; back is where they go on, and lost says that a
// form was not taken.
func signInHref(back string, lost bool) string {
	q := url.Values{}
	if back = localPath(back); back != "/" {
		q.Set("back", back)
	}
	if lost {
		q.Set("again", "on")
	}
	if len(q) == 0 {
		return "/sign-in"
	}
	return "/sign-in?" + q.Encode()
}

// plannerHref is where somebody who may not do something says that they are the planner,
// "" where that is of no use.
func plannerHref(c *gin.Context, status int) string {
	if a := admission(c); status != http.StatusForbidden || !a.On || a.Role == models.Planner {
		return ""
	}
	back := c.Request.URL.RequestURI()
	if c.Request.Method != http.MethodGet {
		back = backOf(c.Request.Header.Get("Referer"))
	}
	return plannerSignInPath + "?" + url.Values{"back": {localPath(back)}}.Encode()
}

// backOf is the path of a page that sent a form.
func backOf(page string) string {
	u, err := url.Parse(page)
	if err != nil {
		return "/"
	}
	return localPath(u.RequestURI())
}

// signed is what the layout shows of who is signed in.
func signed(c *gin.Context) views.Signed {
	a := admission(c)
	return views.Signed{On: a.On, In: a.On && a.Session != nil, Planner: a.Role == models.Planner}
}
