package main

import (
	"bufio"
	"bytes"
	"context"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// patience is how long a test waits for what must come at once, on a machine that does
// much else besides.
const patience = time.Minute

// startProgram runs a command that serves until the test is over, and returns
// the address it printed and what it says when it stops.
func startProgram(t *testing.T, command func(ctx context.Context, stdout io.Writer) error) (address string, stop func() error) {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	reader, writer := io.Pipe()
	ended := make(chan error, 1)
	go func() {
		err := command(ctx, writer)
		writer.Close()
		ended <- err
	}()
	stop = func() error {
		cancel()
		select {
		case err := <-ended:
			ended <- err
			return err
		case <-time.After(patience):
			return context.DeadlineExceeded
		}
	}
	t.Cleanup(func() { _ = stop() }) // a test that cares has looked at it before

	lines := bufio.NewScanner(reader)
	for lines.Scan() {
		if found, ok := strings.CutPrefix(lines.Text(), "Faceside serves on http://"); ok {
			go io.Copy(io.Discard, reader)
			return found, stop
		}
	}
	t.Fatalf("no address was printed: %v", <-ended)
	return "", nil
}

// fetch returns the status and the page at a path.
func fetch(t *testing.T, address, path string) (int, string) {
	t.Helper()
	answer, err := http.Get("http://" + address + path)
	require.NoError(t, err)
	defer answer.Body.Close()
	page, err := io.ReadAll(answer.Body)
	require.NoError(t, err)
	return answer.StatusCode, string(page)
}

// loopback serves a folder on a free port of this machine.
func loopback(dir string) serveOptions {
	return serveOptions{reach: reach{listen: "127.0.0.1:0"}, data: dir}
}

func TestServeMakesAShopAndKeepsIt(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "new", "shop")
	serveIt := func(ctx context.Context, stdout io.Writer) error {
		return serve(ctx, loopback(dir), stdout, io.Discard)
	}
	address, stop := startProgram(t, serveIt)
	require.NoError(t, askHealth(address, ""))
	for _, page := range []string{"/", "/week", "/commissions", "/commissions/new", "/shop"} {
		status, body := fetch(t, address, page)
		assert.Equal(t, http.StatusOK, status, page)
		assert.Contains(t, body, "</html>", page)
	}
	require.NoError(t, stop())

	_, stop = startProgram(t, serveIt) // the folder has a shop now
	require.NoError(t, stop())
	store, err := openExisting(context.Background(), dir)
	require.NoError(t, err)
	defer store.Close()
	snap, err := store.Snapshot(context.Background())
	require.NoError(t, err)
	assert.Len(t, snap.Hours, 10, "fitted out once")
	assert.Len(t, snap.Stations, 2)
}

func TestServeRefuses(t *testing.T) {
	file := filepath.Join(t.TempDir(), "file")
	require.NoError(t, os.WriteFile(file, nil, 0o600))
	taken, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	defer taken.Close()
	fresh := filepath.Join(t.TempDir(), "fresh")
	tests := []struct{ name, listen, data, want string }{
		{"a folder that is a file", "127.0.0.1:0", file, "the folder -data " + file + " cannot be made"},
		{"a port in use", taken.Addr().String(), fresh, "cannot listen on -listen " + taken.Addr().String()},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			err := serve(context.Background(), serveOptions{reach: reach{listen: tt.listen}, data: tt.data}, io.Discard, io.Discard)
			require.ErrorContains(t, err, tt.want)
		})
	}
	assert.NoDirExists(t, fresh, "refused before anything was made")
}

func TestServeRefusesAFolderThatCannotBeWritten(t *testing.T) {
	if os.Geteuid() == 0 {
		t.Skip("root may write everywhere")
	}
	dir := t.TempDir()
	require.NoError(t, os.Chmod(dir, 0o500))
	err := serve(context.Background(), loopback(dir), io.Discard, io.Discard)
	require.ErrorContains(t, err, "the folder -data "+dir+" cannot be written to")
}

func TestWarnIfReachable(t *testing.T) {
	tests := []struct {
		ip   string
		warn bool
	}{{"127.0.0.1", false}, {"::1", false}, {"0.0.0.0", true}, {"192.0.2.7", true}}
	for _, tt := range tests {
		var out bytes.Buffer
		warnIfReachable(&out, &net.TCPAddr{IP: net.ParseIP(tt.ip), Port: 8321})
		assert.Equal(t, tt.warn, strings.Contains(out.String(), "anybody who reaches it may tap"), tt.ip)
	}
}

// A tap under way when the server is told to stop is still answered.
func TestServeHTTPLetsATapThrough(t *testing.T) {
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(context.Background())
	tap := http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		cancel()
		for stillListening(listener.Addr().String()) {
			runtime.Gosched()
		}
		io.WriteString(w, "saved")
	})
	ended := make(chan error, 1)
	go func() { ended <- serveHTTP(ctx, listener, &http.Server{Handler: tap}) }()
	status, body := fetch(t, listener.Addr().String(), "/tap")
	assert.Equal(t, http.StatusOK, status)
	assert.Equal(t, "saved", body)
	require.NoError(t, <-ended)
}

// stillListening says whether new connections are taken.
func stillListening(address string) bool {
	c, err := net.Dial("tcp", address)
	if err != nil {
		return false
	}
	c.Close()
	return true
}

// An open live stream must not keep the program from stopping.
func TestServeStopsWhileAStreamIsOpen(t *testing.T) {
	dir := t.TempDir()
	address, stop := startProgram(t, func(ctx context.Context, stdout io.Writer) error {
		return serve(ctx, loopback(dir), stdout, io.Discard)
	})
	answer, err := http.Get("http://" + address + "/live")
	require.NoError(t, err)
	defer answer.Body.Close()
	require.Equal(t, http.StatusOK, answer.StatusCode)
	require.NoError(t, stop(), "stopping takes its limit, and fails, where a stream goes on")
	_, err = io.Copy(io.Discard, answer.Body)
	require.NoError(t, err, "the stream ends whole")
}

// Nor must a connection that a browser opened to have it at hand.
func TestServeStopsWhileAConnectionIsUnused(t *testing.T) {
	dir := t.TempDir()
	address, stop := startProgram(t, func(ctx context.Context, stdout io.Writer) error {
		return serve(ctx, loopback(dir), stdout, io.Discard)
	})
	connection, err := net.Dial("tcp", address)
	require.NoError(t, err)
	defer connection.Close()
	require.NoError(t, askHealth(address, ""), "it was taken before this one")
	require.NoError(t, stop(), "stopping takes its limit, and fails, where it is waited for")
}

func TestBackup(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "shop")
	require.NoError(t, prepareFolder(dir))
	store, err := openShop(context.Background(), dir, filepath.Join(dir, "backups"))
	require.NoError(t, err)
	defer store.Close()

	copied := t.TempDir()
	copyTo := func(dir, out string) error {
		_, err := backup(context.Background(), dir, out, filepath.Join(dir, "backups"))
		return err
	}
	require.NoError(t, copyTo(dir, shopPath(copied)), "while the shop is open")
	twin, err := openExisting(context.Background(), copied)
	require.NoError(t, err)
	defer twin.Close()
	want, err := store.Snapshot(context.Background())
	require.NoError(t, err)
	got, err := twin.Snapshot(context.Background())
	require.NoError(t, err)
	assert.Equal(t, want.Shop, got.Shop)
	assert.Equal(t, want.Hours, got.Hours)
	assert.Equal(t, want.Stations, got.Stations)

	assert.Error(t, copyTo(dir, shopPath(copied)), "never over another file")
	assert.ErrorContains(t, copyTo(t.TempDir(), filepath.Join(copied, "b.db")), "keeps no shop")
}
