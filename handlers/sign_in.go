package handlers

import (
	"net/http"
	"net/url"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/views"
)

const plannerSignInPath = "/sign-in/planner"

// doorRoutes are where people say who they are.
func (s *server) doorRoutes(e *gin.Engine) {
	e.GET("/sign-in", s.signIn)
	e.POST("/sign-in/people/:id", s.signInPerson)
	e.GET(plannerSignInPath, s.signInPlanner)
	e.POST(plannerSignInPath, s.takePassphrase)
	e.POST("/sign-off", s.signOff)
	e.GET("/pin", s.ownPIN)
	e.POST("/pin", s.setPIN)
	e.GET("/enrol/:secret", s.enrolPage)
	e.POST("/enrol", s.enrol)
}

// signIn asks who is at this tablet, or says how a tablet is enrolled.
func (s *server) signIn(c *gin.Context) {
	data := views.SignIn{Back: localPath(c.Query("back"))}
	if c.Query("again") != "" {
		data.Notice = s.words(c).say("What you sent just now was not taken, as nobody was signed in any more: sign in and send it again.")
	}
	s.signInPage(c, http.StatusOK, data)
}

func (s *server) signInPage(c *gin.Context, status int, data views.SignIn) {
	a := admission(c)
	if !a.On {
		seeOther(c, "/")
		return
	}
	snap, err := s.snapshot(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	if data.Enrolled = a.Key != nil; data.Enrolled {
		if data.People, err = s.peopleHere(c, snap); err != nil {
			s.fail(c, err)
			return
		}
	}
	s.page(c, status, "sign-in", s.words(c).say("Sign in"), data)
}

// peopleHere are those who work here; who was at this tablet within the idle time is
// marked, as no PIN is asked for.
func (s *server) peopleHere(c *gin.Context, snap *models.Snapshot) ([]views.PersonChoice, error) {
	open, err := s.store.Sessions(c.Request.Context())
	if err != nil {
		return nil, err
	}
	key, here := admission(c).Key, map[models.ID]bool{}
	for _, in := range open {
		if in.Role == models.Bench && *in.KeyID == key.ID {
			here[*in.PersonID] = true
		}
	}
	var all []views.PersonChoice
	for _, p := range snap.People {
		if p.Active {
			all = append(all, views.PersonChoice{ID: p.ID, Name: p.Name, Current: here[p.ID]})
		}
	}
	return all, nil
}

// pinTyped is the PIN so far: what was typed in the field, and the key that was pressed.
func pinTyped(c *gin.Context) (typed string, whole bool) {
	typed, key := c.PostForm("pin"), c.PostForm("key")
	switch {
	case len(typed) > models.PINDigits:
		return typed, true
	case key == "back":
		return typed[:max(len(typed)-1, 0)], false
	case len(key) == 1:
		typed += key
	case c.PostForm("done") != "":
		return typed, true
	}
	return typed, len(typed) >= models.PINDigits
}

// signInPerson asks for a person's PIN and signs them in. Without script each key of the
// pad sends the digits so far; the pad is drawn again with one more.
func (s *server) signInPerson(c *gin.Context) {
	id, err := idOf(c)
	if err == nil {
		err = parseForm(c)
	}
	if err != nil {
		s.fail(c, err)
		return
	}
	a, back := admission(c), localPath(c.PostForm("back"))
	if !a.On || a.Key == nil {
		seeOther(c, signInHref(back, false))
		return
	}
	typed, whole := pinTyped(c)
	if typed == "" && c.PostForm("key") == "" && c.PostForm("done") == "" {
		s.signInAgain(c, id, back)
		return
	}
	if !whole {
		s.pinPad(c, http.StatusOK, id, views.PINPad{Back: back, Typed: typed})
		return
	}
	token, err := s.store.SignInPerson(c.Request.Context(), a, id, typed)
	if err != nil {
		s.pinRefused(c, id, back, err)
		return
	}
	s.showSession(c, token)
	access, err := s.store.PeopleAccess(c.Request.Context())
	if err != nil { // they are signed in all the same, and are asked for a PIN of their own next time
		s.log.Error("read whether a PIN was drawn", "error", models.Logged(err))
	}
	if access[id].Given {
		back = "/pin?" + url.Values{"back": {back}}.Encode()
	}
	seeOther(c, back)
}

// signInAgain lets somebody in who was at this tablet just now, or asks for the PIN.
func (s *server) signInAgain(c *gin.Context, id models.ID, back string) {
	token, in, err := s.store.SignInAgain(c.Request.Context(), admission(c), id)
	switch {
	case err != nil:
		s.fail(c, err)
	case in:
		s.showSession(c, token)
		seeOther(c, back)
	default:
		s.pinPad(c, http.StatusOK, id, views.PINPad{Back: back})
	}
}

func (s *server) pinRefused(c *gin.Context, id models.ID, back string, err error) {
	if failed(err) {
		s.fail(c, err)
		return
	}
	waitFor(c, err)
	s.pinPad(c, statusOf(err), id, views.PINPad{Back: back, Notice: s.words(c).sentence(err), Barred: models.CodeOf(err) == models.Barred})
}

func (s *server) pinPad(c *gin.Context, status int, id models.ID, pad views.PINPad) {
	snap, err := s.snapshot(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	pad.Person, pad.Digits = id, models.PINDigits
	pad.Name = s.words(c).say("Number %d", id)
	if p := snap.Person(id); p != nil {
		pad.Name = p.Name
	}
	s.page(c, status, "pin", s.words(c).say("PIN"), pad)
}

// waitFor tells a program when to try again what was refused for now.
func waitFor(c *gin.Context, err error) {
	if wait := models.WaitOf(err); wait > 0 {
		retryAfter(c, wait)
	}
}

// signInPlanner asks for the passphrase.
func (s *server) signInPlanner(c *gin.Context) {
	s.passphrasePage(c, http.StatusOK, views.PlannerSignIn{Back: localPath(c.Query("back"))})
}

func (s *server) passphrasePage(c *gin.Context, status int, data views.PlannerSignIn) {
	if !admission(c).On {
		seeOther(c, "/")
		return
	}
	s.page(c, status, "sign-in-planner", s.words(c).say("The planner"), data)
}

func (s *server) takePassphrase(c *gin.Context) {
	if err := parseForm(c); err != nil {
		s.fail(c, err)
		return
	}
	back := localPath(c.PostForm("back"))
	if !admission(c).On {
		seeOther(c, back)
		return
	}
	token, err := s.store.SignInPlanner(c.Request.Context(), admission(c), c.PostForm("passphrase"))
	switch {
	case err == nil:
		s.showSession(c, token)
		s.knowBrowser(c)
		seeOther(c, back)
	case failed(err):
		s.fail(c, err)
	default:
		waitFor(c, err)
		s.passphrasePage(c, statusOf(err), views.PlannerSignIn{Back: back, Notice: s.words(c).sentence(err)})
	}
}

// knowBrowser has a browser show from now on that the planner signed in there.
func (s *server) knowBrowser(c *gin.Context) {
	known, err := s.store.KnowBrowser(c.Request.Context(), admission(c))
	if err != nil { // they are signed in all the same
		s.log.Error("know a browser", "error", models.Logged(err))
		return
	}
	setCookie(c, knownCookie, known)
}

// signOff ends the session; the tablet asks who is there.
func (s *server) signOff(c *gin.Context) {
	if err := s.store.SignOff(c.Request.Context(), admission(c)); err != nil {
		s.fail(c, err)
		return
	}
	endCookie(c, sessionCookie)
	seeOther(c, "/sign-in")
}

// showSession has the browser show a session from now on.
func (s *server) showSession(c *gin.Context, token string) {
	setCookieFor(c, sessionCookie, token, 0)
}

// ownPIN is where a person sets a PIN of their own.
func (s *server) ownPIN(c *gin.Context) {
	s.ownPINPage(c, http.StatusOK, localPath(c.Query("back")), nil)
}

func (s *server) ownPINPage(c *gin.Context, status int, back string, refusal error) {
	a, w := admission(c), s.words(c)
	snap, err := s.snapshot(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	if a.Person == nil {
		s.problem(c, http.StatusForbidden, w.say("Sign in with your PIN first: then you can change it."), nil)
		return
	}
	field := func(name, label string) views.Field {
		return views.Field{Name: name, Label: label, Kind: "password", Mode: "numeric"}
	}
	data := views.OwnPIN{Given: !a.OwnPIN, Back: back, Form: views.Form{ID: "own-pin", Action: "/pin", Save: w.say("Keep the new PIN"), Fields: []views.Field{
		field("pin", w.say("PIN so far")), field("next", w.say("New PIN, six digits")), field("again", w.say("New PIN once more")),
		{Name: "back", Kind: "hidden", Value: back},
	}}}
	if p := snap.Person(*a.Person); p != nil {
		data.Name = p.Name
	}
	if refusal != nil {
		data.Form.Notice = w.blame(data.Form.Fields, refusal)
	}
	s.page(c, status, "own-pin", w.say("Your PIN"), data)
}

func (s *server) setPIN(c *gin.Context) {
	in, err := s.reader(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	back := localPath(in.form.Get("back"))
	if in.form.Get("next") != in.form.Get("again") {
		in.refuse("again", "The two are not the same.")
	}
	if err = in.err(); err == nil {
		err = s.store.SetPIN(c.Request.Context(), admission(c), in.form.Get("pin"), in.form.Get("next"))
	}
	if err == nil {
		seeOther(c, back)
		return
	}
	waitFor(c, err)
	s.ownPINPage(c, formStatus(err), back, err)
}

// enrolPage asks whether this is the tablet that the code is meant for: a link that is
// only looked at must enrol nothing.
func (s *server) enrolPage(c *gin.Context) {
	key, err := s.store.Code(c.Request.Context(), c.Param("secret"))
	if err != nil {
		s.fail(c, err)
		return
	}
	c.Header("Referrer-Policy", "no-referrer") // the address is the key
	s.page(c, http.StatusOK, "enrol", s.words(c).say("Enrol this tablet"), views.Enrol{Name: key.Name, Code: c.Param("secret")})
}

// enrol uses a code up. A browser keeps what it shows from then on; a program that
// stands in a tablet's place is told it.
func (s *server) enrol(c *gin.Context) {
	if err := parseForm(c); err != nil {
		s.fail(c, err)
		return
	}
	secret, err := s.store.Enrol(c.Request.Context(), c.PostForm("code"), tabletID(c))
	switch {
	case err != nil && wantsJSON(c):
		c.JSON(statusOf(err), gin.H{"why": s.words(c).sentence(err)})
	case err != nil && models.CodeOf(err) == models.Invalid && admission(c).On:
		s.signInPage(c, statusOf(err), views.SignIn{CodeNote: s.words(c).sentence(err), Back: "/"})
	case err != nil:
		s.fail(c, err)
	case wantsJSON(c):
		c.JSON(http.StatusOK, gin.H{"token": secret})
	default:
		setCookie(c, keyCookie, secret)
		seeOther(c, "/")
	}
}
