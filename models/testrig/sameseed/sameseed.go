// Package sameseed has the properties that a package's tests check drawn alike on
// every run. A test file imports it for that alone. With RAPID_SEED=0 in the
// environment they are drawn anew, with another number from that seed.
package sameseed

import (
	"flag"
	"fmt"
	"os"

	_ "pgregory.net/rapid" // defines the flag
)

func init() {
	if _, said := os.LookupEnv("RAPID_SEED"); said {
		return
	}
	if err := flag.Set("rapid.seed", "1"); err != nil {
		fmt.Fprintln(os.Stderr, "properties are drawn from a seed of chance:", err)
	}
}
