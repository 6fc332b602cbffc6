package main

import (
	"bytes"
	"compress/gzip"
	"io"
	"net/http"
	"testing"

	"github.com/PuerkitoBio/goquery"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// firstPageLimit is what the first page takes of a workshop's Wi-Fi at most, with
// all that it is made of, in bytes as they are transferred.
const firstPageLimit = 150_000

// packed fetches a path as a browser does and returns how many bytes came, and
// what they say.
func packed(t *testing.T, address, path string) (size int, text []byte) {
	t.Helper()
	req, err := http.NewRequest(http.MethodGet, "http://"+address+path, nil)
	require.NoError(t, err)
	req.Header.Set("Accept-Encoding", "gzip") // said here, so that it is not unpacked unseen
	req.AddCookie(&http.Cookie{Name: "faceside_person", Value: "1"})
	answer, err := http.DefaultClient.Do(req)
	require.NoError(t, err)
	defer answer.Body.Close()
	require.Equal(t, http.StatusOK, answer.StatusCode, path)
	came, err := io.ReadAll(answer.Body)
	require.NoError(t, err)
	if answer.Header.Get("Content-Encoding") != "gzip" {
		return len(came), came
	}
	unpacked, err := gzip.NewReader(bytes.NewReader(came))
	require.NoError(t, err)
	text, err = io.ReadAll(unpacked)
	require.NoError(t, err)
	return len(came), text
}

func TestTheFirstPageIsLight(t *testing.T) {
	shop := startDemo(t, quickWork)
	total, page := packed(t, shop.address, "/")
	doc, err := goquery.NewDocumentFromReader(bytes.NewReader(page))
	require.NoError(t, err)
	require.NotEmpty(t, doc.Find(".bench-who strong").Text(), "it is somebody's bench")
	files := doc.Find("script[src], link[rel=stylesheet], link[rel=icon], link[rel=manifest], img[src]")
	require.GreaterOrEqual(t, files.Length(), 5, "styles, scripts and an icon")
	for _, file := range files.EachIter() {
		path := file.AttrOr("src", file.AttrOr("href", ""))
		size, _ := packed(t, shop.address, path)
		total += size
	}
	t.Logf("%d files beside the page, %d bytes in all", files.Length(), total)
	assert.LessOrEqual(t, total, firstPageLimit)
}
