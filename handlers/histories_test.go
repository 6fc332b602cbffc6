package handlers

import (
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"maps"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/anishathalye/porcupine"
	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
	"faceside/models/testrig"
)

var histories = flag.Int("histories", 50, "how many `HISTORIES` of twenty tablets TestHistories looks at")

const (
	historyTablets = 20
	historySteps   = 4
	historyTaps    = 6  // of each tablet, or readings
	triesThatFail  = 5  // at most
	historyRound   = 10 // in one shop; what nobody answers would grow in it
)

// metCases counts what befell the taps of histories.
type metCases map[string]*atomic.Int64

func newMetCases() metCases {
	met := metCases{}
	for _, what := range []string{"written", "refused", "read", "not sent", "answer lost", "given up", "again"} {
		met[what] = &atomic.Int64{}
	}
	return met
}

// tapped is a shop under the taps of many tablets whose network is bad.
type tapped struct {
	*rig
	url    string // of the server, or of what stands before it
	makers map[models.ID]string
	people []models.ID
	wires  *http.Transport
	met    metCases
}

// newTapped has twenty makers; between puts something between them and the server.
func newTapped(t *testing.T, met metCases, between func(r *rig, server http.Handler) http.Handler) *tapped {
	r := newRig(t)
	front := httptest.NewServer(between(r, r.server.Config.Handler))
	t.Cleanup(front.Close)
	h := &tapped{rig: r, url: front.URL, makers: map[models.ID]string{}, wires: &http.Transport{MaxIdleConnsPerHost: 2 * historyTablets}, met: met}
	for i := range historyTablets {
		p, err := r.store.SavePerson(context.Background(), models.Person{Name: fmt.Sprintf(makerName, i+1), Active: true})
		require.NoError(t, err)
		h.people, h.makers[p.ID] = append(h.people, p.ID), p.Name
	}
	return h
}

func asItIs(_ *rig, server http.Handler) http.Handler { return server }

// Whatever is tapped at once, sent again and read meanwhile: it is as if the server had
// done one thing after the other, each between its being sent and its answer.
func TestHistories(t *testing.T) {
	chance, met := rand.New(rand.NewPCG(1, 0)), newMetCases()
	var h *tapped
	for n := range *histories {
		if n%historyRound == 0 {
			h = newTapped(t, met, asItIs)
		}
		history := h.play(chance)
		is := porcupine.CheckOperationsTimeout(linear(h.makers), history, time.Minute)
		require.Equal(t, porcupine.Ok, is, "history %d:\n%s", n, asText(history))
	}
	for what, n := range met {
		t.Logf("%s: %d", what, n.Load())
		assert.Positive(t, n.Load(), "histories that never met the case show nothing: %s", what)
	}
}

// A server that errs is found out: faults that stand between the tablets and the server,
// as a program with that fault would answer.
func TestFaultyHistoriesAreFoundOut(t *testing.T) {
	for name, fault := range map[string]func(*rig, http.Handler) http.Handler{
		"every sending is a tap":  everySendingIsATap,
		"what is read is old":     whatIsReadIsOld,
		"two write, each its own": twoWrite,
	} {
		t.Run(name, func(t *testing.T) {
			h := newTapped(t, newMetCases(), fault)
			chance := rand.New(rand.NewPCG(1, 0))
			const most = 5
			for n := range most {
				is := porcupine.CheckOperationsTimeout(linear(h.makers), h.play(chance), time.Minute)
				require.NotEqual(t, porcupine.Unknown, is)
				if is == porcupine.Illegal {
					t.Logf("found out in history %d", n+1)
					return
				}
			}
			assert.Fail(t, "nothing was noticed", "in %d histories", most)
		})
	}
}

// play has all tablets tap at steps of their own commissions, each step shared by some
// of them, and returns what they asked and were told.
func (h *tapped) play(chance *rand.Rand) []porcupine.Operation {
	h.Helper()
	var steps []models.Step
	for i := range historySteps {
		c := h.take(fmt.Sprintf("Shelf %d", i+1))
		own, err := h.store.CommissionSnapshot(context.Background(), c.ID)
		require.NoError(h, err)
		steps = append(steps, *testrig.Step(h.T, own, "joint"))
		defer h.drop(c)
	}
	began := time.Now()
	newest := make([]atomic.Int64, len(steps))
	all := make([]*historyTablet, historyTablets)
	var tapping sync.WaitGroup
	for i := range all {
		own := rand.New(rand.NewPCG(chance.Uint64(), 0))
		lossy := &lossy{RoundTripper: h.wires, chance: rand.New(rand.NewPCG(chance.Uint64(), 0)), met: h.met}
		t := &historyTablet{tapped: h, number: i, person: h.people[i], step: steps[i%len(steps)], newest: &newest[i%len(steps)],
			queue: uuid.NewString(), chance: own, began: began, lossy: lossy, client: &http.Client{Transport: lossy, Timeout: time.Minute}}
		all[i] = t
		tapping.Go(t.tapOn)
	}
	tapping.Wait()
	var history []porcupine.Operation
	for _, t := range all {
		t.lossy.late.Wait()
		require.NoError(h, t.failed)
		if t.number < len(steps) {
			t.look() // where each step stands in the end
		}
		history = append(history, t.history...)
	}
	return history
}

// drop has a commission out of the way of the next history.
func (h *tapped) drop(c *models.Commission) {
	own, err := h.store.CommissionSnapshot(context.Background(), c.ID)
	require.NoError(h, err)
	if st := testrig.Step(h.T, own, "joint"); st.State == models.InHand {
		_, err := h.store.Tap(context.Background(), models.TapRequest{ID: uuid.NewString(), Kind: models.TapPutDown, StepID: st.ID, PersonID: *st.PersonID})
		require.NoError(h, err)
	}
	c = &own.Commissions[0]
	c.State = models.Dropped
	require.NoError(h, h.store.SaveCommission(context.Background(), *c))
}

// historyTablet is one tablet and what it noted.
type historyTablet struct {
	*tapped
	number  int
	person  models.ID
	step    models.Step
	newest  *atomic.Int64 // of the rows at its step that it and the others know
	queue   string
	last    int64
	chance  *rand.Rand
	began   time.Time
	lossy   *lossy
	client  *http.Client
	history []porcupine.Operation
	failed  error
}

// tapOn taps and reads for a while.
func (t *historyTablet) tapOn() {
	kinds := []models.TapKind{models.TapStart, models.TapStart, models.TapStart, models.TapPutDown, models.TapPutDown,
		models.TapFinish, models.TapTrouble, models.TapSettled, models.TapUndo, models.TapUndo, models.TapUndo}
	for range historyTaps {
		if t.failed != nil {
			return
		}
		if t.chance.IntN(3) == 0 {
			t.look()
			continue
		}
		in := said{step: t.step.ID, name: t.step.Name, tap: uuid.NewString(), kind: kinds[t.chance.IntN(len(kinds))], person: t.person}
		if in.kind == models.TapUndo {
			if in.undoes = t.newest.Load(); in.undoes == 0 {
				continue
			}
		}
		t.last++
		form := t.form(in)
		t.note(in, func() (heardOf, error) { return t.tell(form) })
		if t.chance.IntN(5) == 0 {
			t.met["again"].Add(1)
			form.Set("late", "on")
			t.note(in, func() (heardOf, error) { return t.tell(form) })
		}
	}
}

// note keeps what was asked and told, and when.
func (t *historyTablet) note(in said, ask func() (heardOf, error)) {
	call := time.Since(t.began)
	out, err := ask()
	if err != nil {
		t.failed = fmt.Errorf("%+v: %w", in, err)
		return
	}
	t.history = append(t.history, porcupine.Operation{ClientId: t.number, Input: in, Call: call.Nanoseconds(), Output: out, Return: time.Since(t.began).Nanoseconds()})
	switch {
	case in.tap == "":
		t.met["read"].Add(1)
	case out.seq == 0:
		t.met["refused"].Add(1)
	default:
		t.met["written"].Add(1)
		if in.kind != models.TapUndo {
			t.newest.Store(out.seq)
		}
	}
}

func (t *historyTablet) form(in said) url.Values {
	form := url.Values{"queue": {t.queue}, "number": {strconv.FormatInt(t.last, 10)}, "tap_id": {in.tap}, "kind": {string(in.kind)},
		"step": {strconv.FormatInt(in.step, 10)}, "person": {strconv.FormatInt(in.person, 10)}}
	if in.kind == models.TapTrouble {
		form.Set("note", knot)
	}
	if in.undoes != 0 {
		form.Set("undoes", strconv.FormatInt(in.undoes, 10))
	}
	return form
}

// tell sends a tap until it is answered.
func (t *historyTablet) tell(form url.Values) (heardOf, error) {
	for {
		var a tapAnswer
		err := t.ask(http.MethodPost, "/tap", form, &a)
		switch {
		case errors.Is(err, errLost):
			form.Set("late", "on")
			continue
		case err != nil:
			return heardOf{}, err
		case a.State == "written":
			return heardOf{seq: a.Seq}, nil
		case a.State == "refused" || a.State == "asked": // the same, told to somebody else
			return heardOf{why: a.Why}, nil
		}
		return heardOf{}, fmt.Errorf("answered %+v", a)
	}
}

// look reads how the step stands.
func (t *historyTablet) look() {
	t.note(said{step: t.step.ID}, func() (heardOf, error) {
		for {
			var a apiStep
			err := t.ask(http.MethodGet, "/api/v1/steps/"+strconv.FormatInt(t.step.ID, 10), nil, &a)
			if errors.Is(err, errLost) {
				continue
			}
			var person models.ID
			if a.PersonID != nil {
				person = *a.PersonID
			}
			return heardOf{state: a.State, person: person}, err
		}
	})
}

func (t *historyTablet) ask(method, path string, form url.Values, into any) error {
	req, err := http.NewRequest(method, t.url+path, strings.NewReader(form.Encode()))
	if err != nil {
		return err
	}
	req.AddCookie(&http.Cookie{Name: tabletCookie, Value: t.queue})
	if form != nil {
		req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	res, err := t.client.Do(req)
	if err != nil {
		return err
	}
	defer res.Body.Close()
	if res.StatusCode != http.StatusOK {
		return fmt.Errorf("%s was answered %s", path, res.Status)
	}
	return json.NewDecoder(res.Body).Decode(into)
}

var errLost = errors.New("the network lost it")

// lossy is a network that now and then loses a request, or the answer to it, or has the
// tablet give up while the request is still on its way.
type lossy struct {
	http.RoundTripper
	chance *rand.Rand
	met    metCases
	lost   int // one after the other
	late   sync.WaitGroup
}

func (l *lossy) RoundTrip(req *http.Request) (*http.Response, error) {
	fate := l.chance.IntN(12)
	if l.lost++; fate > 2 || l.lost > triesThatFail {
		l.lost = 0
		return l.RoundTripper.RoundTrip(req)
	}
	what := []string{"not sent", "answer lost", "given up"}[fate]
	l.met[what].Add(1)
	if what == "not sent" {
		return nil, errLost
	}
	again := req.Clone(context.WithoutCancel(req.Context()))
	var err error
	if again.Body, err = req.GetBody(); err != nil {
		return nil, err
	}
	l.late.Go(func() {
		res, err := l.RoundTripper.RoundTrip(again)
		if err != nil {
			return // nobody waits for it
		}
		_, _ = io.Copy(io.Discard, res.Body) // nor for this
		res.Body.Close()
	})
	if what == "answer lost" {
		l.late.Wait()
	}
	return nil, errLost
}

// everySendingIsATap forgets what came before: the same tap sent again is another one.
func everySendingIsATap(_ *rig, server http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, req *http.Request) {
		if req.URL.Path == "/tap" && req.ParseForm() == nil {
			form := maps.Clone(req.PostForm)
			form.Set("tap_id", uuid.NewString())
			form.Set("queue", uuid.NewString())
			form.Set("number", "1")
			again := req.Clone(req.Context())
			again.Body, again.Form, again.PostForm = io.NopCloser(strings.NewReader(form.Encode())), nil, nil
			req = again
		}
		server.ServeHTTP(w, req)
	})
}

// whatIsReadIsOld answers what was read before by whoever read last.
func whatIsReadIsOld(_ *rig, server http.Handler) http.Handler {
	var mu sync.Mutex
	before := map[string][]byte{}
	return http.HandlerFunc(func(w http.ResponseWriter, req *http.Request) {
		if req.Method != http.MethodGet {
			server.ServeHTTP(w, req)
			return
		}
		now := httptest.NewRecorder()
		server.ServeHTTP(now, req)
		mu.Lock()
		answer, ok := before[req.URL.Path]
		before[req.URL.Path] = now.Body.Bytes()
		mu.Unlock()
		if !ok {
			answer = now.Body.Bytes()
		}
		w.WriteHeader(now.Code)
		_, _ = w.Write(answer)
	})
}

// twoWrite has two servers, each with records of its own since the first tap; half of the
// makers reach one, half the other.
func twoWrite(r *rig, server http.Handler) http.Handler {
	second := sync.OnceValues(func() (http.Handler, error) {
		path := r.TempDir() + "/second.db"
		if err := r.store.Backup(context.Background(), path); err != nil {
			return nil, err
		}
		store, err := models.OpenStore(context.Background(), path, r.clock.Now)
		if err != nil {
			return nil, err
		}
		r.Cleanup(func() { assert.NoError(r, store.Close()) })
		return New(config(r.T, store))
	})
	return http.HandlerFunc(func(w http.ResponseWriter, req *http.Request) {
		other, err := second()
		if err != nil {
			http.Error(w, err.Error(), http.StatusInternalServerError)
			return
		}
		if cookie, err := req.Cookie(tabletCookie); err == nil && cookie.Value < "8" {
			other.ServeHTTP(w, req)
			return
		}
		server.ServeHTTP(w, req)
	})
}
