package handlers

import (
	"fmt"
	"image"
	"image/color"
	"net/http"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"
	"github.com/makiuchi-d/gozxing"
	zxing "github.com/makiuchi-d/gozxing/qrcode" // reads what the other library writes
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
	"faceside/models/testrig"
)

// scan reads a code of a page as a camera would: its squares, drawn large.
func scan(t testing.TB, code *goquery.Selection) string {
	t.Helper()
	require.Equal(t, 1, code.Length())
	box := strings.Fields(code.AttrOr("viewbox", code.AttrOr("viewBox", "")))
	require.Len(t, box, 4)
	squares, err := strconv.Atoi(box[2])
	require.NoError(t, err)
	const px = 8
	img := image.NewGray(image.Rect(0, 0, squares*px, squares*px))
	for i := range img.Pix {
		img.Pix[i] = 0xff
	}
	for _, m := range bar.FindAllStringSubmatch(code.Find(".code-dark").AttrOr("d", ""), -1) {
		x, _ := strconv.Atoi(m[1])
		y, _ := strconv.Atoi(m[2])
		w, _ := strconv.Atoi(m[3])
		for dy := range px {
			for dx := range w * px {
				img.SetGray(x*px+dx, y*px+dy, color.Gray{})
			}
		}
	}
	bitmap, err := gozxing.NewBinaryBitmapFromImage(img)
	require.NoError(t, err)
	// It is told that there is nothing but a code: its way of finding one on a photo
	// misses one in a hundred, whoever drew them.
	read, err := zxing.NewQRCodeReader().Decode(bitmap, map[gozxing.DecodeHintType]any{gozxing.DecodeHintType_PURE_BARCODE: true})
	require.NoError(t, err)
	return read.GetText()
}

var bar = regexp.MustCompile(`M(\d+) (\d+)h(\d+)v1h-\d+Z`)

func TestTraveller(t *testing.T) {
	r := newRig(t)
	com := r.take("Regal Huber")
	r.plan()
	tab := r.as("Ana")
	tab.tap(models.TapStart, r.step("joint"))
	tab.tap(models.TapFinish, r.step("joint"))
	p := tab.get("/commissions/1")
	require.Equal(t, 1, p.doc.Find(`a[href="/commissions/1/traveller"]`).Length(), "the commission leads to it")
	p = tab.get("/commissions/1/traveller")
	require.Equal(t, http.StatusOK, p.status)
	snap := testrig.Snapshot(t, r.store)
	rows := p.doc.Find(".sheet-steps tbody tr")
	require.Equal(t, len(snap.Steps), rows.Length())
	assert.Equal(t, r.server.URL+"/commissions/1", scan(t, p.doc.Find(".sheet-top .code")))

	place := map[string]int{}
	rows.Each(func(i int, row *goquery.Selection) {
		name := row.Find(".sheet-name").Text()
		place[name] = i
		assert.Equal(t, strconv.Itoa(i+1), readable(row.Find(".sheet-tick > span:last-child")))
		if i == 0 {
			assert.Equal(t, r.step("joint").Name, name, "what is done stands first")
			assert.Equal(t, 1, row.Find(".sheet-box path").Length(), "and is ticked")
			assert.Equal(t, 0, row.Find(".code").Length())
			return
		}
		assert.Equal(t, 0, row.Find(".sheet-box path").Length())
		address := scan(t, row.Find(".code"))
		step := tab.get(strings.TrimPrefix(address, r.server.URL))
		assert.Equal(t, name, step.text("h1"), "the code opens the step")
	})
	for _, l := range snap.Links {
		assert.Less(t, place[snap.Step(l.BeforeID).Name], place[snap.Step(l.AfterID).Name], "in the order of work")
	}
	glue := r.step("glue-panel")
	row := rows.FilterFunction(func(_ int, s *goquery.Selection) bool { return s.Find(".sheet-name").Text() == glue.Name })
	for _, want := range []string{"first glue to last clamp", "in clamps", "bar clamps"} {
		assert.Contains(t, readable(row), want)
	}
	plane := r.step("plane")
	row = rows.FilterFunction(func(_ int, s *goquery.Selection) bool { return s.Find(".sheet-name").Text() == plane.Name })
	assert.Contains(t, readable(row), snap.SetupOf(plane).Instruction)
	cautions := p.texts(".sheet-legend li")
	mind := strings.Fields(strings.NewReplacer(",", "", "Cautions", "").Replace(readable(row.Find(".sheet-mind"))))
	require.NotEmpty(t, mind)
	number, err := strconv.Atoi(mind[0])
	require.NoError(t, err)
	assert.Equal(t, snap.Station(plane.StationID).Caution, cautions[number-1], "the numbers lead to the cautions")
	assert.Len(t, p.texts(".sheet-sizes tbody tr"), len(snap.Parts))
	assert.Contains(t, p.text(".sheet-sizes"), "800 × 100 × 22 mm")

	com.State = models.Dropped
	require.NoError(t, r.store.SaveCommission(r.Context(), *com))
	assert.Equal(t, http.StatusOK, tab.get("/commissions/1/traveller").status, "of a closed commission too")
	assert.Equal(t, http.StatusNotFound, tab.get("/commissions/99/traveller").status)
}

func TestSetupSheets(t *testing.T) {
	r := newRig(t)
	for i := range 3 {
		r.take(fmt.Sprintf("Regal %d", i))
	}
	r.plan()
	tab := r.as("Ana")
	snap := testrig.Snapshot(t, r.store)
	told := map[string]int{}
	for _, day := range []string{"2026-03-02", "2026-03-03", "2026-03-04", "2026-03-05", "2026-03-06", "2026-03-09", "2026-03-10", "2026-03-11"} {
		p := tab.get("/sheets?day=" + day)
		require.Equal(t, http.StatusOK, p.status)
		p.doc.Find(".sheet-qr .code").Each(func(_ int, code *goquery.Selection) { told[scan(t, code)]++ })
		p.doc.Find(".sheet h1").Each(func(_ int, h *goquery.Selection) {
			for i := range snap.Stations {
				if st := &snap.Stations[i]; st.Name == h.Text() {
					one := tab.get(stationHref(st.ID) + "/sheet?day=" + day)
					assert.Equal(t, one.text(".sheet-runs"), readable(h.Closest(".sheet").Find(".sheet-runs")), "%s, %s", st.Name, day)
				}
			}
		})
	}
	assert.Len(t, told, len(snap.Steps), "each step stands on the sheet of its day")

	planer := r.step("plane").StationID
	p := tab.get(stationHref(planer))
	require.Equal(t, 1, p.doc.Find(`a[href="`+stationHref(planer)+`/sheet"]`).Length(), "the station leads to it")
	p = tab.get(stationHref(planer) + "/sheet")
	assert.Contains(t, p.text(".sheet-top"), "Setup sheet, Monday 2 March")
	assert.Contains(t, p.text(".sheet-cautions"), snap.Station(planer).Caution)
	assert.Positive(t, p.doc.Find(".sheet-set .sheet-box").Length(), "a box for the setting")
	assert.Contains(t, p.text(".note"), "only this machine has", "the server listens on this machine alone")

	p = tab.get(stationHref(planer) + "/sheet?day=2027-01-01")
	assert.Contains(t, p.text(".sheet"), "Nothing is planned here on this day.")
	p = tab.get("/sheets?day=2027-01-01")
	assert.Contains(t, p.text("main"), "Nothing is planned at any station on this day.")
	p = tab.get("/sheets?day=tomorrow")
	assert.Equal(t, http.StatusUnprocessableEntity, p.status)
	assert.Contains(t, p.text(".refusal"), `Day: "tomorrow" is no date. Write it like 2026-03-02.`)
	assert.Equal(t, http.StatusNotFound, tab.get("/stations/99/sheet").status)
}

func TestOnlyHere(t *testing.T) {
	r := newRig(t, func(c *Config) { c.Hosts = []string{"0.0.0.0", "192.168.1.20", "shop.example", "fe80::1"} })
	r.take("Regal")
	for host, want := range map[string]bool{
		"127.0.0.1:8321": true, "localhost:8321": true, "[::1]:8321": true, "127.0.0.1": true, "shop.localhost": true, "0.0.0.0:1": true,
		"192.168.1.20:8321": false, "shop.example": false, "[fe80::1]:80": false,
	} {
		req, err := http.NewRequest(http.MethodGet, r.server.URL+"/commissions/1/traveller", nil)
		require.NoError(t, err)
		req.Host = host
		p := r.browser().do(req)
		assert.Equal(t, want, strings.Contains(p.text(".note"), "only this machine has"), host)
		assert.Equal(t, "http://"+host+"/commissions/1", scan(t, p.doc.Find(".sheet-top .code")))
		req.Header.Set("X-Forwarded-Proto", "https")
		assert.Equal(t, "https://"+host+"/commissions/1", scan(t, r.browser().do(req).doc.Find(".sheet-top .code")), "behind a proxy")
	}
}

// An address that no code holds is refused with a sentence.
func TestACodeOfAnAddressThatIsTooLong(t *testing.T) {
	_, err := qrCode("http://shop/"+strings.Repeat("a", 4000), "The step")
	assert.Equal(t, models.Invalid, models.CodeOf(err))
	assert.ErrorContains(t, err, "4012 characters")
	svg, err := qrCode("http://shop/steps/1", "The step")
	require.NoError(t, err)
	assert.Contains(t, string(svg), "The step")
}
