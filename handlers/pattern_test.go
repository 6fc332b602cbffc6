package handlers

import (
	"bytes"
	"context"
	"mime/multipart"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
	"faceside/models/pattern"
	"faceside/models/planner"
	"faceside/models/testrig"
)

// upload sends a pattern file as the form of /patterns does; name "" sends none.
func (t *browser) upload(name string, data []byte) page {
	t.Helper()
	var body bytes.Buffer
	w := multipart.NewWriter(&body)
	if name != "" {
		part, err := w.CreateFormFile("file", name)
		require.NoError(t, err)
		_, err = part.Write(data)
		require.NoError(t, err)
	}
	require.NoError(t, w.Close())
	req, err := http.NewRequest(http.MethodPost, t.server.URL+"/patterns", &body)
	require.NoError(t, err)
	req.Header.Set("Content-Type", w.FormDataContentType())
	return t.do(req)
}

// Kept from a commission, carried to another shop as a file, and built there:
// the same parts, steps and links.
func TestAPatternIsKeptCarriedAndBuilt(t *testing.T) {
	r := newRig(t)
	r.moreClamps()
	ana := r.as("Ana")
	p := ana.get("/commissions/new/wall-shelf-unit")
	form := fieldsOf(p.doc.Find("form.draft"), nil)
	measure := firstMeasure(t, p)
	form.Set(measure, "777 mm")
	p = ana.post("/commissions/new/wall-shelf-unit", form)
	require.Equal(t, http.StatusOK, p.status, p.text(".refusal"))
	com := testrig.Snapshot(t, r.store).Commissions[0]

	p = ana.get(commissionHref(com.ID))
	require.Equal(t, 1, p.doc.Find(`a[href="`+commissionHref(com.ID)+`/keep"]`).Length(), "the commission leads to it")
	p = ana.send(ana.get(commissionHref(com.ID)+"/keep"), "keep", url.Values{"title": {"Shelf for the stair"}})
	require.Equal(t, http.StatusOK, p.status, p.text(".refusal"))
	assert.Equal(t, "/patterns", p.path)
	assert.Contains(t, p.text("section[aria-labelledby=own]"), "Shelf for the stair")
	assert.Contains(t, ana.get("/commissions/new").texts(".pattern h2"), "Shelf for the stair", "a commission can be taken from it at once")
	assert.Contains(t, ana.get("/commissions/new/shelf-for-the-stair").typed(measure), "777")

	file := ana.get("/patterns/shelf-for-the-stair/file")
	require.Equal(t, http.StatusOK, file.status)
	assert.Equal(t, `attachment; filename="shelf-for-the-stair.yaml"`, file.header.Get("Content-Disposition"))
	assert.Contains(t, file.header.Get("Content-Type"), "application/yaml")

	other := newRig(t)
	other.moreClamps()
	ben := other.as("Ben")
	p = ben.upload("from-ana.yaml", []byte(file.body))
	require.Equal(t, http.StatusOK, p.status, p.text(".refusal"))
	assert.Contains(t, p.text("section[aria-labelledby=own]"), "Shelf for the stair")
	assert.Equal(t, file.body, ben.get("/patterns/shelf-for-the-stair/file").body, "byte by byte")

	snap := testrig.Snapshot(t, r.store)
	piece := snap.Pieces[0]
	shop := planner.PatternShop(snap)
	was, err := library(t).Build(pattern.Input{Pattern: piece.Pattern, Measures: piece.Measures, Choices: piece.Choices}, shop)
	require.NoError(t, err)
	there, _, err := library(t).With("x.yaml", []byte(file.body))
	require.NoError(t, err)
	built, err := there.Build(pattern.Input{Pattern: "shelf-for-the-stair"}, shop)
	require.NoError(t, err)
	assert.Equal(t, was.Parts, built.Parts)
	assert.Equal(t, was.Steps, built.Steps)
	assert.Equal(t, was.Links, built.Links)
}

// What is wrong with a file is said with its place, and nothing of it is kept.
func TestPatternFilesThatAreRefused(t *testing.T) {
	r := newRig(t)
	ana := r.as("Ana")
	good := ana.get("/patterns/stool/file").body
	for name, c := range map[string]struct {
		file, body string
		status     int
		says       []string
	}{
		"a taken key":      {"stool.yaml", good, 422, []string{"stool.yaml, line ", "column", "in pattern", "“stool” is taken"}},
		"an unknown field": {"x.yaml", strings.Replace(good, "pattern: stool", "pattern: my-stool\ncolour: red", 1), 422, []string{"x.yaml, line ", "colour"}},
		"no YAML":          {"x.yaml", "{{{", 422, []string{"x.yaml", "line 1"}},
		"not text":         {"x.yaml", "\x00\xff\xfe", 422, []string{"x.yaml"}},
		"nothing":          {"x.yaml", "", 422, []string{"x.yaml"}},
		"no file":          {"", "", 422, []string{"Choose a pattern file first."}},
		"too large":        {"x.yaml", strings.Repeat("# room\n", 30<<10), 422, []string{"The file is larger than 200 kB; nothing was kept."}},
		"far too large":    {"x.yaml", strings.Repeat("# room\n", 60<<10), 422, []string{"The file is larger than 200 kB; nothing was kept."}},
	} {
		t.Run(name, func(t *testing.T) {
			p := ana.upload(c.file, []byte(c.body))
			assert.Equal(t, c.status, p.status)
			for _, says := range c.says {
				assert.Contains(t, strings.NewReplacer(`"`, "“", `" is`, "” is").Replace(p.text("section[aria-labelledby=import] .file-wrong")),
					strings.NewReplacer("”", "“").Replace(says))
			}
			own, err := r.store.OwnPatterns(context.Background())
			require.NoError(t, err)
			assert.Empty(t, own)
		})
	}
	mine := strings.Replace(good, "pattern: stool", "pattern: my-stool", 1)
	require.Equal(t, http.StatusOK, ana.upload("mine.yaml", []byte(mine)).status)
	assert.Equal(t, 422, ana.upload("mine.yaml", []byte(mine)).status, "a second time its key is taken")
}

func TestKeepingIsRefusedWithWhatWasTyped(t *testing.T) {
	r := newRig(t)
	com := r.take("Hall shelf")
	ana := r.as("Ana")
	p := ana.get(commissionHref(com.ID) + "/keep")
	p = ana.send(p, "keep", url.Values{"title": {strings.Repeat("long ", 20)}})
	assert.Equal(t, http.StatusUnprocessableEntity, p.status)
	assert.Contains(t, p.text(`[data-said="title"]`), "at most 80")
	assert.Equal(t, strings.Repeat("long ", 20), p.typed("title"))
	p = ana.send(p, "keep", url.Values{"title": {"Ours"}})
	assert.Equal(t, http.StatusUnprocessableEntity, p.status, "its pattern is not in the library")
	assert.Contains(t, p.text(".refusal"), "shelf")
	assert.Equal(t, http.StatusNotFound, ana.get("/commissions/99/keep").status)
}

func TestOwnPatternsAreRemovedUnlessAnotherNeedsThem(t *testing.T) {
	r := newRig(t)
	ana := r.as("Ana")
	frame := strings.Replace(ana.get("/patterns/frame/file").body, "pattern: frame\n", "pattern: our-frame\n", 1)
	require.Contains(t, frame, "pattern: our-frame")
	mirror := ana.get("/patterns/mirror-frame/file").body
	mirror = strings.Replace(mirror, "pattern: mirror-frame\n", "pattern: our-mirror\n", 1)
	mirror = strings.Replace(mirror, "- pattern: frame\n", "- pattern: our-frame\n", 1)
	require.Contains(t, mirror, "pattern: our-frame")
	require.Equal(t, http.StatusOK, ana.upload("frame.yaml", []byte(frame)).status)
	p := ana.upload("mirror.yaml", []byte(mirror))
	require.Equal(t, http.StatusOK, p.status, p.text(".refusal"))

	p = ana.post("/patterns/our-frame/remove", nil)
	assert.Equal(t, http.StatusConflict, p.status)
	assert.Contains(t, p.text(".notice"), "is made of it: remove that first.")
	assert.Equal(t, http.StatusOK, ana.post("/patterns/our-mirror/remove", nil).status)
	p = ana.post("/patterns/our-frame/remove", nil)
	assert.Equal(t, http.StatusOK, p.status)
	assert.Contains(t, p.text("section[aria-labelledby=own]"), "None yet")
	assert.Equal(t, http.StatusNotFound, ana.post("/patterns/our-frame/remove", nil).status)
	assert.Equal(t, http.StatusNotFound, ana.post("/patterns/stool/remove", nil).status, "a shipped one is not removed")
	assert.Equal(t, http.StatusNotFound, ana.get("/patterns/our-frame/file").status)
}

// After a restart the shop's own patterns are there again; one that cannot be
// used any more is told, can be saved to a file, and does not keep the others away.
func TestOwnPatternsOutliveTheProgram(t *testing.T) {
	r := newRig(t)
	ana := r.as("Ana")
	good := strings.Replace(ana.get("/patterns/stool/file").body, "pattern: stool", "pattern: my-stool", 1)
	for _, p := range []models.OwnPattern{{Key: "stool", Title: "A stool of ours", Source: "pattern: stool\ntitle: x\n"}, {Key: "my-stool", Title: "My stool", Source: good}} {
		_, err := r.store.KeepPattern(context.Background(), p)
		require.NoError(t, err)
	}
	again, err := newShelf(context.Background(), library(t), r.store)
	require.NoError(t, err)
	assert.NotNil(t, again.Pattern("my-stool"))
	own, wrong, err := again.own(context.Background())
	require.NoError(t, err)
	assert.Len(t, own, 2)
	assert.NotNil(t, wrong["stool"])
	p := ana.get("/patterns")
	assert.Contains(t, p.text("#stool .file-wrong"), "stool.yaml, line")
}

// What was edited by hand is told before it is kept, is carried by the pattern, and
// comes back in a commission that is taken from it; where it is not to be carried
// the pattern makes its own steps.
func TestWhatWasChangedByHandIsKept(t *testing.T) {
	r := newRig(t)
	r.moreClamps()
	ana := r.as("Ana")
	form := fieldsOf(ana.get("/commissions/new/wall-shelf-unit").doc.Find("form.draft"), nil)
	require.Equal(t, http.StatusOK, ana.post("/commissions/new/wall-shelf-unit", form).status)
	com := testrig.Snapshot(t, r.store).Commissions[0]
	p := ana.get(commissionHref(com.ID) + "/keep")
	assert.Contains(t, p.text(".kept-piece"), "Nothing was changed by hand")
	assert.Zero(t, p.doc.Find("input[name=carry]").Length())

	snap := testrig.Snapshot(t, r.store)
	glue, fit := testrig.Step(t, snap, "carcase.glue"), testrig.Step(t, snap, "carcase.dry-fit")
	bench := snap.Station(fit.StationID)
	require.NoError(t, r.store.EditCommission(context.Background(), com.ID, 0, []models.Edit{
		models.RemoveStep{StepID: fit.ID},
		models.RemoveStep{StepID: testrig.Step(t, snap, "carcase.face").ID},
		models.SplitStep{StepID: glue.ID, Attended: 7, FirstName: "Glue the first half", SecondName: "Glue the second half"},
		models.AddStep{PieceID: glue.PieceID, AfterID: glue.ID, Parts: map[models.ID]int{snap.Parts[0].ID: 1},
			StepWork: models.StepWork{Name: "Look <it> over", Phase: "glue-up", StationID: bench.ID, Attended: 3, Hands: 1, Interruptible: true}},
	}, nil))
	p = ana.get(commissionHref(com.ID) + "/keep")
	told := p.text(".kept-piece")
	for _, says := range []string{"2 steps taken out", "1 step changed", "2 steps added", "links added", "“" + fit.Name + "” taken out",
		"“Look <it> over” added", "minutes of work", "The checks find in these steps:"} {
		assert.Contains(t, told, says)
	}
	assert.Equal(t, 1, p.doc.Find("input[name=carry][checked]").Length())
	p = ana.send(p, "keep", url.Values{"title": {"Our shelf"}, "carry": {"on"}})
	require.Equal(t, "/patterns", p.path, p.text(".refusal"))
	file := ana.get("/patterns/our-shelf/file").body
	assert.Contains(t, file, "\nchanges:")

	p = ana.get("/commissions/new/our-shelf")
	assert.NotZero(t, p.doc.Find("#preview .finding").Length(), "the checks judge what was changed by hand")
	form = fieldsOf(p.doc.Find("form.draft"), nil)
	require.Equal(t, http.StatusOK, ana.post("/commissions/new/our-shelf", form).status)
	was, err := planner.PieceOrder(testrig.Snapshot(t, r.store), glue.PieceID)
	require.NoError(t, err)
	snap = testrig.Snapshot(t, r.store)
	is, err := planner.PieceOrder(snap, snap.Pieces[1].ID)
	require.NoError(t, err)
	assert.Equal(t, was.Steps, is.Steps)
	assert.ElementsMatch(t, was.Links, is.Links)

	p = ana.send(ana.get(commissionHref(com.ID)+"/keep"), "keep", url.Values{"title": {"Plain shelf"}, "carry": {""}})
	require.Equal(t, "/patterns", p.path, p.text(".refusal"))
	assert.NotContains(t, ana.get("/patterns/plain-shelf/file").body, "\nchanges:")
}

// A pattern that is taken at other choices says which change it cannot make.
func TestWhatCannotBeChangedIsSaidInThePreview(t *testing.T) {
	r := newRig(t)
	r.moreClamps()
	ana := r.as("Ana")
	mine := strings.Replace(ana.get("/patterns/wall-shelf-unit/file").body, "pattern: wall-shelf-unit\n", "pattern: my-shelf\n", 1)
	lib, p, err := library(t).With("x.yaml", []byte(mine))
	require.NoError(t, err)
	choice, option, gone := otherChoice(t, lib, p, planner.PatternShop(testrig.Snapshot(t, r.store)))
	file := mine + "changes:\n  steps:\n    - {step: " + gone.Key + ", attended: 12}\n"
	require.Equal(t, http.StatusOK, ana.upload("my-shelf.yaml", []byte(file)).status)
	form := fieldsOf(ana.get("/commissions/new/my-shelf").doc.Find("form.draft"), nil)
	form.Set(choiceField(choice), option)
	page := ana.post("/commissions/new/my-shelf/preview", form)
	require.Equal(t, http.StatusOK, page.status, page.text(".refusal"))
	assert.Contains(t, page.text("#preview .notice"), "The step “"+gone.Name+"” is changed, but not there.")
}

// otherChoice finds a choice at which a step of the defaults is not made.
func otherChoice(t *testing.T, lib *pattern.Library, p *pattern.Pattern, shop pattern.Shop) (choice, option string, gone pattern.Step) {
	was, err := lib.Build(pattern.Input{Pattern: p.Key}, shop)
	require.NoError(t, err)
	for _, c := range p.Choices {
		for _, o := range c.Options {
			is, err := lib.Build(pattern.Input{Pattern: p.Key, Choices: map[string]string{c.Key: o.Key}}, shop)
			if err != nil {
				continue
			}
			there := map[string]bool{}
			for _, s := range is.Steps {
				there[s.Key] = true
			}
			for _, s := range was.Steps {
				if !there[s.Key] {
					return c.Key, o.Key, s
				}
			}
		}
	}
	require.Fail(t, "every choice makes the same steps")
	return "", "", gone
}
