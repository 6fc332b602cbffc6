package handlers

import (
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"faceside/models/testrig"
)

// fuzzedPaths are the places that take forms.
var fuzzedPaths = []string{
	"/tap", "/who", "/commissions/1", "/commissions/1/state", "/commissions/new/hall-bench", "/commissions/new/wall-shelf-unit/preview",
	"/shop", "/shop/hours", "/shop/days-off", "/shop/people", "/shop/people/1", "/shop/stations", "/shop/stations/2", "/shop/clamps/1",
	"/commissions/1/edit/add", "/commissions/1/edit/steps/4/change", "/commissions/1/edit/steps/5/split", "/commissions/1/edit/steps/6/move",
	"/commissions/1/edit/steps/7/link", "/commissions/1/edit/steps/8/relink", "/commissions/1/edit/steps/8/unlink", "/commissions/1/edit/steps/9/remove",
	"/commissions/1/edit/remedy", "/commissions/1/keep", "/patterns", "/patterns/stool/remove",
	"/tablet", "/taps/x",
}

// FuzzForms sends whatever bytes to every form: the server may refuse them, but
// it must never fail, and the shop must stay one that can be shown.
func FuzzForms(f *testing.F) {
	for i := range fuzzedPaths {
		f.Add(uint8(i), "")
		f.Add(uint8(i), "name=%ff%00&promised_date=9999-99-99&weight=99999999999999999999&reach=1e999")
	}
	f.Add(uint8(0), "tap_id=00000000-0000-4000-8000-000000000001&kind=start&step=1&said_at=0000-01-01T00:00:00Z")
	f.Add(uint8(0), "tap_id=00000000-0000-4000-8000-000000000002&kind=trouble&step=1&note="+strings.Repeat("%F0%9F%AA%9A", 400))
	f.Add(uint8(5), "measure.length=-1&measure.length=1&choice.species=<b>&weight=1&promised_date=2026-03-30")
	f.Add(uint8(6), "name=x&time_zone=Local&units=mm&fraction=16&temperature=nan&humidity=inf")
	f.Add(uint8(7), "monday_0=00:00&monday_1=24:00&monday_2=23:59&monday_3=24:00")
	f.Add(uint8(14), "edition=0&keep=on&name=x&phase=fitting&station=1&attended=1&hands=1&after=3&before=2&part.1=-9&clamps.1=99999999999")
	f.Add(uint8(15), "edition=0&name=x&phase=milling&station=2&setup=%20&attended=2&hands=1&unattended=99999999&rest=drying&glue=99")
	f.Add(uint8(18), "edition=0&keep=on&before=9&from=end&least_lag=-99999999&greatest_lag=1")
	f.Add(uint8(11), "name=x&kind=planer&places=-1&greatest_width=99999999999 m&zone=999")

	f.Add(uint8(0), "tap_id=00000000-0000-4000-8000-000000000003&kind=start&step=1&queue=q&number=1&late=on&waited=9000000000000000&heard=9999-01-01T00:00:00Z&sent_at=0000-01-01T00:00:00Z&person=1")
	f.Add(uint8(0), "tap_id=00000000-0000-4000-8000-000000000004&kind=%00&queue="+strings.Repeat("q", 99)+"&number=-1&first=on")
	f.Add(uint8(len(fuzzedPaths)-2), "name="+strings.Repeat("n", 121)+"&person=1&station=1")

	store := testrig.Shop(f, testrig.Monday())
	testrig.Commission(f, store, "Hall shelf", "2026-03-20")
	handler, err := New(config(f, store))
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, at uint8, body string) {
		path := fuzzedPaths[int(at)%len(fuzzedPaths)]
		req := httptest.NewRequest(http.MethodPost, path, strings.NewReader(body))
		req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		req.AddCookie(&http.Cookie{Name: personCookie, Value: "1"})
		w := httptest.NewRecorder()
		handler.ServeHTTP(w, req)
		if w.Code >= http.StatusInternalServerError {
			t.Fatalf("POST %s %q: %d %s", path, body, w.Code, w.Body)
		}
		for _, shown := range []string{"/", "/shop", "/commissions/1/edit"} {
			get := httptest.NewRequest(http.MethodGet, shown, nil)
			w := httptest.NewRecorder()
			handler.ServeHTTP(w, get)
			if w.Code != http.StatusOK {
				t.Fatalf("after POST %s %q: GET %s: %d", path, body, shown, w.Code)
			}
		}
	})
}
