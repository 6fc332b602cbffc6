package main

import (
	"bufio"
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"slices"
	"strings"
	"syscall"

	"golang.org/x/term"

	"faceside/models"
)

func runPassphrase(args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	flags := flag.NewFlagSet("passphrase", flag.ContinueOnError)
	data := flags.String("data", defaultData, "`FOLDER` that keeps the shop; made where it is missing")
	remove := flags.Bool("remove", false, "take the passphrase away: nobody has to sign in any more")
	if status, done := parseFlags(flags, args, stderr); done {
		return status
	}
	said := "The planner's passphrase is set: everybody signs in from now on."
	work := func(ctx context.Context, store *models.Store) error {
		text, err := readPassphrase(stdin, stdout)
		if err != nil {
			return err
		}
		return store.SetPassphrase(ctx, text, 0)
	}
	if *remove {
		said = "The passphrase is taken away: whoever reaches the server may do everything."
		work = func(ctx context.Context, store *models.Store) error { return store.RemovePassphrase(ctx) }
	}
	if err := onShop(context.Background(), *data, work); err != nil {
		return fail(stderr, "passphrase", err)
	}
	fmt.Fprintln(stdout, said)
	return exitOK
}

func runUnlock(args []string, _ io.Reader, stdout, stderr io.Writer) int {
	flags := flag.NewFlagSet("unlock", flag.ContinueOnError)
	data := flags.String("data", defaultData, "`FOLDER` that keeps the shop")
	person := flags.String("person", "", "`NAME` of whom to free; without it everybody, and the planner's passphrase")
	if status, done := parseFlags(flags, args, stderr); done {
		return status
	}
	freed, err := unlock(context.Background(), *data, *person)
	if err != nil {
		return fail(stderr, "unlock", err)
	}
	fmt.Fprintf(stdout, "freed: %d\n", freed)
	return exitOK
}

// unlock frees one person by name, or all of them and the passphrase, and returns how
// many it were.
func unlock(ctx context.Context, dir, person string) (freed int, err error) {
	store, err := openExisting(ctx, dir)
	if err != nil {
		return 0, err
	}
	defer func() { err = errors.Join(err, store.Close()) }()
	called, err := peopleCalled(ctx, store, person)
	if err != nil {
		return 0, err
	}
	access, err := store.PeopleAccess(ctx)
	if err != nil {
		return 0, err
	}
	for whose, of := range access {
		if of.Failed == 0 || person != "" && !slices.Contains(called, whose) {
			continue
		}
		if err := store.Unlock(ctx, whose); err != nil {
			return freed, err
		}
		freed++
	}
	return freed, nil
}

// peopleCalled are those of a name, which somebody must have; none where it is "".
func peopleCalled(ctx context.Context, store *models.Store, name string) (called []models.ID, err error) {
	if name == "" {
		return nil, nil
	}
	snap, err := store.Snapshot(ctx)
	if err != nil {
		return nil, err
	}
	for _, p := range snap.People {
		if strings.EqualFold(p.Name, name) {
			called = append(called, p.ID)
		}
	}
	if called == nil {
		return nil, fmt.Errorf("nobody in the shop is called %q", name)
	}
	return called, nil
}

// onShop does something with the shop in the folder dir, also while it is served. A
// folder without a shop gets an empty one.
func onShop(ctx context.Context, dir string, work func(context.Context, *models.Store) error) (err error) {
	there, err := hasShop(dir)
	if err != nil {
		return err
	}
	var store *models.Store
	if there {
		store, err = openExisting(ctx, dir)
	} else if err = prepareFolder(dir); err == nil {
		store, err = openShop(ctx, dir, backupsFolder("", dir))
	}
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, store.Close()) }()
	return work(ctx, store)
}

// readPassphrase reads a passphrase: at a terminal twice, without showing it; from
// anything else one line. It is never an argument, which other programs can see.
func readPassphrase(stdin io.Reader, stdout io.Writer) (string, error) {
	terminal, ok := stdin.(*os.File)
	if !ok || !term.IsTerminal(int(terminal.Fd())) {
		return readLine(bufio.NewReader(stdin))
	}
	first, err := askHidden(terminal, stdout, fmt.Sprintf("The planner's new passphrase, at least %d characters: ", models.PassphraseLeast))
	if err != nil {
		return "", err
	}
	second, err := askHidden(terminal, stdout, "Once more: ")
	if err == nil && first != second {
		err = errors.New("the two are not the same; nothing was changed")
	}
	return first, err
}

// askHidden asks at a terminal, which does not show what is typed and is as it was
// afterwards, also where the program is broken off.
func askHidden(terminal *os.File, stdout io.Writer, question string) (string, error) {
	at := int(terminal.Fd())
	was, err := term.GetState(at)
	if err != nil {
		return "", fmt.Errorf("asking the terminal for its state: %w", err)
	}
	broken := make(chan os.Signal, 1)
	signal.Notify(broken, os.Interrupt, syscall.SIGTERM)
	defer close(broken)
	defer signal.Stop(broken)
	go func() {
		if _, open := <-broken; open {
			if err := term.Restore(at, was); err != nil {
				fmt.Fprintln(os.Stderr, err)
			}
			os.Exit(exitFailed)
		}
	}()
	fmt.Fprint(stdout, question)
	text, err := term.ReadPassword(at)
	fmt.Fprintln(stdout)
	if err != nil {
		return "", fmt.Errorf("reading the passphrase: %w", err)
	}
	return string(text), nil
}

func readLine(in *bufio.Reader) (string, error) {
	line, err := in.ReadString('\n')
	if err != nil && (!errors.Is(err, io.EOF) || line == "") {
		return "", fmt.Errorf("reading the passphrase: %w", err)
	}
	return strings.TrimRight(line, "\r\n"), nil
}
