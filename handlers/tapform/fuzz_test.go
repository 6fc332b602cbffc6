package tapform

import (
	"net/url"
	"reflect"
	"strings"
	"testing"

	"github.com/google/uuid"
)

// FuzzTap reads whatever is in the form of a tap: it is read, the same each time, or
// refused in a sentence that names the field.
func FuzzTap(f *testing.F) {
	const id = "tap_id=00000000-0000-4000-8000-000000000001"
	for _, form := range []string{
		"", "tap_id=%ff", id + "&kind=start&step=1&said_at=2026-03-09T08:00:00Z",
		id + "&kind=start&queue=q&number=1&first=on&late=on&waited=60000&heard=2026-03-09T08:00:00Z&sent_at=0000-01-01T00:00:00Z",
		id + "&kind=trouble&step=1&trouble=spoiled&count.7=2&count.8=&count.x=1", id + "&kind=trouble&trouble=spoiled&count.7=2&count.07=3&count.%2B7=4", id + "&kind=trouble&trouble=spoiled:all:3", id + "&kind=trouble&trouble=spoiled:part:-7",
		id + "&kind=trouble&trouble=estimate:45", id + "&kind=trouble&trouble=estimate&left=1,5+Std.+30", id + "&kind=trouble&trouble=missing&expected_day=9999-99-99",
		id + "&kind=trouble&trouble=order&first=2", id + "&kind=trouble&trouble=help:9223372036854775808", id + "&kind=trouble&from=trouble",
		id + "&kind=start-run&steps=1&steps=2&steps=2&steps=-1&station=2&setup=1&run=%00", id + "&kind=undo&undoes=9223372036854775807&undoes_id=%ff&queue=q&number=-1&waited=3153600000001",
		id + "&kind=trouble&reason=A+knot&note=" + strings.Repeat("%F0%9F%AA%9A", 700),
	} {
		f.Add(form)
	}
	f.Fuzz(func(t *testing.T, text string) {
		form, err := url.ParseQuery(text)
		if err != nil {
			return // no form: the server refuses it before
		}
		tap, wrong := Read(form)
		again, wrongAgain := Read(form)
		if !reflect.DeepEqual(wrong, wrongAgain) {
			t.Fatalf("%q: first %+v, then %+v", text, wrong, wrongAgain)
		}
		if wrong != nil {
			if wrong.Field == "" || wrong.Sentence.Empty() {
				t.Fatalf("%q: refused without field or sentence: %+v", text, wrong)
			}
			return
		}
		if !reflect.DeepEqual(tap, again) {
			t.Fatalf("%q: first %+v, then %+v", text, tap, again)
		}
		if _, err := uuid.Parse(tap.ID); err != nil {
			t.Fatalf("%q: taken without an id: %+v", text, tap)
		}
		if (tap.Queue != nil) != (form.Get("queue") != "") || tap.Queue != nil && (tap.Queue.Waited < 0 || tap.Queue.Waited > longestWaited) {
			t.Fatalf("%q: it cannot have waited so: %+v", text, tap.Queue)
		}
		if tap.Trouble != nil && (tap.Kind != troubled || tap.Trouble.Kind == "" || tap.Trouble.Left > MostSpan && !strings.Contains(form.Get("trouble"), ":")) {
			t.Fatalf("%q: no trouble that can be: %+v", text, tap.Trouble)
		}
		if len(tap.Steps) != len(form["steps"]) {
			t.Fatalf("%q: steps got lost: %v", text, tap.Steps)
		}
	})
}
