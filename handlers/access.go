package handlers

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/models/phrase"
	"faceside/views"
)

const accessPath = "/shop/access"

// eventsShown is how many of the newest events the screen lists.
const eventsShown = 50

// accessRoutes are the planner's screen of who may do what, and its forms.
func (s *server) accessRoutes(e *gin.Engine) {
	e.GET(accessPath, s.access)
	e.POST(accessPath+"/idle", s.saveIdle)
	e.POST(accessPath+"/passphrase", s.changePassphrase)
	e.POST(accessPath+"/planner/free", s.freePlanner)
	e.POST(accessPath+"/people/:id/pin", s.givePIN)
	e.POST(accessPath+"/people/:id/free", s.freePerson)
	e.POST(accessPath+"/tablets", s.makeCode)
	e.POST(accessPath+"/programs", s.makeProgramKey)
	e.POST(accessPath+"/keys/:id/end", s.endKey)
	e.POST(accessPath+"/sessions/:id/end", s.endSession)
}

func (s *server) access(c *gin.Context) { s.accessPage(c, http.StatusOK, accessSaid{}) }

// accessSaid is what the screen says of what was just asked of it.
type accessSaid struct {
	told    *views.Told
	formID  string     // which was refused
	typed   url.Values // in it; nil where that is not sent back
	refusal error
}

func (s *server) accessPage(c *gin.Context, status int, said accessSaid) {
	r, err := s.room(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	data, err := s.accessData(c, r)
	if err != nil {
		s.fail(c, err)
		return
	}
	data.Told = said.told
	if said.refusal != nil {
		forms := []*views.Form{&data.Idle, &data.Tablet, &data.Program}
		if data.Passphrase != nil {
			forms = append(forms, data.Passphrase)
		}
		data.Notice = r.say.blame(nil, said.refusal)
		for _, form := range forms {
			if form.ID == said.formID {
				data.Notice, form.Open = "", true
				if said.typed == nil {
					form.Notice = r.say.blame(form.Fields, said.refusal)
				} else {
					r.say.refuse(form, said.typed, said.refusal)
				}
			}
		}
	}
	s.page(c, status, "access", r.say.say("People and tablets"), data)
}

func (s *server) accessData(c *gin.Context, r *room) (views.Access, error) {
	ctx, a := c.Request.Context(), admission(c)
	rules, err := s.store.SignIn(ctx)
	if err != nil {
		return views.Access{}, err
	}
	keys, err := s.store.Keys(ctx)
	if err != nil {
		return views.Access{}, err
	}
	people, err := s.store.PeopleAccess(ctx)
	if err != nil {
		return views.Access{}, err
	}
	sessions, err := s.store.Sessions(ctx)
	if err != nil {
		return views.Access{}, err
	}
	events, err := s.store.SignInEvents(ctx, eventsShown)
	if err != nil {
		return views.Access{}, err
	}
	data := views.Access{On: rules.On(), Idle: r.say.idleForm(rules), Tablet: r.say.keyForm("tablets"), Program: r.say.keyForm("programs")}
	if a.On {
		form := r.say.passphraseForm()
		data.Passphrase = &form
	}
	for _, p := range r.snap.People {
		if of, known := people[p.ID]; known || p.Active {
			data.People = append(data.People, r.say.personAccess(p, of))
		}
	}
	for _, key := range keys {
		row := r.say.keyRow(key)
		row.This = a.Key != nil && a.Key.ID == key.ID
		if key.Kind == models.ProgramKey {
			data.Programs = append(data.Programs, row)
		} else {
			data.Tablets = append(data.Tablets, row)
		}
	}
	names, err := s.store.KeyNames(ctx)
	if err != nil {
		return views.Access{}, err
	}
	for _, in := range sessions {
		row := r.sessionRow(in, names)
		row.This = a.Session != nil && a.Session.ID == in.ID
		data.Sessions = append(data.Sessions, row)
	}
	for _, e := range events {
		data.Events = append(data.Events, views.AccessEvent{When: r.say.at(e.At), What: r.eventSaid(e, names)})
	}
	return data, nil
}

func (w words) personAccess(p models.Person, of models.PersonAccess) views.AccessPerson {
	row := views.AccessPerson{ID: p.ID, Name: p.Name, HasPIN: of.HasPIN, Stuck: of.LockedAt != nil || of.Waits != nil && of.Waits.After(w.now)}
	switch {
	case of.LockedAt != nil:
		row.Bad, row.Says = true, w.say("locked since %s, after %d wrong PINs", w.at(*of.LockedAt), of.Failed)
	case !of.HasPIN:
		row.Says = w.say("no PIN yet")
	case of.Failed > 0:
		row.Says = w.say("%d wrong PINs in a row", of.Failed)
	case of.Given:
		row.Says = w.say("has the PIN that was drawn")
	default:
		row.Says = w.say("has a PIN of their own")
	}
	return row
}

func (w words) keyRow(key models.AccessKey) views.AccessKey {
	row := views.AccessKey{ID: key.ID, Name: key.Name}
	switch {
	case key.Secret == nil:
		row.Says = w.say("its code counts until %s", w.at(*key.CodeUntil))
	case key.SeenAt == nil:
		row.Says = w.say("made %s, not seen yet", w.at(key.MadeAt))
	default:
		row.Says = w.say("last seen %s", w.at(*key.SeenAt))
	}
	return row
}

func (r *room) sessionRow(in models.Session, names map[models.ID]string) views.AccessSession {
	row := views.AccessSession{ID: in.ID, Who: r.who(in.PersonID), Where: r.say.say("another browser"), Says: r.say.say("since %s, last seen %s", r.say.at(in.MadeAt), r.say.at(in.SeenAt))}
	if in.Role == models.Planner {
		row.Who = r.say.say("The planner")
	}
	if in.KeyID != nil {
		row.Where = names[*in.KeyID]
	}
	return row
}

// eventWords say an event: who, and on what.
var eventWords = map[models.SignInEventKind]phrase.Key{
	models.EventSignedIn:        "%[1]s signed in (%[2]s).",
	models.EventWrongPIN:        "A wrong PIN for %[1]s (%[2]s).",
	models.EventWrongPassphrase: "A wrong passphrase (%[2]s).",
	models.EventLocked:          "%[1]s was locked after wrong PINs (%[2]s).",
	models.EventFreed:           "%[1]s was freed.",
	models.EventSignedOff:       "%[1]s signed off (%[2]s).",
	models.EventIdle:            "%[1]s was signed off, as nobody did anything (%[2]s).",
	models.EventStopped:         "The planner ended that %[1]s was signed in (%[2]s).",
	models.EventPINGiven:        "A PIN was drawn for %[1]s.",
	models.EventPINChanged:      "%[1]s set a PIN of their own.",
	models.EventPassphrase:      "The passphrase was set.",
	models.EventNoSignIn:        "The passphrase was taken away: nobody has to sign in.",
	models.EventCode:            "A code for the tablet “%[2]s” was made.",
	models.EventEnrolled:        "The tablet “%[2]s” was enrolled.",
	models.EventProgram:         "A key for the program “%[2]s” was made.",
	models.EventRevoked:         "“%[2]s” was taken back.",
}

func (r *room) eventSaid(e models.SignInEvent, names map[models.ID]string) string {
	who, where := r.say.say("The planner"), r.say.say("another browser")
	if e.PersonID != nil {
		who = r.who(e.PersonID)
	} else if e.Kind == models.EventWrongPIN {
		who = r.say.say("nobody that is known")
	}
	if e.KeyID != nil {
		where = names[*e.KeyID]
	}
	return r.say.tell(eventWords[e.Kind].Of(phrase.Name(who), phrase.Name(where)))
}

func (w words) idleForm(rules models.SignIn) views.Form {
	return views.Form{ID: "idle-form", Action: accessPath + "/idle", Save: w.say("Save"), Fields: []views.Field{
		{Name: "idle_time", Label: w.say("Minutes without a touch, after which the PIN is asked for"), Kind: "number", Value: fmt.Sprint(rules.Idle), Mode: "numeric", Least: "1", Greatest: "480",
			Help: w.say("The planner's passphrase is asked for after 30 minutes, and everybody is signed off after 12 hours.")},
	}}
}

func (w words) keyForm(of string) views.Form {
	form := views.Form{ID: of + "-new", Action: accessPath + "/" + of, Title: w.say("Enrol a tablet"), Save: w.say("Make a code"), Fields: []views.Field{{Name: "name", Label: w.say("Name of the tablet"), Kind: "text"}}}
	if of == "programs" {
		form.Title, form.Save, form.Fields[0].Label = w.say("Let a program in"), w.say("Make a key"), w.say("Name of the program")
	}
	return form
}

func (w words) passphraseForm() views.Form {
	return views.Form{ID: "passphrase-form", Action: accessPath + "/passphrase", Save: w.say("Set the new passphrase"), Fields: []views.Field{
		{Name: "now", Label: w.say("Passphrase so far"), Kind: "password"},
		{Name: "next", Label: w.say("New passphrase"), Kind: "password", Help: w.say("At least %d characters, of whatever kind: a few words that nobody would put together. Other planners are signed off.", models.PassphraseLeast)},
		{Name: "again", Label: w.say("New passphrase once more"), Kind: "password"},
	}}
}

// accessDone goes back to a part of the screen, or shows what was refused.
func (s *server) accessDone(c *gin.Context, part, formID string, typed url.Values, err error) {
	switch {
	case err == nil:
		seeOther(c, accessPath+"#"+part)
	case failed(err):
		s.fail(c, err)
	default:
		waitFor(c, err)
		s.accessPage(c, formStatus(err), accessSaid{formID: formID, typed: typed, refusal: err})
	}
}

func (s *server) saveIdle(c *gin.Context) {
	in, err := s.reader(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	minutes := in.whole("idle_time")
	if err = in.err(); err == nil {
		err = s.store.SaveIdle(c.Request.Context(), minutes)
	}
	s.accessDone(c, "pins", "idle-form", in.form, err)
}

func (s *server) changePassphrase(c *gin.Context) {
	in, err := s.reader(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	if in.form.Get("next") != in.form.Get("again") {
		in.refuse("again", "The two are not the same.")
	}
	if err = in.err(); err == nil {
		err = s.store.ChangePassphrase(c.Request.Context(), admission(c), in.form.Get("now"), in.form.Get("next"))
	}
	s.accessDone(c, "passphrase", "passphrase-form", nil, err)
}

func (s *server) freePlanner(c *gin.Context) {
	s.accessDone(c, "passphrase", "", nil, s.store.Unlock(c.Request.Context(), 0))
}

func (s *server) freePerson(c *gin.Context) {
	id, err := idOf(c)
	if err == nil {
		err = s.store.Unlock(c.Request.Context(), id)
	}
	s.accessDone(c, "pins", "", nil, err)
}

// givePIN draws a PIN, which is told on the page that answers and nowhere else.
func (s *server) givePIN(c *gin.Context) {
	id, err := idOf(c)
	var r *room
	if err == nil {
		r, err = s.room(c)
	}
	pin := ""
	if err == nil {
		pin, err = s.store.GivePIN(c.Request.Context(), id)
	}
	if err != nil {
		s.accessDone(c, "pins", "", nil, err)
		return
	}
	s.accessPage(c, http.StatusOK, accessSaid{told: &views.Told{
		Title: r.say.say("The PIN of %s", phrase.Name(r.who(&id))), Secret: pin[:3] + " " + pin[3:],
		Says: r.say.say("Tell it to nobody else. It is shown this once; at the first sign-in its person is asked to set one of their own."),
	}})
}

// makeCode makes the code by which a tablet is enrolled.
func (s *server) makeCode(c *gin.Context) {
	in, err := s.reader(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	key, code, err := s.store.MakeCode(c.Request.Context(), in.text("name"))
	if err != nil {
		s.accessDone(c, "tablets", "tablets-new", in.form, err)
		return
	}
	w := s.words(c)
	told := &views.Told{Title: w.say("The code of “%s”", phrase.Name(key.Name)), Secret: spaced(code), Href: origin(c) + "/enrol/" + code,
		Says: w.say("It enrols one tablet, once, until %s. Point the tablet's camera at it, or open the shop's address there and type it.", w.at(*key.CodeUntil))}
	if onlyHere(c) {
		told.Notes = append(told.Notes, w.say("You are here by an address that only this machine has, and so is the one in the code. Open this screen by the address that the tablets use."))
	}
	if told.Code, err = qrCode(told.Href, w.say("The address that enrols the tablet, for a camera")); err != nil {
		s.fail(c, err)
		return
	}
	s.accessPage(c, http.StatusOK, accessSaid{told: told})
}

// spaced writes a code in groups, as people type it.
func spaced(code string) string {
	var groups []string
	for ; len(code) > 4; code = code[4:] {
		groups = append(groups, code[:4])
	}
	return strings.Join(append(groups, code), " ")
}

func (s *server) makeProgramKey(c *gin.Context) {
	in, err := s.reader(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	key, token, err := s.store.MakeProgramKey(c.Request.Context(), in.text("name"))
	if err != nil {
		s.accessDone(c, "tablets", "programs-new", in.form, err)
		return
	}
	w := s.words(c)
	s.accessPage(c, http.StatusOK, accessSaid{told: &views.Told{Title: w.say("The key of “%s”", phrase.Name(key.Name)), Secret: token,
		Says: w.say("The program sends it with each request, as “Authorization: Bearer”. It is shown this once.")}})
}

func (s *server) endKey(c *gin.Context) {
	id, err := idOf(c)
	if err == nil {
		err = s.store.EndKey(c.Request.Context(), id)
	}
	s.accessDone(c, "tablets", "", nil, err)
}

func (s *server) endSession(c *gin.Context) {
	id, err := idOf(c)
	if err == nil {
		err = s.store.EndSession(c.Request.Context(), id)
	}
	s.accessDone(c, "sessions", "", nil, err)
}
