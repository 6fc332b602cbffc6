package main

import (
	"fmt"
	"net"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
)

// theQuestion is what asks on the Bench what is wrong.
const theQuestion = "main .trouble-ask"

// Without the server, and without a service worker, the Bench asks what is wrong
// with the step in hand and with the next one; the answers are sent later.
func TestBrowserTroubleNotSentYet(t *testing.T) {
	t.Parallel()
	shop := startDemo(t, quickWork)
	_, port, err := net.SplitHostPort(shop.address)
	require.NoError(t, err)
	last := shop.journal(t, 0)
	before := last[len(last)-1].Seq
	tb := newTablet(t, startBrowser(t), net.JoinHostPort(otherMachine, port), sized(390, 844))
	tb.awayFrom()
	tb.open("/")
	tb.says("Maren")
	tb.until("the next steps are known", func() bool { return tb.count("#ahead template[data-trouble]") > 2 })
	inHand := tb.text(theStep)

	shop.goAway(t)
	tb.isAway()
	ask := func() {
		t.Helper()
		tb.press(tb.bring(".bench-main a.do-trouble"))
		tb.until("it is asked what is wrong", func() bool { return tb.text(theQuestion+" h1") == tb.text(theStep) })
		assert.False(t, evaluate[bool](tb, `document.querySelector("#bench").checkVisibility()`))
		tb.narrowAndWhole()
	}
	ask()
	tb.shot("offline-trouble-390x844")
	tb.largeEnough()
	tb.press(tb.bring(theQuestion + " [data-back]"))
	tb.until("the bench is back", func() bool { return tb.count(theQuestion) == 0 && tb.text(theStep) == inHand })

	ask() // who says how long it really takes keeps it in hand
	tb.press(tb.bring(`.trouble-estimate button[value^="estimate:"]`))
	tb.until("it is kept", func() bool { return tb.text(notSent) == "1 tap is not sent yet" })
	tb.until("the bench is back", func() bool { return tb.count(theQuestion) == 0 })
	assert.Equal(t, inHand, tb.text(theStep))
	assert.Equal(t, "in hand", tb.text(theState))
	assert.Contains(t, tb.text("#not-sent ol"), "The estimate is far off")

	ask() // so does who calls for a hand
	tb.press(tb.bring(`.trouble-help button[value^="hand"]`))
	tb.unsent(2)
	tb.until("the bench is back", func() bool { return tb.count(theQuestion) == 0 })
	assert.Equal(t, inHand, tb.text(theStep))
	assert.Equal(t, "in hand", tb.text(theState))

	ask()
	tb.do(chromedp.SendKeys(chromedp.CSS(theQuestion+" textarea"), "The screws are all used up"))
	tb.press(tb.bring(`.trouble-missing button[value="missing"]`))
	tb.unsent(3)
	tb.until("the next step is on the bench", func() bool { return tb.count(theQuestion) == 0 && tb.text(theStep) != inHand })
	tb.shot("offline-trouble-kept-390x844")
	tb.narrowAndWhole()
	next := tb.text(theStep)
	ask()
	tb.press(tb.bring(`.trouble-missing button[value="missing"]`))
	tb.unsent(4)
	tb.press(tb.bring(".bench-who .tap-undo button"))
	tb.until("that is taken back", func() bool { return tb.text(theStep) == next })
	assert.Empty(t, shop.journal(t, before))

	shop.comeBack(t)
	tb.isBack()
	rows := shop.journal(t, before)
	require.Len(t, rows, 5)
	var said []string
	for _, row := range rows {
		said = append(said, strings.TrimSpace(fmt.Sprint(row.Kind, " ", row.Trouble)))
	}
	assert.Equal(t, []string{"trouble estimate", "trouble hand", "trouble missing", "trouble missing", "undo"}, said)
	assert.Equal(t, "The screws are all used up", rows[2].Note)
	assert.Equal(t, models.InTrouble, shop.snap(t).Step(*rows[0].StepID).State)
	tb.until("the bench is the server's", func() bool { return strings.Contains(tb.text(".bench-side"), "The screws are all used up") })
}
