package main

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestRun(t *testing.T) {
	tests := []struct {
		name   string
		args   []string
		status int
		stdout string // what it must hold
		stderr string
	}{
		{"no command", nil, exitUsage, "", "usage: faceside COMMAND"},
		{"help", []string{"help"}, exitOK, "usage: faceside COMMAND", ""},
		{"help by flag", []string{"--help"}, exitOK, "usage: faceside COMMAND", ""},
		{"unknown command", []string{"plane"}, exitUsage, "", `no command is called "plane"`},
		{"help of a command", []string{"serve", "-h"}, exitOK, "", "-listen HOST:PORT"},
		{"unknown flag", []string{"serve", "-colour", "red"}, exitUsage, "", "flag provided but not defined: -colour"},
		{"a word too many", []string{"demo", "now"}, exitUsage, "", `faceside demo: "now" is not a flag`},
		{"demo on no day", []string{"demo", "-start", "tomorrow"}, exitUsage, "", `-start "tomorrow": not a day`},
		{"demo at the weekend", []string{"demo", "-start", "2026-11-22"}, exitUsage, "", "2026-11-22 is a Sunday"},
		{"backup of no shop", []string{"backup", "-data", "/nowhere"}, exitFailed, "", "the folder -data /nowhere keeps no shop"},
		{"restore of nothing", []string{"restore"}, exitUsage, "", "-from FILE says which backup, and is missing"},
		{"health of nowhere", []string{"health", "-address", "here"}, exitFailed, "", `-address "here" is not HOST:PORT`},
		{"serve on no port", []string{"serve", "-listen", "here"}, exitFailed, "", `-listen "here" is not HOST:PORT`},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var stdout, stderr bytes.Buffer
			assert.Equal(t, tt.status, run(tt.args, strings.NewReader(""), &stdout, &stderr))
			assert.Contains(t, stdout.String(), tt.stdout)
			assert.Contains(t, stderr.String(), tt.stderr)
			if tt.stderr == "" {
				assert.Empty(t, stderr.String())
			}
		})
	}
}

func TestHelpListsEveryCommand(t *testing.T) {
	var help bytes.Buffer
	printHelp(&help)
	for _, c := range commands() {
		assert.Contains(t, help.String(), "\n  "+c.name)
		assert.NotEmpty(t, c.summary, c.name)
	}
}
