package main

import (
	"crypto/tls"
	"flag"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/url"
	"time"

	"faceside/models/authority"
)

// healthTimeout is how long a server may take to say that it serves.
const healthTimeout = 4 * time.Second

func runHealth(args []string, _ io.Reader, stdout, stderr io.Writer) int {
	flags := flag.NewFlagSet("health", flag.ContinueOnError)
	address := flags.String("address", defaultListen, "`HOST:PORT` the server listens on")
	data := flags.String("data", "", "`FOLDER` of the shop, where it is served by TLS: its authority is what is trusted")
	if status, done := parseFlags(flags, args, stderr); done {
		return status
	}
	if err := askHealth(*address, *data); err != nil {
		return fail(stderr, "health", err)
	}
	fmt.Fprintln(stdout, "serving")
	return exitOK
}

// askHealth returns nil when the server at address answers that it serves. With the
// folder of a shop it is asked by TLS.
func askHealth(address, folder string) error {
	if _, _, err := net.SplitHostPort(address); err != nil {
		return fmt.Errorf("-address %q is not HOST:PORT: %w", address, err)
	}
	client := http.Client{Timeout: healthTimeout}
	where := url.URL{Scheme: "http", Host: address, Path: "/healthz"}
	if folder != "" {
		a, err := authority.Read(folder)
		if err != nil {
			return err
		}
		where.Scheme = "https"
		client.Transport = &http.Transport{TLSClientConfig: &tls.Config{RootCAs: a.Pool(), MinVersion: tls.VersionTLS12}}
		defer client.CloseIdleConnections()
	}
	answer, err := client.Get(where.String())
	if err != nil {
		return fmt.Errorf("nothing serves at %s: %w", address, err)
	}
	defer answer.Body.Close()
	if answer.StatusCode != http.StatusOK {
		return fmt.Errorf("the server at %s is not well: %s", address, answer.Status)
	}
	return nil
}
