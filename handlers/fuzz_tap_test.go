package handlers

import (
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strconv"
	"strings"
	"testing"

	"github.com/google/uuid"

	"faceside/models/testrig"
)

// FuzzTap sends taps of a tablet's queue with whatever else in their form. The server
// may refuse them, but it never fails, tells the queue a state it knows, and says the
// same of a tap that is sent once more: a row is written once.
func FuzzTap(f *testing.F) {
	for kind := range tapKinds {
		f.Add(uint8(kind), int64(1), int64(kind), "person=1&said_at=2026-03-09T08:00:00Z&heard=2026-03-09T08:00:00Z")
	}
	f.Add(uint8(8), int64(0), int64(20), "person=1&steps=1&steps=2&steps=2&steps=-1&station=2&setup=1&run=%00")
	f.Add(uint8(4), int64(1), int64(21), "person=2&trouble=longer&minutes=-5&note="+strings.Repeat("%F0%9F%AA%9A", 700))
	f.Add(uint8(7), int64(1), int64(22), "person=1&undoes=9223372036854775807&undoes_id=%ff&late=on&waited=3153600000000")
	f.Add(uint8(0), int64(-1), int64(-1), "person=99&first=on&sent_at=0000-01-01T00:00:00Z&helper=1;x=%zz")

	store := testrig.Shop(f, testrig.Monday())
	testrig.Commission(f, store, "Hall shelf", "2026-03-20")
	handler, err := New(config(f, store))
	if err != nil {
		f.Fatal(err)
	}
	send := func(body string) (status int, said tapAnswer, err error) {
		req := httptest.NewRequest(http.MethodPost, "/tap", strings.NewReader(body))
		req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		w := httptest.NewRecorder()
		handler.ServeHTTP(w, req)
		if w.Code == http.StatusOK {
			err = json.Unmarshal(w.Body.Bytes(), &said)
		}
		return w.Code, said, err
	}
	f.Fuzz(func(t *testing.T, kind uint8, step, number int64, rest string) {
		form := url.Values{
			"tap_id": {uuid.NewString()}, "kind": {string(tapKinds[int(kind)%len(tapKinds)])}, "step": {strconv.FormatInt(step, 10)},
			"queue": {uuid.NewString()}, "number": {strconv.FormatInt(number, 10)}, "first": {"on"},
		}
		body := form.Encode() + "&" + rest
		status, said, err := send(body)
		if status >= http.StatusInternalServerError || err != nil {
			t.Fatalf("%q: %d, %+v, %v", body, status, said, err)
		}
		if status != http.StatusOK {
			return
		}
		switch said.State {
		case "written", "refused", "asked", "send":
		default:
			t.Fatalf("%q: no state a queue knows: %+v", body, said)
		}
		_, again, err := send(body)
		if err != nil || again.State != said.State || again.Seq != said.Seq {
			t.Fatalf("%q: first %+v, then %+v, %v", body, said, again, err)
		}
	})
}
