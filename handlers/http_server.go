package handlers

import (
	"log/slog"
	"net/http"
	"time"
)

// HTTPServer is how the handler is served: with limits on what comes before a request
// is read and after it is answered. Between the two the handler sets its own. What the
// library has to say of broken connections goes into the log where that is asked for
// in detail.
func HTTPServer(handler http.Handler, log *slog.Logger) *http.Server {
	return &http.Server{
		Handler:           handler,
		ReadHeaderTimeout: 10 * time.Second,
		IdleTimeout:       2 * time.Minute,
		MaxHeaderBytes:    64 << 10,
		ErrorLog:          slog.NewLogLogger(log.Handler(), slog.LevelDebug),
		// "OPTIONS *" is answered like everything else, and not by the library.
		DisableGeneralOptionsHandler: true,
	}
}
