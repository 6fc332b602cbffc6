package main

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// Where the search for a better plan fails, whoever answers and whether anybody does, the
// first promises stay and it is said.
func TestBrowserABetterWhatIfFails(t *testing.T) {
	t.Parallel()
	st := rigStage(t)
	browser := startBrowser(t)
	for name, answer := range map[string]string{
		"a gateway's page": `Promise.resolve(new Response("<h1>Bad gateway</h1>", { status: 502, headers: { "Content-Type": "text/html" } }))`,
		"a refusal":        `Promise.resolve(new Response("Too much at once", { status: 429, headers: { "HX-Retarget": "#failed" } }))`,
		"no answer":        `Promise.reject(new TypeError("the network is gone"))`,
	} {
		t.Run(name, func(t *testing.T) {
			tb := newTablet(t, browser, st.address, examined(`{
				const asks = window.fetch;
				window.fetch = (url, how) => String(url).includes("better=1") ? `+answer+` : asks(url, how);
			}`))
			tb.forgive("the network is gone")
			tb.open("/what-if?kind=hold&commission=1")
			tb.until("it says that the search failed", func() bool { return len(tb.seen("#if-failed")) == 1 })
			assert.Contains(t, tb.text("#if-failed"), "The search for a better plan failed")
			assert.Equal(t, "On hold, and so without an end: Shelf.", tb.text("#if-verdict"))
			assert.Equal(t, 1, tb.count(".what-if-rows li"), "the first promises stay")
			assert.Empty(t, tb.text("#failed"))
			assert.Equal(t, 1, tb.count(".what-if-keep .main"))
		})
	}
}
