package handlers

import (
	"log/slog"
	"net/http"
	"strings"
	"time"

	"github.com/gin-gonic/gin"
	"github.com/prometheus/client_golang/prometheus"

	"faceside/models"
)

// measures are what is counted of the requests. Nothing in them says whose they were.
type measures struct {
	taps    *prometheus.CounterVec   // by what became of them
	waited  prometheus.Histogram     // of those that had waited on their tablet
	answers *prometheus.HistogramVec // by what was asked for
}

// newMeasures counts into a registry.
func newMeasures(into prometheus.Registerer, streams func() int) (*measures, error) {
	m := &measures{
		taps: prometheus.NewCounterVec(prometheus.CounterOpts{Name: "faceside_taps_total",
			Help: "Taps by what became of them: written, repeated, refused, asked (a person is asked about it), early (an earlier one has not come) or failed."}, []string{"outcome"}),
		waited: prometheus.NewHistogram(prometheus.HistogramOpts{Name: "faceside_tap_waited_seconds",
			Help:    "How long taps that could not be sent at once had waited on their tablet.",
			Buckets: []float64{1, 10, 60, 600, 3600, 6 * 3600, 24 * 3600, 7 * 24 * 3600}}),
		answers: prometheus.NewHistogramVec(prometheus.HistogramOpts{Name: "faceside_answer_seconds",
			Help:    "How long answers took, by what was asked for: tap, change, screen, program (the API, calendars) or static.",
			Buckets: []float64{.001, .0025, .005, .01, .025, .05, .1, .25, .5, 1, 2.5, 10}}, []string{"of", "status"}),
	}
	open := prometheus.NewGaugeFunc(prometheus.GaugeOpts{Name: "faceside_streams", Help: "Tablets that follow the records by a live stream."},
		func() float64 { return float64(streams()) })
	for _, c := range []prometheus.Collector{m.taps, m.waited, m.answers, open} {
		if err := into.Register(c); err != nil {
			return nil, err
		}
	}
	for _, outcome := range []string{"written", "repeated", "refused", "asked", "early", "failed"} {
		m.taps.WithLabelValues(outcome)
	}
	return m, nil
}

// tap counts what became of a tap.
func (m *measures) tap(q *models.Queued, result models.TapResult, err error) {
	m.taps.WithLabelValues(tapOutcome(result, err)).Inc()
	if q != nil && q.Late {
		m.waited.Observe(q.Waited.Seconds())
	}
}

func tapOutcome(result models.TapResult, err error) string {
	switch {
	case err == nil && result.Repeated:
		return "repeated"
	case err == nil:
		return "written"
	case statusOf(err) >= http.StatusInternalServerError:
		return "failed"
	case result.SendFrom > 0:
		return "early"
	case result.Returned != nil && result.Returned.Answer == models.AnswerOpen:
		return "asked"
	}
	return "refused"
}

// measured counts how long an answer took, and logs the request where every one is
// logged, or where the server failed. A live stream goes on as long as its tablet likes.
func (s *server) measured(c *gin.Context) {
	began := time.Now()
	c.Next()
	took := time.Since(began)
	if c.FullPath() != livePath {
		s.measures.answers.WithLabelValues(askedFor(c), statusClass(c.Writer.Status())).Observe(took.Seconds())
	}
	level := slog.LevelDebug
	if c.Writer.Status() >= http.StatusInternalServerError {
		level = slog.LevelWarn // also of a form, which tells what went wrong to who filled it in alone
	}
	s.log.Log(c.Request.Context(), level, "answered", "method", c.Request.Method, "path", loggedPath(c), "status", c.Writer.Status(), "bytes", max(0, c.Writer.Size()), "ms", took.Milliseconds())
}

// askedFor is the kind of thing a request asks for.
func askedFor(c *gin.Context) string {
	path := c.FullPath()
	switch {
	case path == "/tap":
		return "tap"
	case isAPI(c), strings.HasPrefix(path, "/calendars/"):
		return "program"
	case strings.HasPrefix(path, "/static/"), path == "/sw.js":
		return "static"
	case c.Request.Method == http.MethodPost:
		return "change"
	}
	return "screen"
}

// statusClass is "2xx" for 200.
func statusClass(status int) string { return string(rune('0'+status/100)) + "xx" }
