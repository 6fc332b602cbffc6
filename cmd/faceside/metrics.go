package main

import (
	"context"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promhttp"

	"faceside/models"
	"faceside/models/planner"
)

// measured is what a program that gathers measurements reads, in the text format of
// Prometheus (prometheus.io/docs/instrumenting/exposition_formats).
type measured struct {
	*prometheus.Registry
	plans *prometheus.HistogramVec
}

// newMeasured measures the program itself.
func newMeasured() *measured {
	m := &measured{Registry: prometheus.NewRegistry(), plans: prometheus.NewHistogramVec(prometheus.HistogramOpts{
		Name: "faceside_planning_seconds", Help: "How long each search for a plan took, by what came of it: saved, overtaken (broken off by newer taps or changes) or failed.",
		Buckets: []float64{.01, .03, .1, .3, 1, 3, 5, 10, 30},
	}, []string{"outcome"})}
	m.MustRegister(m.plans, collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	return m
}

// planned counts a search of the planner.
func (m *measured) planned(r planner.Ran) {
	m.plans.WithLabelValues(r.Outcome).Observe(r.Took.Seconds())
}

// watch measures the records, the plan and the backups when it is asked.
func (m *measured) watch(store *models.Store, backups *models.Backups) {
	gauge := func(name, help string, value func() (float64, bool)) {
		m.MustRegister(maybeGauge{prometheus.NewDesc(name, help, nil, nil), value})
	}
	gauge("faceside_records_bytes", "Size of the records and their log on the disk.", func() (float64, bool) {
		n, err := store.Size()
		return float64(n), err == nil
	})
	gauge("faceside_taps_questions", "Taps that came too late and wait for a person's answer.", func() (float64, bool) {
		n, err := store.OpenQuestions(context.Background())
		return float64(n), err == nil
	})
	gauge("faceside_plan_age_seconds", "Time since the current plan was made.", func() (float64, bool) {
		plan, err := store.CurrentPlan(context.Background())
		if err != nil || plan == nil {
			return 0, false
		}
		return store.Now().Sub(plan.MadeAt).Seconds(), true
	})
	gauge("faceside_clock_right", "1, or 0 where the machine's clock stands before the newest tap.", func() (float64, bool) {
		if store.ClockRight() != nil {
			return 0, true
		}
		return 1, true
	})
	gauge("faceside_log_shortened", "1, or 0 where the log of the records is kept as it is and becomes longer until the program is started anew.", func() (float64, bool) {
		if store.LogShortened() != nil {
			return 0, true
		}
		return 1, true
	})
	if backups == nil {
		return
	}
	gauge("faceside_backups", "Backups that are kept.", func() (float64, bool) { return float64(backups.Status().Kept), true })
	gauge("faceside_backup_failing", "1 where the last backup failed, else 0.", func() (float64, bool) {
		if backups.Status().FailedAt != nil {
			return 1, true
		}
		return 0, true
	})
	gauge("faceside_backup_age_seconds", "Time since the newest good backup was made.", func() (float64, bool) {
		last := backups.Status().LastGood
		if last == nil {
			return 0, false
		}
		return store.Now().Sub(*last).Seconds(), true
	})
}

// maybeGauge is a value that may not be known; then it is not there.
type maybeGauge struct {
	desc  *prometheus.Desc
	value func() (float64, bool)
}

func (g maybeGauge) Describe(out chan<- *prometheus.Desc) { out <- g.desc }

func (g maybeGauge) Collect(out chan<- prometheus.Metric) {
	if v, ok := g.value(); ok {
		out <- prometheus.MustNewConstMetric(g.desc, prometheus.GaugeValue, v)
	}
}

// listenMetrics takes the address on which the program is measured, which must be one
// of this machine alone: nobody signs in there.
func listenMetrics(address string) (net.Listener, error) {
	listener, err := net.Listen("tcp", address)
	if err != nil {
		return nil, fmt.Errorf("cannot listen on -metrics %s: %w", address, err)
	}
	if !onlyLoopback(listener.Addr()) {
		listener.Close()
		return nil, fmt.Errorf("-metrics %s can be reached from the network: it must be an address of this machine alone, such as 127.0.0.1:9321", address)
	}
	return listener, nil
}

// metricsTime is how long asking and answering may take.
const metricsTime = 10 * time.Second

// serve answers at /metrics until ctx ends; wait returns when it has.
func (m *measured) serve(ctx context.Context, listener net.Listener, log *slog.Logger) (wait func()) {
	mux := http.NewServeMux()
	mux.Handle("GET /metrics", promhttp.HandlerFor(m.Registry, promhttp.HandlerOpts{ErrorLog: slog.NewLogLogger(log.Handler(), slog.LevelError)}))
	done := make(chan struct{})
	go func() {
		defer close(done)
		if err := serveHTTP(ctx, listener, &http.Server{Handler: mux, ReadHeaderTimeout: metricsTime, WriteTimeout: metricsTime}); err != nil {
			log.Error("serving the measurements", "error", err)
		}
	}()
	return func() { <-done }
}
