package main

import (
	"bufio"
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"faceside/models"
)

func runRestore(args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	flags := flag.NewFlagSet("restore", flag.ContinueOnError)
	data := flags.String("data", defaultData, "`FOLDER` that keeps the shop")
	from := flags.String("from", "", "`FILE` with the backup; it stays as it is")
	yes := flags.Bool("yes", false, "do it without asking")
	if status, done := parseFlags(flags, args, stderr); done {
		return status
	}
	if *from == "" {
		fmt.Fprintln(stderr, "faceside restore: -from FILE says which backup, and is missing")
		return exitUsage
	}
	r := &restore{dir: *data, from: *from, now: time.Now(), out: stdout}
	if !*yes {
		r.sure = func() bool { return askedYes(stdin, stdout) }
	}
	if err := r.run(context.Background()); err != nil {
		return fail(stderr, "restore", err)
	}
	return exitOK
}

// askedYes reads the answer of who stands at the terminal.
func askedYes(stdin io.Reader, stdout io.Writer) bool {
	fmt.Fprint(stdout, "Restore it? Type y for yes: ")
	line, _ := bufio.NewReader(stdin).ReadString('\n') // the end of the input is no yes
	answer := strings.ToLower(strings.TrimSpace(line))
	return answer == "y" || answer == "yes"
}

// restore puts a backup in the place of a shop's records.
type restore struct {
	dir  string // keeps the shop
	from string
	now  time.Time
	out  io.Writer
	sure func() bool       // asks before anything is changed; nil: it is sure
	at   func(done string) // told of each point passed; nil but in a test
}

// errNotSure ends a restore that nobody said yes to.
var errNotSure = errors.New("not restored: nothing was changed; -yes restores without asking")

// The files of a restore, in the shop's folder.
const (
	restoreMark = "restoring"  // there from before the records are touched until they are replaced; names the folder of those
	restoreCopy = ".restore-*" // the backup's copy grows there
)

// besides are the files that SQLite keeps beside a database: its log, and the index of
// that. One of other records beside a database would ruin it.
var besides = []string{"-wal", "-shm"}

// run does it. Whenever it is broken off, the records are either those before, whole,
// or those of the backup: they change by one rename, and endRestore clears up.
func (r *restore) run(ctx context.Context) (err error) {
	if err := r.look(); err != nil {
		return err
	}
	h, err := holdFolder(r.dir, "restoring")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, h.release()) }()
	room, err := os.MkdirTemp(r.dir, restoreCopy)
	if err != nil {
		return fmt.Errorf("the folder -data %s cannot be written to: %w", r.dir, err)
	}
	defer func() { err = errors.Join(err, os.RemoveAll(room)) }()
	copied := shopPath(room)
	if err := r.check(ctx, copied); err != nil {
		return err
	}
	r.passed("checked")
	if err := r.tell(ctx, room, copied); err != nil {
		return err
	}
	if r.sure != nil && !r.sure() {
		return errNotSure
	}
	return r.replace(ctx, copied)
}

// look refuses what can be seen at once.
func (r *restore) look() error {
	info, err := os.Stat(r.from)
	if err != nil {
		return fmt.Errorf("the backup -from %s cannot be read: %w", r.from, err)
	}
	if !info.Mode().IsRegular() {
		return fmt.Errorf("the backup -from %s is no file", r.from)
	}
	if there, err := os.Stat(shopPath(r.dir)); err == nil && os.SameFile(info, there) {
		return fmt.Errorf("the backup -from %s is the shop's own records", r.from)
	}
	return prepareFolder(r.dir)
}

// check copies the backup and finds out whether the copy is one.
func (r *restore) check(ctx context.Context, copied string) error {
	if err := models.CopyFile(r.from, copied); err != nil {
		return err
	}
	err := models.CheckBackup(ctx, copied)
	if err != nil {
		return fmt.Errorf("the backup -from %s is not restored, nothing was changed: %w", r.from, err)
	}
	return nil
}

// tell says what would be lost. Records that cannot be read can still be replaced. They
// are read as a copy: who opens a database that is damaged may change it, and its log.
func (r *restore) tell(ctx context.Context, room, copied string) error {
	there, err := hasShop(r.dir)
	if err != nil {
		return err
	}
	if !there {
		fmt.Fprintf(r.out, "The folder %s keeps no shop yet: nothing is replaced.\n", r.dir)
		return nil
	}
	twin := filepath.Join(room, "before")
	err = os.Mkdir(twin, models.OwnersFolder)
	for _, end := range []string{"", besides[0]} {
		if _, there := os.Stat(shopPath(r.dir) + end); err == nil && there == nil {
			err = models.CopyFile(shopPath(r.dir)+end, shopPath(twin)+end)
		}
	}
	if err != nil {
		return fmt.Errorf("reading the records that are there: %w", err)
	}
	d, err := models.Compare(ctx, shopPath(twin), copied)
	if err != nil {
		fmt.Fprintf(r.out, "The records that are in %s now cannot be read, so what they have beyond the backup cannot be told: %s\n", r.dir, models.Details(err))
		return nil
	}
	fmt.Fprint(r.out, saidDifference(d))
	return nil
}

// saidDifference says what the records have that the backup has not.
func saidDifference(d *models.Difference) string {
	var b strings.Builder
	if d.OtherShop {
		b.WriteString("Caution: the backup is of another shop than the records that are there now.\n")
	}
	when := func(t *time.Time) string { return t.In(d.Zone).Format("Mon 2 Jan 2006 15:04") }
	if d.BackupEnd != nil {
		fmt.Fprintf(&b, "The newest tap of the backup is of %s.\n", when(d.BackupEnd))
	}
	var lost []string
	if d.Taps > 0 {
		lost = append(lost, fmt.Sprintf("%d taps (from %s to %s)", d.Taps, when(d.FirstTap), when(d.LastTap)))
	}
	for _, row := range d.Rows {
		lost = append(lost, fmt.Sprintf("%d %s", row.Count, row.What))
	}
	if len(lost) == 0 {
		b.WriteString("The records have no taps, commissions or notes that the backup has not.\n")
		return b.String()
	}
	fmt.Fprintf(&b, "Not in the backup, and so not in the shop after it: %s.\n", strings.Join(lost, ", "))
	return b.String()
}

// replace keeps the records that are there beside, puts the copy in their place and
// opens it there.
func (r *restore) replace(ctx context.Context, copied string) error {
	kept, err := r.keep()
	if err == nil {
		err = r.swap(copied)
	}
	if err = errors.Join(err, endRestore(r.dir)); err != nil {
		return err
	}
	r.passed("ended")
	store, err := openExisting(ctx, r.dir)
	if err == nil {
		_, err = store.Snapshot(ctx)
		err = errors.Join(err, store.Close())
	}
	if err != nil {
		return fmt.Errorf("the restored records cannot be opened; those before are kept in %s: %w", kept, err)
	}
	fmt.Fprintf(r.out, "Restored %s from %s.\n", shopPath(r.dir), r.from)
	if kept != "" {
		fmt.Fprintf(r.out, "The records that were there are kept in %s.\n", kept)
	}
	return nil
}

// keep links the records that are there into a folder of their own, which the mark
// names; "" where there are none.
func (r *restore) keep() (kept string, err error) {
	there, err := hasShop(r.dir)
	if err != nil || !there {
		return "", err
	}
	name := "replaced-" + r.now.UTC().Format("2006-01-02T150405Z")
	kept = filepath.Join(r.dir, name)
	if err := os.Mkdir(kept, models.OwnersFolder); err != nil {
		return "", fmt.Errorf("making room for the records that are there: %w", err)
	}
	if err := r.mark(name); err != nil {
		return "", err
	}
	if err := links(r.dir, kept, append([]string{""}, besides...)); err != nil {
		return "", fmt.Errorf("keeping the records that are there: %w", err)
	}
	r.passed("kept")
	return kept, nil
}

// links gives the files of a shop, as far as they are there, a second name in another
// folder.
func links(from, to string, ends []string) error {
	for _, end := range ends {
		err := os.Link(shopPath(from)+end, shopPath(to)+end)
		if err != nil && !errors.Is(err, os.ErrNotExist) && !errors.Is(err, os.ErrExist) {
			return err
		}
	}
	return models.SyncFolder(to)
}

// mark says that the records are about to be replaced.
func (r *restore) mark(name string) error {
	err := replaceFile(filepath.Join(r.dir, restoreMark), models.OwnersFile, func(w io.Writer) error {
		_, err := io.WriteString(w, name+"\n")
		return err
	})
	if err := errors.Join(err, models.SyncFolder(r.dir)); err != nil {
		return fmt.Errorf("marking the restore: %w", err)
	}
	r.passed("marked")
	return nil
}

// swap takes the log of the records that are there away, and puts the copy in their
// place.
func (r *restore) swap(copied string) error {
	for _, end := range besides {
		if err := os.Remove(shopPath(r.dir) + end); err != nil && !errors.Is(err, os.ErrNotExist) {
			return fmt.Errorf("taking away what lies beside the records: %w", err)
		}
	}
	if err := models.SyncFolder(r.dir); err != nil {
		return err
	}
	r.passed("cleared")
	if err := os.Rename(copied, shopPath(r.dir)); err != nil {
		return fmt.Errorf("putting the backup in the records' place: %w", err)
	}
	if err := models.SyncFolder(r.dir); err != nil {
		return err
	}
	r.passed("swapped")
	return nil
}

func (r *restore) passed(point string) {
	if r.at != nil {
		r.at(point)
	}
}

// endRestore clears up after a restore that ended or was broken off in the folder dir,
// which must be held. Where the records were not replaced any more their log is put
// back beside them, and what was kept of them is let go: they are as they were.
func endRestore(dir string) error {
	rooms, err := filepath.Glob(filepath.Join(dir, restoreCopy))
	if err != nil {
		return err
	}
	for _, room := range rooms {
		if err := os.RemoveAll(room); err != nil {
			return fmt.Errorf("clearing up after a restore: %w", err)
		}
	}
	mark := filepath.Join(dir, restoreMark)
	name, err := os.ReadFile(mark)
	if errors.Is(err, os.ErrNotExist) {
		return nil
	}
	if err != nil {
		return fmt.Errorf("reading the mark of a restore: %w", err)
	}
	kept := filepath.Join(dir, filepath.Base(strings.TrimSpace(string(name))))
	replaced, err := wereReplaced(dir, kept)
	if err == nil && !replaced {
		err = errors.Join(links(kept, dir, besides), os.RemoveAll(kept))
	}
	if err == nil {
		err = errors.Join(os.Remove(mark), models.SyncFolder(dir))
	}
	if err != nil {
		return fmt.Errorf("ending a restore that was broken off: %w", err)
	}
	return nil
}

// wereReplaced says whether the records of the folder dir are others than those that
// were to be kept.
func wereReplaced(dir, kept string) (bool, error) {
	old, err := os.Stat(shopPath(kept))
	if errors.Is(err, os.ErrNotExist) {
		return false, nil // it was broken off before that
	}
	if err != nil {
		return false, err
	}
	now, err := os.Stat(shopPath(dir))
	if err != nil {
		return false, err
	}
	return !os.SameFile(old, now), nil
}
