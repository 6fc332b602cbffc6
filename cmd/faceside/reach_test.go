package main

import (
	"bufio"
	"bytes"
	"context"
	"crypto/tls"
	"io"
	"net"
	"net/http"
	"net/netip"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models/authority"
)

// encrypted serves a new shop by TLS and returns what it said at its start.
func encrypted(t *testing.T, dir string) (shop, door, fingerprint string) {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	reader, writer := io.Pipe()
	ended := make(chan error, 1)
	go func() {
		ended <- serve(ctx, serveOptions{reach: reach{listen: "127.0.0.1:0", tls: "on", hosts: []string{"shop.example"}}, data: dir}, writer, io.Discard)
		writer.Close()
	}()
	t.Cleanup(func() {
		cancel()
		require.NoError(t, <-ended)
	})
	lines := bufio.NewScanner(reader)
	for fingerprint == "" && lines.Scan() {
		line := lines.Text()
		if at, ok := strings.CutPrefix(line, "Faceside serves on https://"); ok {
			shop = at
		} else if at, ok := strings.CutPrefix(line, "A tablet learns to trust it at http://"); ok {
			door = at
		} else if regexp.MustCompile(`^  ([0-9A-F]{2}:){31}[0-9A-F]{2}$`).MatchString(line) {
			fingerprint = strings.TrimSpace(line)
		}
	}
	require.NotEmpty(t, fingerprint)
	go io.Copy(io.Discard, reader)
	return shop, door, fingerprint
}

func TestAShopIsServedByTLS(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "shop")
	shop, door, fingerprint := encrypted(t, dir)
	a, err := authority.Read(dir)
	require.NoError(t, err)
	assert.Equal(t, a.Fingerprint(), fingerprint)

	tablet := &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: a.Pool()}, ForceAttemptHTTP2: true}}
	defer tablet.CloseIdleConnections()
	answer, err := tablet.Get("https://" + shop + "/")
	require.NoError(t, err)
	defer answer.Body.Close()
	assert.Equal(t, http.StatusOK, answer.StatusCode)
	assert.Equal(t, 2, answer.ProtoMajor)
	require.NotEmpty(t, answer.Cookies())
	assert.True(t, answer.Cookies()[0].Secure)
	assert.Empty(t, answer.Header.Get("Strict-Transport-Security"), "it would bar the door over plain HTTP")

	_, err = http.Get("https://" + shop + "/")
	require.Error(t, err, "who does not trust the authority is not let in")
	require.NoError(t, askHealth(shop, dir))
	require.Error(t, askHealth(shop, ""), "nor is it asked over plain HTTP")

	through := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	led, err := through.Get("http://" + door + "/week")
	require.NoError(t, err)
	led.Body.Close()
	assert.Equal(t, "https://"+shop+"/week", led.Header.Get("Location"))
	status, body := fetch(t, door, "/trust/faceside.crt")
	assert.Equal(t, http.StatusOK, status)
	assert.Equal(t, string(a.PEM()), body)
	status, body = fetch(t, door, "/trust")
	assert.Equal(t, http.StatusOK, status)
	assert.Contains(t, body, fingerprint[:23])
	assert.Contains(t, body, "shop.example", "the page says what it may vouch for")
}

// A stream over HTTP/2 goes on beyond the limit that each of its writes has.
func TestAStreamByTLS(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "shop")
	shop, _, _ := encrypted(t, dir)
	a, err := authority.Read(dir)
	require.NoError(t, err)
	tablet := &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: a.Pool()}, ForceAttemptHTTP2: true}}
	defer tablet.CloseIdleConnections()
	answer, err := tablet.Get("https://" + shop + "/live")
	require.NoError(t, err)
	defer answer.Body.Close()
	beats := bufio.NewScanner(answer.Body)
	for beats.Scan() && beats.Text() != "event: beat" {
	}
	assert.Equal(t, "event: beat", beats.Text())
}

func TestWhereTLSIsWanted(t *testing.T) {
	for name, tt := range map[string]struct {
		listen, flag string
		want         bool
	}{
		"loopback":          {"127.0.0.1:0", "", false},
		"loopback, asked":   {"127.0.0.1:0", "on", true},
		"network":           {"0.0.0.0:0", "", true},
		"network, declined": {"0.0.0.0:0", "off", false},
	} {
		t.Run(name, func(t *testing.T) {
			listener, err := listenOn(tt.listen)
			require.NoError(t, err)
			defer listener.Close()
			var notes bytes.Buffer
			dir := t.TempDir()
			by, err := (&reach{listen: tt.listen, tls: tt.flag, door: "127.0.0.1:0"}).open(listener, dir, &notes)
			require.NoError(t, err)
			defer by.close()
			assert.Equal(t, tt.want, by.trust != nil)
			assert.Equal(t, tt.flag == "off", strings.Contains(notes.String(), "served without TLS"))
			if !tt.want {
				assert.NoFileExists(t, filepath.Join(dir, authority.File))
			}
		})
	}
}

func TestAMachineWithAnotherAddressIsTold(t *testing.T) {
	dir := t.TempDir()
	listener, err := listenOn("127.0.0.1:0")
	require.NoError(t, err)
	defer listener.Close()
	var notes bytes.Buffer
	first, err := (&reach{listen: "127.0.0.1:0", tls: "on"}).open(listener, dir, &notes)
	require.NoError(t, err)
	first.close()
	assert.Empty(t, notes.String())
	second, err := (&reach{listen: "127.0.0.1:0", tls: "on", hosts: []string{"new.example"}}).open(listener, dir, &notes)
	require.NoError(t, err)
	second.close()
	assert.Contains(t, notes.String(), "does not vouch for new.example, ")
	notes.Reset()
	moved, err := (&reach{listen: "127.0.0.1:0", tls: "on", hosts: []string{"192.168.77.7"}}).open(listener, dir, &notes)
	require.NoError(t, err)
	moved.close()
	assert.Empty(t, notes.String(), "any address of a private network is vouched for")
	shown, err := moved.tls.GetCertificate(nil)
	require.NoError(t, err)
	require.NoError(t, shown.Leaf.VerifyHostname("192.168.77.7"))
	assert.Equal(t, first.trust.Fingerprint, second.trust.Fingerprint, "the authority that tablets trust stays")

	require.NoError(t, os.WriteFile(filepath.Join(dir, authority.File), []byte("damaged"), 0o600))
	_, err = (&reach{listen: "127.0.0.1:0", tls: "on"}).open(listener, dir, &notes)
	require.ErrorContains(t, err, "is damaged")
}

func TestNamesThatAreGiven(t *testing.T) {
	for text, want := range map[string]bool{
		"shop.example": true, "SHOP.example.": true, "192.0.2.7": true, "2001:db8::7": true, "a": true,
		"": false, "shop.example:8321": false, "https://shop.example": false, "*.example": false, "-a.example": false, "a b": false, "ä.example": false, strings.Repeat("a", 64): false,
	} {
		assert.Equal(t, want, (&reach{}).addHost(text) == nil, text)
	}
	r := &reach{hosts: []string{"shop.example", "192.0.2.7"}}
	names, err := r.names(netip.MustParseAddr("127.0.0.1"))
	require.NoError(t, err)
	assert.Subset(t, allNames(names), []string{"localhost", "127.0.0.1", "::1", "shop.example", "192.0.2.7"})
	for _, wrong := range []string{"maybe", "1.2"} {
		require.Error(t, r.setTLS(wrong))
	}
}

func TestConnectionsAreBound(t *testing.T) {
	inner, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	l := bound(inner)
	l.own = 2
	defer l.Close()
	accepted := make(chan net.Conn)
	go func() {
		defer close(accepted)
		for {
			conn, err := l.Accept()
			if err != nil {
				return
			}
			accepted <- conn
		}
	}()
	dial := func() net.Conn {
		conn, err := net.Dial("tcp", inner.Addr().String())
		require.NoError(t, err)
		require.NoError(t, conn.SetDeadline(time.Now().Add(patience)))
		t.Cleanup(func() { _ = conn.Close() })
		return conn
	}
	dial()
	first := <-accepted
	dial()
	<-accepted
	_, err = dial().Read(make([]byte, 1))
	require.Error(t, err, "one too many is closed at once")
	require.NotErrorIs(t, err, os.ErrDeadlineExceeded)
	require.NoError(t, first.Close())
	require.Error(t, first.Close(), "closed twice it gives one place back")
	dial()
	<-accepted
	_, err = dial().Read(make([]byte, 1))
	require.Error(t, err)
	l.mu.Lock()
	defer l.mu.Unlock()
	assert.Equal(t, 2, l.sum)
}
