package handlers

import (
	"bytes"
	"compress/gzip"
	"io"
	"net/http"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestLongAnswersAreCompressed(t *testing.T) {
	r := newRig(t)
	com := r.take("Hall shelf")
	plain := r.browser().get(commissionHref(com.ID)) // Go's client unpacks by itself
	ask := func(accept string) (*http.Response, []byte) {
		req, err := http.NewRequest(http.MethodGet, r.server.URL+commissionHref(com.ID), nil)
		require.NoError(t, err)
		req.Header.Set("Accept-Encoding", accept)
		res, err := http.DefaultTransport.RoundTrip(req)
		require.NoError(t, err)
		defer res.Body.Close()
		body, err := io.ReadAll(res.Body)
		require.NoError(t, err)
		return res, body
	}
	res, packed := ask("br, gzip;q=0.5")
	assert.Equal(t, "gzip", res.Header.Get("Content-Encoding"))
	assert.Equal(t, "Accept-Encoding", res.Header.Get("Vary"))
	assert.Less(t, len(packed), len(plain.body)/3)
	unpack, err := gzip.NewReader(bytes.NewReader(packed))
	require.NoError(t, err)
	text, err := io.ReadAll(unpack)
	require.NoError(t, err)
	assert.Contains(t, string(text), "Hall shelf")

	for _, accept := range []string{"identity", "gzip;q=0", "br"} {
		res, body := ask(accept)
		assert.Empty(t, res.Header.Get("Content-Encoding"), accept)
		assert.Contains(t, string(body), "</html>", accept)
	}
}
