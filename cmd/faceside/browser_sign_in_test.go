package main

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
	"faceside/models/testrig"
)

const thePassphrase = "seven planes hang on a nail"

// signsIn has everybody sign in on a stage, and draws a PIN for a person.
func (st *stage) signsIn(person string) (pin string) {
	st.t.Helper()
	ctx := context.Background()
	require.NoError(st.t, st.store.SetPassphrase(ctx, thePassphrase, 0))
	pin, err := st.store.GivePIN(ctx, testrig.Person(st.t, st.snapshot(), person))
	require.NoError(st.t, err)
	return pin
}

func (st *stage) code(name string) string {
	st.t.Helper()
	_, code, err := st.store.MakeCode(context.Background(), name)
	require.NoError(st.t, err)
	return code
}

// asks waits until a tablet asks who is there.
func (tb *tablet) asks() {
	tb.t.Helper()
	tb.until("it asks who signs in", func() bool {
		return tb.count(".screen-sign-in .who") == 1 && tb.text("h1") == "Who is at this tablet?"
	})
}

// typesPIN chooses a person and presses the keys of the PIN; without script each key is
// a form of its own.
func (tb *tablet) typesPIN(person, pin string, script bool) {
	tb.t.Helper()
	tb.pressThrough(tb.choice(person))
	require.Equal(tb.t, person, tb.text("h1"))
	for i, digit := range pin {
		key := `.pin-keys button[value="` + string(digit) + `"]`
		if script && i < len(pin)-1 {
			tb.press(key)
		} else {
			tb.pressThrough(key)
		}
	}
}

// A tablet is enrolled by its link; a person signs in by the pad, taps, and is asked
// again once nobody did anything for a while.
func TestBrowserSignIn(t *testing.T) {
	t.Parallel()
	browser := startBrowser(t)
	for name, options := range map[string][]tabletOption{"with script": nil, "without": {withoutScript}} {
		t.Run(name, func(t *testing.T) {
			script := options == nil
			st := rigStage(t)
			pin := st.signsIn("Ana")
			tb := newTablet(t, browser, st.address, options...)
			tb.forgive("401") // what the open page asks for after the idle time
			tb.open("/")
			assert.Equal(t, "This tablet is not enrolled", tb.text("h1"))
			tb.open("/enrol/" + st.code("Window"))
			tb.pressThrough("main form button")
			tb.asks()
			tb.typesPIN("Ana", pin, script)
			require.Equal(t, "Your PIN, Ana", tb.text("h1"), "the PIN is one that was drawn")
			tb.pressThrough(`.jump a.button[href="/"]`)
			require.Equal(t, "Ana", tb.text(".bench-who strong"))
			start := ".bench-main .tap-start button"
			if script {
				tb.press(start)
				tb.until("it is in hand", func() bool { return tb.text(theState) == "in hand" })
			} else {
				tb.pressThrough(start)
			}
			step := st.inHand("Ana")

			st.wait(16 * time.Minute) // the plan that is made then has the open page ask for news
			if !script {
				tb.open("/")
			}
			tb.asks()
			tb.typesPIN("Ana", pin, script)
			tb.pressThrough(`.jump a.button[href="/"]`)
			assert.Equal(t, "in hand", tb.text(theState))
			assert.Equal(t, step, st.inHand("Ana"))
			tb.pressThrough(".sign-off button")
			tb.asks()
		})
	}
}

// What is tapped without the server, and sent after the idle time, is of who was signed
// in when the tablet was connected last; then the tablet asks for the PIN.
func TestBrowserTapsOutlastTheSession(t *testing.T) {
	t.Parallel()
	st := rigStage(t)
	pin := st.signsIn("Ana")
	tb := newTablet(t, startBrowser(t), st.address)
	tb.awayFrom()
	tb.open("/enrol/" + st.code("Window"))
	tb.pressThrough("main form button")
	tb.asks()
	tb.typesPIN("Ana", pin, true)
	tb.pressThrough(`.jump a.button[href="/"]`)
	tb.until("the next steps are known", func() bool { return tb.count("#ahead template[data-step]") > 0 })
	require.NoError(t, st.stop())
	tb.isAway()
	tb.press(theMain)
	tb.until("it is kept", func() bool { return tb.text(notSent) == "1 tap is not sent yet" })
	st.wait(time.Hour)
	st.serve(st.address)
	tb.asks()
	taps, err := st.store.Journal(context.Background(), models.JournalFilter{})
	require.NoError(t, err)
	require.Len(t, taps, 1, "it was sent before the tablet asked")
	assert.Equal(t, testrig.Person(t, st.snapshot(), "Ana"), taps[0].PersonID)
	assert.Empty(t, st.snapshot().Returned)
}
