package handlers

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"io"
	"mime/multipart"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
)

// picture is a JPEG of a colour.
func picture(t *testing.T, width, height int, c color.Color) []byte {
	t.Helper()
	m := image.NewRGBA(image.Rect(0, 0, width, height))
	for i := range width * height {
		m.Set(i%width, i/width, c)
	}
	var out bytes.Buffer
	require.NoError(t, jpeg.Encode(&out, m, nil))
	return out.Bytes()
}

// sendNote fills the form of a note in and sends it, as a browser does.
func (t *browser) sendNote(p page, text string, photo []byte) page {
	t.Helper()
	form := p.doc.Find("form.note-form")
	require.Equal(t, "multipart/form-data", form.AttrOr("enctype", ""))
	fields := fieldsOf(form, nil)
	fields.Set("text", text)
	fields.Del("photo")
	return t.postPhoto(form.AttrOr("action", ""), map[string]string{"note_id": fields.Get("note_id"), "back": fields.Get("back"), "text": text}, photo)
}

func (t *browser) postPhoto(path string, fields map[string]string, photo []byte) page {
	t.Helper()
	var body bytes.Buffer
	w := multipart.NewWriter(&body)
	for name, value := range fields {
		require.NoError(t, w.WriteField(name, value))
	}
	file, err := w.CreateFormFile("photo", "IMG_0001.JPG")
	require.NoError(t, err)
	_, err = file.Write(photo)
	require.NoError(t, err)
	require.NoError(t, w.Close())
	req, err := http.NewRequest(http.MethodPost, t.server.URL+path, &body)
	require.NoError(t, err)
	req.Header.Set("Content-Type", w.FormDataContentType())
	return t.do(req)
}

func (r *rig) notes(step models.ID) []models.NoteOfStep {
	r.Helper()
	notes, err := r.store.NotesOf(r.Context(), step)
	require.NoError(r, err)
	return notes[step]
}

func TestAPhotoIsAddedFromTheBenchAndTakenAway(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	r.plan()
	ana := r.as("Ana")
	before := r.revision()
	bench := ana.get("/")
	p := ana.get(bench.doc.Find("a.add-note").AttrOr("href", ""))
	assert.Equal(t, "Joint a face and an edge", p.text("h1"))
	input := p.doc.Find("input[type=file]")
	assert.Equal(t, "image/*", input.AttrOr("accept", ""))
	assert.Equal(t, "environment", input.AttrOr("capture", ""))

	p = ana.sendNote(p, "A knot, second board\nfrom the left", picture(t, 2000, 1000, color.RGBA{200, 30, 30, 255}))
	assert.Equal(t, "/", p.path, "back to where it was asked for")
	assert.Equal(t, "A knot, second board\nfrom the left", p.doc.Find(".note-text").Text())
	assert.Contains(t, p.text(".note-row small"), "Ana, 8:30")
	img := p.doc.Find(".note-row img")
	assert.Equal(t, "1600", img.AttrOr("width", ""))
	assert.Equal(t, "800", img.AttrOr("height", ""))
	assert.Equal(t, before, r.revision(), "no plan hangs on it")

	photo := ana.get(img.AttrOr("src", ""))
	assert.Equal(t, http.StatusOK, photo.status)
	assert.Equal(t, "image/jpeg", photo.header.Get("Content-Type"))
	assert.Equal(t, "nosniff", photo.header.Get("X-Content-Type-Options"))
	assert.Contains(t, photo.header.Get("Content-Security-Policy"), "default-src 'none'")
	kept, err := jpeg.DecodeConfig(strings.NewReader(photo.body))
	require.NoError(t, err)
	assert.Equal(t, 1600, kept.Width)

	p = ana.press(ana.get(stepHref(r.step("joint").ID)+"/note"), "Yes, take it away for good")
	assert.Zero(t, p.doc.Find(".note-row").Length())
	assert.Equal(t, http.StatusNotFound, ana.get(img.AttrOr("src", "")).status, "the photo is gone with it")
}

func TestTheSamePhotoTwiceIsOne(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	ana, step := r.as("Ana"), r.step("joint").ID
	path := stepHref(step) + "/note"
	red := picture(t, 300, 200, color.RGBA{200, 30, 30, 255})
	form := ana.get(path)
	ana.sendNote(form, "Crack", red)
	ana.sendNote(form, "Crack", red)
	require.Len(t, r.notes(step), 1, "the same form")
	ana.sendNote(ana.get(path), "", red)
	require.Len(t, r.notes(step), 1, "the same photo")
	ana.sendNote(ana.get(path), "It goes through", red)
	require.Len(t, r.notes(step), 1)
	assert.Equal(t, "Crack\nIt goes through", r.notes(step)[0].Text, "what was written is not lost")

	other := r.step("plane").ID
	ana.sendNote(ana.get(stepHref(other)+"/note"), "", red)
	assert.Equal(t, *r.notes(step)[0].Photo, *r.notes(other)[0].Photo, "another step has it too")
	require.NoError(t, r.store.RemoveNote(t.Context(), step, r.notes(step)[0].ID))
	assert.Equal(t, http.StatusOK, ana.get(photoHref(*r.notes(other)[0].Photo)).status, "and keeps it")
}

// hugePNG is a few bytes that say they are a picture of so many pixels.
func hugePNG(side uint32) []byte {
	chunk := append([]byte("IHDR"), binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32(nil, side), side)...)
	chunk = append(chunk, 8, 2, 0, 0, 0)
	out := append([]byte("\x89PNG\r\n\x1a\n"), 0, 0, 0, 13)
	return binary.BigEndian.AppendUint32(append(out, chunk...), crc32.ChecksumIEEE(chunk))
}

func TestPhotosThatAreRefusedKeepTheNote(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	ana, step := r.as("Ana"), r.step("joint").ID
	whole := picture(t, 640, 480, color.RGBA{1, 2, 3, 255})
	for name, c := range map[string]struct {
		photo []byte
		say   string
	}{
		"a text":        {[]byte("buy clamps"), "The file of 10 bytes is not a picture that can be read here; JPEG, PNG and WebP can."},
		"broken off":    {whole[:len(whole)-100], "came damaged or broken off"},
		"a bomb":        {hugePNG(40000), "40,000 × 40,000 pixels, that is 1,600 million; at most 50 million are read."},
		"25 MB":         {bytes.Repeat([]byte{7}, 25<<20), "at most 20 MB are taken"},
		"a little over": {bytes.Repeat([]byte{7}, 20<<20+1), "at most 20 MB are taken"},
	} {
		t.Run(name, func(t *testing.T) {
			p := ana.sendNote(ana.get(stepHref(step)+"/note"), "End of board 2", c.photo)
			assert.Equal(t, http.StatusUnprocessableEntity, p.status)
			assert.Contains(t, p.text(".refusal"), c.say)
			if len(c.photo) < 20<<20 {
				assert.Equal(t, "End of board 2", p.typed("text"), "what was written is there still")
			}
			assert.Empty(t, r.notes(step))
		})
	}
}

// What all photos take together is bounded: the next one is refused, what was written
// stays on the form, and room comes by taking a photo away.
func TestPhotosTakeABoundedRoom(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	ana, step := r.as("Ana"), r.step("joint").ID
	path := stepHref(step) + "/note"
	grain := image.NewGray(image.Rect(0, 0, 1600, 1200)) // of noise, which no JPEG makes small
	for i := range grain.Pix {
		grain.Pix[i] = uint8(i * i >> 3 * 2654435761 >> 7)
	}
	var large bytes.Buffer
	require.NoError(t, jpeg.Encode(&large, grain, nil))
	ana.sendNote(ana.get(path), "Crack", large.Bytes())
	require.Len(t, r.notes(step), 1)
	kept, err := r.store.PhotoOf(t.Context(), *r.notes(step)[0].Photo)
	require.NoError(t, err)

	r.store.LimitPhotos(int64(len(kept.JPEG)))
	p := ana.sendNote(ana.get(path), "End of board 2", picture(t, 640, 480, color.RGBA{1, 2, 3, 255}))
	assert.Equal(t, http.StatusInsufficientStorage, p.status)
	size := fmt.Sprintf("%.1f MB", float64(len(kept.JPEG))/(1<<20))
	assert.Contains(t, p.text(".refusal"), "The photo would take 5 kB, and the photos that are kept take "+size+" of the "+size+" that they may take together.")
	assert.Equal(t, "End of board 2", p.typed("text"))
	require.Len(t, r.notes(step), 1)

	ana.sendNote(ana.get(path), "It goes through", large.Bytes())
	require.Len(t, r.notes(step), 1)
	assert.Contains(t, r.notes(step)[0].Text, "It goes through", "a photo that is kept takes no more room")
	ana.sendNote(ana.get(path), "without a photo", nil)
	require.Len(t, r.notes(step), 2)

	require.NoError(t, r.store.RemoveNote(t.Context(), step, r.notes(step)[1].ID))
	p = ana.sendNote(ana.get(path), "End of board 2", picture(t, 640, 480, color.RGBA{1, 2, 3, 255}))
	assert.Equal(t, http.StatusOK, p.status)
	require.Len(t, r.notes(step), 2)
}

// A body that never says how long it is may not fill the memory.
func TestAnEndlessPhotoIsRefused(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	ana := r.as("Ana")
	pr, pw := io.Pipe()
	w := multipart.NewWriter(pw)
	go func() {
		file, err := w.CreateFormFile("photo", "x.jpg")
		for n := 0; err == nil && n < 300; n++ {
			_, err = file.Write(make([]byte, 1<<20))
		}
		pw.CloseWithError(err)
	}()
	req, err := http.NewRequest(http.MethodPost, r.server.URL+stepHref(r.step("joint").ID)+"/notes", pr)
	require.NoError(t, err)
	req.Header.Set("Content-Type", w.FormDataContentType())
	res, err := ana.client.Do(req)
	if err != nil {
		return // cut off while it was sending: as good a refusal
	}
	defer res.Body.Close()
	assert.Equal(t, http.StatusUnprocessableEntity, res.StatusCode)
}

// A note goes from its own step, and not by the number of another one.
func TestNotesGoFromTheirOwnStepOnly(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	ana := r.as("Ana")
	step, other := r.step("joint").ID, r.step("plane").ID
	ana.postPhoto(stepHref(step)+"/notes", map[string]string{"note_id": uuid.NewString(), "text": "x"}, nil)
	require.Len(t, r.notes(step), 1)
	form := url.Values{"note": {r.notes(step)[0].ID}}
	assert.Equal(t, http.StatusNotFound, ana.post(stepHref(other)+"/notes/remove", form).status)
	assert.Len(t, r.notes(step), 1)
	assert.Equal(t, http.StatusOK, ana.post(stepHref(step)+"/notes/remove", form).status)
	assert.Empty(t, r.notes(step))
}

func TestNotesThatCannotBe(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	step := r.step("joint").ID
	path := stepHref(step) + "/notes"
	ana := r.as("Ana")
	for name, c := range map[string]struct {
		who    *browser
		path   string
		fields map[string]string
		status int
		say    string
	}{
		"nobody said who":  {r.browser(), path, map[string]string{"note_id": uuid.NewString(), "text": "x"}, 422, "Say first who is at this tablet"},
		"nothing":          {ana, path, map[string]string{"note_id": uuid.NewString(), "text": " \n"}, 422, "There is nothing to keep"},
		"no id":            {ana, path, map[string]string{"text": "x"}, 422, "has no id of its own"},
		"too long":         {ana, path, map[string]string{"note_id": uuid.NewString(), "text": strings.Repeat("ä", 2001)}, 422, "2,001 characters; at most 2,000"},
		"far too long":     {ana, path, map[string]string{"note_id": uuid.NewString(), "text": strings.Repeat("x", 70<<10)}, 422, "larger than 64 kB"},
		"no such step":     {ana, "/steps/999/notes", map[string]string{"note_id": uuid.NewString(), "text": "x"}, 404, "999"},
		"no number at all": {ana, "/steps/x/notes", map[string]string{"note_id": uuid.NewString(), "text": "x"}, 404, `"x"`},
	} {
		t.Run(name, func(t *testing.T) {
			p := c.who.postPhoto(c.path, c.fields, nil)
			assert.Equal(t, c.status, p.status)
			assert.Contains(t, p.text("main"), c.say)
		})
	}
	p := ana.post(path, map[string][]string{"text": {"x"}})
	assert.Equal(t, http.StatusUnsupportedMediaType, p.status, "a form of another kind")
	assert.Empty(t, r.notes(step))
	for _, name := range []string{"x.jpg", strings.Repeat("a", 64) + ".jpg", strings.Repeat("a", 64), "..%2f..%2fetc.jpg"} {
		assert.Equal(t, http.StatusNotFound, ana.get("/photos/"+name).status, name)
	}
}

func TestANoteIsEscaped(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	ana, step := r.as("Ana"), r.step("joint").ID
	evil := `"><script>alert(1)</script>`
	ana.sendNote(ana.get(stepHref(step)+"/note"), evil, picture(t, 4, 4, color.White))
	for _, path := range []string{"/", stepHref(step), stepHref(step) + "/note"} {
		p := ana.get(path)
		assert.NotContains(t, p.body, "<script>alert", path)
		assert.Equal(t, evil, p.doc.Find(".note-row img").AttrOr("alt", ""), path)
	}
}

func TestTheBackOfANoteStaysHere(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	ana, step := r.as("Ana"), r.step("joint").ID
	for back, want := range map[string]string{"/": "/", stepHref(step): stepHref(step), "//evil.example": "/", "https://evil.example": "/"} {
		p := ana.postPhoto(fmt.Sprintf("/steps/%d/notes", step), map[string]string{"note_id": uuid.NewString(), "text": "x", "back": back}, nil)
		assert.Equal(t, want, p.path)
	}
}
