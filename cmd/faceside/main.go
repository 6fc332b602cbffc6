package main

import (
	"errors"
	"flag"
	"fmt"
	"io"
	"os"

	"faceside/models"
)

// The exit statuses every command keeps to; sequence has one more of its own.
const (
	exitOK     = 0
	exitFailed = 1
	exitUsage  = 2
)

// command is one word after the program's name. run returns the exit status.
type command struct {
	name    string
	summary string
	run     func(args []string, stdin io.Reader, stdout, stderr io.Writer) int
}

// commands in the order the help lists them.
func commands() []command {
	return []command{
		{"serve", "serve a lasting shop to the tablets", runServe},
		{"demo", "serve an invented shop to try things on", runDemo},
		{"sequence", "read a sequencing problem, write a plan; -compare prints a shop's plan beside two simple rules", runSequence},
		{"backup", "copy a shop's records to one file, also while it is served", runBackup},
		{"restore", "put a backup in the place of a shop's records, which are kept beside", runRestore},
		{"passphrase", "set the planner's passphrase, read from the terminal: everybody signs in from then on", runPassphrase},
		{"unlock", "free people after wrong PINs, and the passphrase after wrong ones", runUnlock},
		{"bundle", "gather what tells who is to find a fault how the program stands, without names", runBundle},
		{"remake", "list the plans whose making is kept, or make one again and say whether it is the same", runRemake},
		{"health", "ask a running server whether it serves", runHealth},
		{"load", "tap with 200 tablets on a throw-away shop, and say how fast it was", runLoad},
	}
}

func main() {
	os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}

func run(args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	if len(args) == 0 {
		printHelp(stderr)
		return exitUsage
	}
	switch args[0] {
	case "help", "-h", "-help", "--help":
		printHelp(stdout)
		return exitOK
	}
	c := findCommand(args[0])
	if c == nil {
		fmt.Fprintf(stderr, "faceside: no command is called %q\n\n", args[0])
		printHelp(stderr)
		return exitUsage
	}
	return c.run(args[1:], stdin, stdout, stderr)
}

// findCommand returns nil where no command has that name.
func findCommand(name string) *command {
	for _, c := range commands() {
		if c.name == name {
			return &c
		}
	}
	return nil
}

func printHelp(w io.Writer) {
	fmt.Fprint(w, "Faceside keeps the order of work for a small furniture shop.\n\nusage: faceside COMMAND [flags]\n\n")
	for _, c := range commands() {
		fmt.Fprintf(w, "  %-12s%s\n", c.name, c.summary)
	}
	fmt.Fprint(w, "\n`faceside COMMAND -h` lists the flags of a command.\n")
}

// parseFlags reads the flags of a command that takes no other words. done says
// that the command ends here, with that exit status.
func parseFlags(flags *flag.FlagSet, args []string, stderr io.Writer) (status int, done bool) {
	flags.SetOutput(stderr)
	err := flags.Parse(args)
	switch {
	case errors.Is(err, flag.ErrHelp):
		return exitOK, true
	case err != nil:
		return exitUsage, true
	case flags.NArg() > 0:
		fmt.Fprintf(stderr, "faceside %s: %q is not a flag, and this command takes nothing else\n", flags.Name(), flags.Arg(0))
		return exitUsage, true
	}
	return exitOK, false
}

// fail says what went wrong with a command, in one line.
func fail(stderr io.Writer, name string, err error) int {
	fmt.Fprintf(stderr, "faceside %s: %s\n", name, models.Details(err))
	return exitFailed
}
