package main

import (
	"context"
	"fmt"
	"log/slog"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"faceside/handlers"
	"faceside/models"
	"faceside/models/testrig"
	"faceside/models/testrig/disk"
)

// A play shows screens in states, one after another, and looks at each.
type play struct {
	t       *testing.T
	browser context.Context
	look    func(tb *tablet, name string) // at what is on the tablet now
}

// plays are all screens in all states. They are independent of each other.
var plays = map[string]func(p *play){
	"a day at the bench":     (*play).bench,
	"clamps":                 (*play).clamps,
	"without the server":     (*play).offline,
	"every screen":           (*play).everyScreen,
	"in millimetres, German": (*play).german,
	"a new shop":             (*play).newShop,
	"runs and stations":      (*play).runs,
	"trouble":                (*play).trouble,
	"a second pair of hands": (*play).hands,
	"refused":                (*play).refused,
	"steering":               (*play).steering,
	"signing in":             (*play).signIn,
	"a full disk":            (*play).fullDisk,
	"the server itself":      (*play).server,
}

// open shows a page of a stage on a new tablet.
func (p *play) open(st *stage, path string) *tablet {
	p.t.Helper()
	tb := newTablet(p.t, p.browser, st.address, patient, examined(eyes(p.t)))
	tb.open(path)
	return tb
}

// shows opens a page anew and looks at it.
func (p *play) shows(tb *tablet, path, name string) {
	p.t.Helper()
	tb.open(path)
	p.look(tb, name)
}

// bench goes through the states of a step in one person's hands.
func (p *play) bench() {
	st := demoStage(p.t)
	tb := p.open(st, "/")
	p.look(tb, "who")
	tb.says("Maren")
	p.look(tb, "in hand")
	step := st.inHand("Maren")
	tb.press(thePieces)
	p.look(tb, "in hand, a piece done")
	p.shows(tb, fmt.Sprintf("/steps/%d/note", step), "photo or note")
	tb.fill("textarea", "A knot at the end of the second board")
	tb.pressThrough(".note-form .main")
	p.look(tb, "in hand, with a note")

	st.tap(models.TapPutDown, step, "Maren")
	p.shows(tb, "/", "put down")
	st.tap(models.TapStart, step, "Maren")
	st.tap(models.TapFinish, step, "Maren")
	p.shows(tb, "/", "ready")
	require.Equal(p.t, "ready", tb.text(theState))

	st.tap(models.TapTrouble, st.inHand("Tobias"), "Tobias")
	p.shows(tb, "/", "in trouble")
	p.shows(tb, "/week", "week that has moved")
	require.Positive(p.t, tb.count(".week-cause"), "something moved since the morning")
	st.wait(9 * time.Hour)
	p.shows(tb, "/", "after closing time")
}

// clamps glues up a panel.
func (p *play) clamps() {
	st := rigStage(p.t)
	tb := p.open(st, "/")
	tb.says("Ana")
	for _, key := range []string{"joint", "plane", "plane-rails", "rip"} {
		st.make("Ana", key)
	}
	glue := testrig.Step(p.t, st.snapshot(), "glue-panel").ID
	st.tap(models.TapStart, glue, "Ana")
	p.shows(tb, "/", "glueing up")
	st.wait(20 * time.Minute)
	st.tap(models.TapFinish, glue, "Ana")
	p.shows(tb, "/", "in clamps")
	require.Equal(p.t, 1, tb.count(".rest"))
	p.shows(tb, "/gates", "gates with clamps out")
	st.wait(2 * time.Hour)
	p.shows(tb, "/", "over")
	require.Equal(p.t, 1, tb.count(".rest.over"))
	p.shows(tb, "/gates", "gates with clamps over")
	p.shows(tb, "/week", "week of a small shop")
	p.shows(tb, "/week?as=list", "week as a list")
	p.shows(tb, "/week?days=20", "month of a small shop")

	st.tap(models.TapOut, glue, "Ana")
	for _, key := range []string{"trim", "glue-frame"} {
		st.make("Ana", key)
	}
	st.wait(2 * time.Hour)
	for _, key := range []string{"sand", "coat-1"} {
		st.make("Ana", key)
	}
	p.shows(tb, "/", "idle while it dries")
}

// runs has two steps of one setup in hand together, and a station out of order.
func (p *play) runs() {
	st := rigStage(p.t)
	tb := p.open(st, "/")
	tb.says("Ana")
	st.make("Ana", "joint")
	p.shows(tb, "/", "a run to take")
	p.shows(tb, "/stations", "stations with a run to take")
	snap := st.snapshot()
	st.tap(models.TapStart, testrig.Step(p.t, snap, "plane").ID, "Ana")
	p.shows(tb, "/", "a single step in hand with one to take along")
	require.Equal(p.t, 1, tb.count(".tap-join-run"))
	st.tap(models.TapPutDown, testrig.Step(p.t, snap, "plane").ID, "Ana")
	_, err := st.store.Tap(context.Background(), models.TapRequest{
		ID: "run", Kind: models.TapStartRun, PersonID: testrig.Person(p.t, snap, "Ana"),
		Steps: []models.ID{testrig.Step(p.t, snap, "plane").ID, testrig.Step(p.t, snap, "plane-rails").ID},
	})
	require.NoError(p.t, err)
	st.plan()
	p.shows(tb, "/", "a run in hand")
	require.Equal(p.t, 1, tb.count(".run-card"))
	p.shows(tb, "/stations", "stations with a run in hand")
	st.tap(models.TapPutDown, testrig.Step(p.t, snap, "plane-rails").ID, "Ana")
	p.shows(tb, "/", "a run with a step to take along")
	require.Equal(p.t, 1, tb.count(".run-along .tap-join-run"))
	p.shows(tb, fmt.Sprintf("/stations/%d", testrig.Station(p.t, snap, "planer").ID), "the station with a step to take along")
	testrig.Down(p.t, st.store, "table-saw")
	st.plan()
	p.shows(tb, "/stations", "a station out of order")
	p.shows(tb, fmt.Sprintf("/stations/%d", testrig.Station(p.t, snap, "table-saw").ID), "the station out of order")
}

// offline takes the server away under a tablet, and asks about what became
// impossible meanwhile.
func (p *play) offline() {
	st := demoStage(p.t)
	tb := p.open(st, "/")
	tb.awayFrom()
	tb.says("Maren")
	tb.knowsNext()
	step := st.inHand("Maren")
	require.NoError(p.t, st.stop())
	tb.isAway()
	tb.tapOn(2, 0)
	p.look(tb, "not sent yet")

	st.tap(models.TapTrouble, step, "Maren")
	st.serve(st.address)
	tb.isBack()
	tb.until("it is asked about", func() bool { return tb.count(".question") > 0 })
	p.look(tb, "a tap that came too late")
	p.shows(tb, "/shop", "shop with a question")
}

// everyScreen goes wherever a link leads, to each kind of page once.
func (p *play) everyScreen() {
	st := demoStage(p.t)
	tb := p.open(st, "/")
	tb.says("Maren")
	p.everywhere(tb, "", "/", "/nowhere")
	p.shows(tb, "/commissions/5/edit/add?kind=glue-panel", "a glue-up to add")
}

// everywhere follows the links of the pages it is given, and theirs.
func (p *play) everywhere(tb *tablet, as string, from ...string) {
	p.t.Helper()
	been := map[string]bool{}
	for len(from) > 0 {
		to := from[0]
		from = from[1:]
		if kind := kindOfPage(to); !been[kind] {
			been[kind] = true
			if kind == "/nowhere" {
				tb.forgive("404")
			}
			p.shows(tb, to, as+kind)
			from = append(from, evaluate[[]string](tb, "eyes.links()")...)
		}
	}
	require.Greater(p.t, len(been), 12, "it did not get far")
}

var (
	numbers = regexp.MustCompile(`/\d+`)
	keys    = regexp.MustCompile(`(/new|/add-piece|/patterns|/stations)/[^/]+`)
)

// kindOfPage is a page's path without the number or key of what it shows.
func kindOfPage(to string) string {
	return path.Clean(keys.ReplaceAllString(numbers.ReplaceAllString(to, "/:"), "$1/:"))
}

// german has the demo shop in millimetres and German, with long names.
func (p *play) german() {
	st := demoStage(p.t)
	snap := st.snapshot()
	shop := snap.Shop
	shop.Language, shop.Units = "de", "mm"
	shop.Name = "Schreinerei Oberholzer-Brunnenschweiler & Nachfolger"
	ctx := context.Background()
	require.NoError(p.t, st.store.SaveShop(ctx, shop))
	person := snap.People[0]
	person.Name = "Bartholomäus-Maximilian Oberholzer-Brunnenschweiler"
	_, err := st.store.SavePerson(ctx, person)
	require.NoError(p.t, err)
	for _, c := range snap.Commissions {
		c.Name = "Treppenhausbibliotheksregal mit Schiebetüren für " + c.Name
		require.NoError(p.t, st.store.SaveCommission(ctx, c))
	}
	st.plan()
	tb := p.open(st, "/")
	p.look(tb, "German who")
	tb.pressThrough(".who-choice form:nth-of-type(1) button")
	for _, page := range []string{"/", "/gates", "/week", "/commissions", "/commissions/5", "/commissions/new/hall-bench", "/commissions/5/edit", "/steps/300/trouble", "/stock", "/shop"} {
		p.shows(tb, page, "German "+kindOfPage(page))
	}
}

// newShop is a shop whose owner has entered nothing yet.
func (p *play) newShop() {
	st := newStage(p.t)
	tb := p.open(st, "/")
	for _, page := range []string{"/", "/gates", "/week", "/commissions", "/stock", "/stock/cuts", "/stock/buy", "/stock/runs", "/patterns", "/shop"} {
		p.shows(tb, page, "new shop "+page)
	}
	_, err := st.store.SavePerson(context.Background(), models.Person{Name: "Edda", Active: true})
	require.NoError(p.t, err)
	st.plan()
	tb.open("/")
	tb.says("Edda")
	p.look(tb, "nothing to pick up")
}

// refused are forms that came back with what is wrong said beside it.
func (p *play) refused() {
	st := demoStage(p.t)
	tb := p.open(st, "/")
	tb.forgive("422")
	tb.says("Maren")
	refuse := func(page, form, field, value, name string) {
		tb.open(page)
		tb.do(chromedp.Evaluate[chromedp.Void]("eyes.unfold()"))
		tb.do(chromedp.Evaluate[chromedp.Void](fmt.Sprintf(`{
			const form = document.querySelector(%q);
			form.elements[%q].value = %q;
			form.querySelector("button:not([formaction])").id = "send";
		}`, form, field, value)))
		tb.pressThrough("#send")
		require.Positive(p.t, tb.count(".wrong-why, .refusal"), "%s was not refused", name)
		p.look(tb, "refused "+name)
	}
	refuse("/commissions/new/hall-bench", "form.draft", "measure.length", "900", "draft")
	refuse("/shop", `form[action="/shop"]`, "name", "", "shop")
	refuse("/commissions/5", `form[action="/commissions/5"]`, "name", "", "commission")
	refuse("/stock", `form[action="/stock/boards"]`, "length", "minus one", "board")
}

// steering tries changes, keeps one and lets it go.
func (p *play) steering() {
	st := demoStage(p.t)
	tb := p.open(st, "/")
	tb.says("Maren")
	day := st.snapshot().At.AddDate(0, 0, 4).Format(time.DateOnly)
	p.shows(tb, "/commissions/4/help", "what would help")
	p.shows(tb, "/what-if?commission=4", "what if, asking")
	p.shows(tb, "/what-if?kind=hands&name=Cleo&date="+day, "what if with a caution")
	p.shows(tb, "/what-if?kind=day-off&date="+day, "what if")
	tb.pressThrough(".what-if-keep .main")
	require.Positive(p.t, tb.count("#steered form"), "nothing was kept")
	p.look(tb, "what was steered")
	tb.pressThrough("#steered form button")
	require.Zero(p.t, tb.count("#steered form"), "it was not let go")
}

// signIn goes from a tablet that is not enrolled to the planner's screen of all of them.
func (p *play) signIn() {
	st := rigStage(p.t)
	pin := st.signsIn("Ana")
	tb := p.open(st, "/")
	tb.forgive("422")
	tb.forgive("403")
	p.look(tb, "not enrolled")
	p.shows(tb, "/enrol/"+st.code("Window"), "to be enrolled")
	tb.pressThrough("main form button")
	p.look(tb, "who signs in")
	tb.pressThrough(".who-choice form:nth-of-type(1) button")
	tb.press(`.pin-keys button[value="4"]`)
	p.look(tb, "the pad, a digit typed")
	tb.fill("[name=pin]", "00000")
	tb.pressThrough(".pin-typed .button")
	p.look(tb, "a wrong PIN")
	tb.open("/sign-in")
	tb.typesPIN("Ana", pin, true)
	p.look(tb, "a PIN of one's own")
	p.shows(tb, "/", "bench of who is signed in")
	p.shows(tb, "/shop", "not for the bench")
	p.shows(tb, "/sign-in/planner?back=/shop/access", "the passphrase")
	tb.fill("[name=passphrase]", thePassphrase)
	tb.pressThrough("main form button")
	p.look(tb, "people and tablets")
	tb.do(chromedp.Evaluate[chromedp.Void](`document.querySelector("#pins form[action$='/pin'] button").id = "draw"`))
	tb.pressThrough("#draw")
	p.look(tb, "a PIN that was drawn")
	tb.do(chromedp.Evaluate[chromedp.Void](`{
		const form = document.querySelector("#tablets-new");
		form.closest("details").open = true;
		form.elements.name.value = "Saw";
		form.querySelector("button").id = "make";
	}`))
	tb.pressThrough("#make")
	p.look(tb, "a code for a tablet")
}

// patient gives a tablet more time than usual.
func patient(tb *tablet) { tb.limit.Reset(2 * pageLimit) }

// safe makes a file's name of a screen's.
func safe(name string) string {
	return strings.Trim(regexp.MustCompile(`[^A-Za-z0-9]+`).ReplaceAllString(strings.ReplaceAll(name, ":", "one"), "-"), "-")
}

// fullDisk has a tablet whose taps the server cannot take.
func (p *play) fullDisk() {
	d := disk.Watch(p.t, filepath.Dir(p.t.TempDir())) // where the shop's folder is made
	st := demoStage(p.t)
	tb := p.open(st, "/")
	tb.forgive("507")
	tb.says("Maren")
	tb.knowsNext()
	d.Fail(disk.Fault{Call: disk.Write, From: 1, Error: syscall.ENOSPC})
	tb.tapOn(1, 0)
	tb.until("it says why", func() bool { return tb.count("#not-sent .cannot:not([hidden])") == 1 })
	p.look(tb, "the disk is full")
	d.Fail(disk.Fault{})
	tb.isBack()
}

// server shows what the server says of itself: its backups, which went well and then do
// not, and how tablets learn to trust it.
func (p *play) server() {
	st := demoStage(p.t)
	folder := filepath.Join(p.t.TempDir(), "backups")
	backups := models.NewBackups(st.store, folder, slog.New(slog.DiscardHandler))
	require.NoError(p.t, backups.Take(context.Background()))
	require.NoError(p.t, os.RemoveAll(folder))
	require.NoError(p.t, os.WriteFile(folder, nil, 0o600), "nothing can be written there any more")
	require.Error(p.t, backups.Take(context.Background()))
	with := func(c handlers.Config) {
		require.NoError(p.t, st.stop())
		st.with = c
		st.serve(st.address)
	}
	with(handlers.Config{Backups: backups})
	tb := p.open(st, "/shop")
	require.Contains(p.t, tb.text("main"), "The last backup failed")
	p.look(tb, "a backup that failed")
	with(handlers.Config{Trust: &handlers.Trust{Name: "Faceside on bench", Fingerprint: strings.TrimSuffix(strings.Repeat("AB:", 32), ":"),
		Names: []string{"bench.local", "192.0.2.20"}, Ends: st.now().AddDate(9, 0, 0), Port: "8321"}})
	p.shows(tb, "/trust", "how to trust the server")
}
