package handlers

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
)

// narrow is a connection that says how often was written to it, and whether somebody
// waits to.
type narrow struct {
	net.Conn
	written atomic.Int64
	waiting atomic.Bool
}

func (n *narrow) Write(p []byte) (int, error) {
	n.waiting.Store(true)
	defer n.waiting.Store(false)
	defer n.written.Add(1)
	return n.Conn.Write(p)
}

// narrowing takes one connection, with little room for what the client does not read.
type narrowing struct {
	net.Listener
	to *narrow
}

func (n narrowing) Accept() (net.Conn, error) {
	c, err := n.Listener.Accept()
	if err != nil {
		return nil, err
	}
	n.to.Conn = c
	return n.to, c.(*net.TCPConn).SetWriteBuffer(2 << 10)
}

// stall opens a stream at a server and reads no more of it than that it is open.
func stall(t *testing.T, server string) net.Conn {
	t.Helper()
	dialer := net.Dialer{Control: func(_, _ string, raw syscall.RawConn) error {
		var err error
		ran := raw.Control(func(fd uintptr) { err = syscall.SetsockoptInt(int(fd), syscall.SOL_SOCKET, syscall.SO_RCVBUF, 2<<10) })
		return errors.Join(ran, err)
	}}
	at := strings.TrimPrefix(server, "http://")
	c, err := dialer.Dial("tcp", at)
	require.NoError(t, err)
	t.Cleanup(func() { c.Close() })
	_, err = fmt.Fprintf(c, "GET /live HTTP/1.1\r\nHost: %s\r\nCookie: %s=%s\r\n\r\n", at, tabletCookie, uuid.NewString())
	require.NoError(t, err)
	_, err = io.ReadFull(c, make([]byte, len("HTTP/1.1 200 OK")))
	require.NoError(t, err)
	return c
}

// While the server cannot write to a tablet that reads nothing, taps are answered and
// told to the others: all of them before it gives that tablet up.
func TestAStalledStreamSlowsNobody(t *testing.T) {
	r := newRig(t, func(c *Config) { c.Heartbeat = 5 * time.Millisecond })
	r.take("Hall shelf")
	listens, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	room := &narrow{}
	server := &httptest.Server{Listener: narrowing{listens, room}, Config: &http.Server{Handler: r.server.Config.Handler}}
	server.Start()
	t.Cleanup(server.Close)
	reader := r.listen("?since="+r.hub.version(), nil)
	still := stall(t, server.URL)

	for last, quiet := int64(-1), 0; quiet < 20; { // so many beats to the other and not one more to it
		_, ok := reader.message()
		require.True(t, ok)
		if n := room.written.Load(); n != last || !room.waiting.Load() {
			last, quiet = n, 0
		} else {
			quiet++
		}
	}
	stuck := room.written.Load()
	ana := r.as("Ana")
	const taps = 60
	for n := range taps {
		ana.tap([]models.TapKind{models.TapStart, models.TapPutDown}[n%2], r.step("joint"))
	}
	require.Len(t, r.journal(), taps)
	for told := ""; !strings.Contains(told, fmt.Sprintf(`"seq":%d,`, taps)); {
		told = reader.change()
	}
	assert.True(t, room.waiting.Load(), "the server still waits to write")
	assert.Equal(t, stuck, room.written.Load())
	assert.Equal(t, 2, r.hub.streams())
	require.NoError(t, still.Close())
	assert.Eventually(t, func() bool { return r.hub.streams() == 1 }, 10*time.Second, 5*time.Millisecond)
}

// As after a failure of the network: each is told what it missed, all of it and once,
// and has its bench.
func TestTwoHundredComeBackTogether(t *testing.T) {
	const tablets = 200
	r := newRig(t)
	r.take("Hall shelf")
	seen := r.hub.version()
	r.as("Ana").tap(models.TapStart, r.step("joint"))
	r.as("Ben").tap(models.TapTrouble, r.step("plane-rails"))
	ctx, stop := context.WithTimeout(context.Background(), time.Minute)
	defer stop()
	wires := &http.Client{Transport: &http.Transport{MaxIdleConnsPerHost: tablets}}
	wrong := make(chan error, tablets)
	var served, all sync.WaitGroup
	served.Add(tablets)
	for range tablets {
		all.Go(func() {
			err := r.comeBack(ctx, wires, seen, &served)
			if err != nil {
				wrong <- err
			}
		})
	}
	served.Wait()
	assert.Equal(t, tablets, r.hub.streams())
	stop()
	all.Wait()
	close(wrong)
	for err := range wrong {
		assert.NoError(t, err)
	}
}

// comeBack opens a tablet's stream, says when it was served, and reads on to the end.
func (r *rig) comeBack(ctx context.Context, wires *http.Client, seen string, served *sync.WaitGroup) error {
	once := sync.OnceFunc(served.Done)
	defer once()
	tablet := &http.Cookie{Name: tabletCookie, Value: uuid.NewString()}
	ask := func(path string) (*http.Response, error) {
		req, err := http.NewRequestWithContext(ctx, http.MethodGet, r.server.URL+path, nil)
		if err != nil {
			return nil, err
		}
		req.AddCookie(tablet)
		req.Header.Set("HX-Request", "true")
		return wires.Do(req)
	}
	stream, err := ask("/live?since=" + seen)
	if err != nil {
		return err
	}
	defer stream.Body.Close()
	var told []string
	lines := bufio.NewScanner(stream.Body)
	for len(told) == 0 && lines.Scan() {
		if data, ok := strings.CutPrefix(lines.Text(), `data: {"kinds":`); ok {
			told = append(told, data)
		}
	}
	bench, err := ask("/bench")
	if err != nil {
		return err
	}
	defer bench.Body.Close()
	page, err := io.ReadAll(bench.Body)
	if err != nil {
		return err
	}
	once()
	for lines.Scan() {
		if data, ok := strings.CutPrefix(lines.Text(), `data: {"kinds":`); ok {
			told = append(told, data)
		}
	}
	switch {
	case len(told) != 1 || !strings.HasPrefix(told[0], `["tap"],"seq":2,"steps":[`):
		return fmt.Errorf("told %q", told)
	case bench.StatusCode != http.StatusOK || !strings.Contains(string(page), "Ana"):
		return fmt.Errorf("the bench was answered %s: %s", bench.Status, page)
	}
	return nil
}
