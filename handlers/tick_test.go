package handlers

import (
	"net/http"
	"net/url"
	"strconv"
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"

	"faceside/models"
)

// pressed lists which pieces of a page are ticked off.
func (p page) pressed() []string { return p.texts(`.tick-box[aria-pressed=true]`) }

func TestPiecesAreTappedOffOneByOne(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	r.plan()
	ana := r.as("Ana")
	p := ana.get("/")
	assert.Zero(t, p.doc.Find(".tick-box").Length(), "nothing is tapped off before the start")

	p = ana.press(p, "Start")
	assert.Equal(t, []string{"1 of 3: Panel board", "2 of 3: Panel board", "3 of 3: Panel board", "1 of 2: Rail", "2 of 2: Rail"}, p.texts(".tick-box"))
	assert.Equal(t, 1, p.doc.Find("button.main").Length(), "still one main action")

	p = ana.press(p, "2 of 3: Panel board")
	assert.Equal(t, "/", p.path)
	assert.Equal(t, []string{"2 of 3: Panel board"}, p.pressed())
	p = ana.press(p, "1 of 2: Rail")
	ben := r.as("Ben")
	assert.Equal(t, []string{"2 of 3: Panel board", "1 of 2: Rail"}, ben.get(stepHref(r.step("joint").ID)).pressed(), "another tablet shows them")

	p = ana.press(p, "2 of 3: Panel board")
	assert.Equal(t, []string{"1 of 2: Rail"}, p.pressed(), "tapped again it is not done after all")
	assert.Len(t, r.journal(), 1, "the journal has the start alone")

	p = ana.press(p, "Put down")
	assert.Equal(t, []string{"1 of 2: Rail"}, ana.get(stepHref(r.step("joint").ID)).pressed(), "what was tapped off stays")
	assert.Equal(t, models.PutDown, r.step("joint").State)
}

func TestATickTwiceIsOne(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	ana := r.as("Ana")
	p := ana.press(ana.get("/"), "Start")
	form := fieldsOf(p.doc.Find("form.tick").First(), nil)
	ana.press(ana.post("/ticks", form), "1 of 3: Panel board")
	assert.Empty(t, ana.get("/").pressed())
	ana.post("/ticks", form)
	assert.Empty(t, ana.get("/").pressed(), "what comes again changes nothing")
}

func TestATickOfAScript(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	ana := r.as("Ana")
	form := fieldsOf(ana.press(ana.get("/"), "Start").doc.Find("form.tick").First(), nil)
	send := func(form url.Values) page { return ana.accepting("/ticks", form, "application/json") }
	tablet, leave := r.hub.join("", r.hub.version())
	defer leave()
	p := send(form)
	assert.Equal(t, http.StatusOK, p.status)
	told, ok := r.hub.news(tablet)
	assert.True(t, ok, "other tablets are told")
	assert.Equal(t, []models.ChangeKind{models.ChangedNote}, told.Kinds)
	assert.Equal(t, []models.ID{r.step("joint").ID}, told.Steps)
	form.Set("number", "9")
	form.Set("tick_id", uuid.NewString())
	p = send(form)
	assert.Equal(t, http.StatusUnprocessableEntity, p.status)
	assert.Contains(t, p.body, "has 3 pieces of this part; there is no number 9.")
}

func TestTicksThatCannotBe(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	ana := r.as("Ana")
	p := ana.press(ana.get("/"), "Start")
	good := fieldsOf(p.doc.Find("form.tick").First(), nil)
	for name, c := range map[string]struct {
		field, value string
		status       int
		say          string
	}{
		"no id":         {"tick_id", "", 422, "has no id of its own"},
		"no such step":  {"step", "999", 404, "999"},
		"no such part":  {"part", "999", 422, "has no part with number 999."},
		"no number":     {"number", "two", 422, `"two"`},
		"number 0":      {"number", "0", 422, `"0"`},
		"no person":     {"person", "77", 404, "77"},
		"not begun yet": {"step", strconv.FormatInt(r.step("plane").ID, 10), 409, "was not begun yet"},
	} {
		t.Run(name, func(t *testing.T) {
			form := url.Values{}
			for k, v := range good {
				form[k] = v
			}
			form.Set("tick_id", uuid.NewString())
			form.Set(c.field, c.value)
			p := ana.post("/ticks", form)
			assert.Equal(t, c.status, p.status, p.text("#notice"))
			assert.Contains(t, p.text("#notice"), c.say)
		})
	}
	assert.Empty(t, ana.get("/").pressed())
}

func TestTicksMakeNoNewPlan(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	ana := r.as("Ana")
	p := ana.press(ana.get("/"), "Start")
	before := r.revision()
	ana.press(p, "1 of 3: Panel board")
	assert.Equal(t, before, r.revision())
}
