package handlers

import (
	"bufio"
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/PuerkitoBio/goquery"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
	"faceside/models/planner"
	"faceside/models/testrig"
)

// hostile is one request that nobody means well, as it is written to the connection.
type hostile struct {
	name   string
	raw    string
	status int
	says   string // part of the sentence that answers it
}

// What every hostile request carries, so that it gets as far as one of a tablet would.
const hostileCookies = "Cookie: " + tabletCookie + "=8d1f6c1e-6f0b-4d7e-9a55-6f7f7ad0c111; " + personCookie + "=1\r\n"

// line writes a request: its headers in lines of their own.
func line(method, target, body string, headers ...string) string {
	var out strings.Builder
	out.WriteString(method + " " + target + " HTTP/1.1\r\n")
	host := "Host: localhost\r\nConnection: close\r\n" + hostileCookies
	for _, h := range headers {
		name, _, _ := strings.Cut(h, ":")
		if strings.EqualFold(name, "Host") {
			host = strings.Replace(host, "Host: localhost\r\n", "", 1)
		}
		if strings.EqualFold(name, "Cookie") {
			host = strings.Replace(host, hostileCookies, "", 1)
		}
		out.WriteString(h + "\r\n")
	}
	return out.String() + host + "\r\n" + body
}

func got(target string, headers ...string) string { return line("GET", target, "", headers...) }

const formOf = "Content-Type: application/x-www-form-urlencoded"

// posted is a form as a browser sends it.
func posted(target, body string, headers ...string) string {
	return typed(target, "application/x-www-form-urlencoded", body, headers...)
}

// typed is a body of some type.
func typed(target, kind, body string, headers ...string) string {
	return line("POST", target, body, append([]string{"Content-Type: " + kind, fmt.Sprintf("Content-Length: %d", len(body))}, headers...)...)
}

// besieged is a shop behind the server as the program runs it, whose records can be
// watched and whose log is kept.
type besieged struct {
	*testing.T
	address string
	log     *heardLog
	records *sql.DB
	store   *models.Store
}

// heardLog is a log that tests may read while it is written.
type heardLog struct {
	mu   sync.Mutex
	text bytes.Buffer
}

func (k *heardLog) Write(p []byte) (int, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	return k.text.Write(p)
}

// take returns what was logged since it was asked last.
func (k *heardLog) take() string {
	k.mu.Lock()
	defer k.mu.Unlock()
	defer k.text.Reset()
	return k.text.String()
}

// besiege serves a shop with a commission, a plan, a note, a board and a pattern of its own.
func besiege(t *testing.T) *besieged {
	t.Helper()
	clock := testrig.Monday()
	first := testrig.Shop(t, clock)
	testrig.Commission(t, first, "Hall shelf", "2026-03-20")
	testrig.Commission(t, first, "Other shelf", "2026-03-27")
	path := filepath.Join(t.TempDir(), "shop.db")
	require.NoError(t, first.Backup(context.Background(), path))
	store, err := models.OpenStore(context.Background(), path, clock.Now)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, store.Close()) })
	b := &besieged{T: t, store: store, log: &heardLog{}}
	log := slog.New(slog.NewTextHandler(b.log, nil))
	cfg := config(t, store)
	cfg.Log, cfg.Planner, cfg.Hosts = log, planner.New(store, log, planner.Options{Work: 100, Seed: 1}), []string{"bench.example"}
	_, err = cfg.Planner.Plan(context.Background())
	require.NoError(t, err)
	handler, err := New(cfg)
	require.NoError(t, err)
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	server := HTTPServer(handler, log)
	done := make(chan struct{})
	go func() {
		defer close(done)
		_ = server.Serve(listener) // it ends when it is closed
	}()
	t.Cleanup(func() {
		require.NoError(t, server.Close())
		<-done
	})
	b.address = listener.Addr().String()
	b.records, err = sql.Open("sqlite3", "file:"+path+"?mode=ro")
	require.NoError(t, err)
	b.records.SetMaxOpenConns(1) // what changed is told for each connection
	t.Cleanup(func() { require.NoError(t, b.records.Close()) })
	return b
}

// writes is a number that changes with everything that is committed
// (sqlite.org/pragma.html, data_version).
func (b *besieged) writes() (version int64) {
	b.Helper()
	require.NoError(b, b.records.QueryRow("PRAGMA data_version").Scan(&version))
	return version
}

// answered is what came back.
type answered struct {
	status int
	header http.Header
	body   string
	more   bool // something else was answered on the same connection
}

// send writes a request as it is and reads the answer.
func (b *besieged) send(raw string) answered {
	b.Helper()
	conn, err := net.Dial("tcp", b.address)
	require.NoError(b, err)
	defer conn.Close()
	require.NoError(b, conn.SetDeadline(time.Now().Add(20*time.Second)))
	go func() { _, _ = io.WriteString(conn, raw) }() // the server may answer before it has read all
	in := bufio.NewReader(conn)
	res, err := http.ReadResponse(in, nil)
	require.NoError(b, err)
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	require.NoError(b, err)
	a := answered{status: res.StatusCode, header: res.Header, body: string(body)}
	if res.Close {
		_, err = in.ReadByte()
		a.more = err == nil
	}
	return a
}

// leaks are words of the inside that no answer may hold.
var leaks = regexp.MustCompile(`(?i)sql|goroutine|panic|strconv|\.go:[0-9]|runtime error|/tmp/|invalid syntax|gorm`)

// ends is how a sentence does.
var ends = regexp.MustCompile(`[.!?”"](\s*\(.*\))?$|https?://\S+$|\d s\.$`)

// sentence is what an answer tells a person, or a program.
func (a answered) sentence() string {
	kind := a.header.Get("Content-Type")
	switch {
	case strings.HasPrefix(kind, "text/plain"):
		return strings.TrimSpace(a.body)
	case strings.Contains(kind, "json"):
		var told struct{ Detail, Why string }
		if json.Unmarshal([]byte(a.body), &told) != nil {
			return ""
		}
		return told.Detail + told.Why
	}
	doc, err := goquery.NewDocumentFromReader(strings.NewReader(a.body))
	if err != nil {
		return ""
	}
	doc.Find("template").Remove()
	return readable(doc.Find(".refusal, .wrong-why, .notice, [role=alert] p, .file-wrong, .caution-card, .wrong"))
}

// Every hostile request is answered with the right status and a plain sentence; nothing
// is logged and nothing is stored.
func TestHostileRequests(t *testing.T) {
	b := besiege(t)
	rows := hostileRequests(t)
	require.GreaterOrEqual(t, len(rows), 200)
	names := map[string]bool{}
	before := b.writes()
	for _, row := range rows {
		require.False(t, names[row.name], "two rows are called %s", row.name)
		names[row.name] = true
		a := b.send(row.raw)
		if !assert.Equal(t, row.status, a.status, "%s\n%s", row.name, a.sentence()) {
			continue
		}
		assert.Empty(t, b.log.take(), row.name)
		now := b.writes()
		assert.Equal(t, before, now, "%s: something was stored", row.name)
		before = now
		assert.False(t, a.more, "%s: one request is answered once", row.name)
		b.harmless(row, a)
	}
	t.Logf("%d hostile requests", len(rows))
}

// harmless looks at an answer.
func (b *besieged) harmless(row hostile, a answered) {
	b.Helper()
	assert.Empty(b, a.header.Get("Server"), "%s: no banner", row.name)
	assert.NotContains(b, a.body, "<script>alert", row.name)
	for name, values := range a.header {
		for _, value := range values {
			assert.NotContains(b, name+value, "alert(1)", row.name)
		}
	}
	if a.header.Get("X-Content-Type-Options") == "" { // the library itself refused what is no HTTP
		assert.GreaterOrEqual(b, a.status, 400, row.name)
		assert.LessOrEqual(b, len(a.body), 200, row.name)
		return
	}
	assert.NotEmpty(b, a.header.Get("Content-Security-Policy"), row.name)
	if a.status < 400 || row.says == "-" {
		return
	}
	said := a.sentence()
	assert.Regexp(b, ends, said, "%s: a plain sentence", row.name)
	assert.NotRegexp(b, leaks, said, row.name)
	assert.Contains(b, said, row.says, row.name)
}
