package main

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"slices"
	"time"

	"faceside/models"
	"faceside/models/planner"
	"faceside/models/sequence"
)

// logTail is how much of the end of a log goes into a bundle.
const logTail = 256 << 10

func runBundle(args []string, _ io.Reader, stdout, stderr io.Writer) int {
	flags := flag.NewFlagSet("bundle", flag.ContinueOnError)
	data := flags.String("data", defaultData, "`FOLDER` that keeps the shop")
	out := flags.String("out", "", "`FILE` (.zip) to write; it must not be there yet")
	log := flags.String("log-file", "", "`FILE` that serve logs to, whose end goes along")
	if status, done := parseFlags(flags, args, stderr); done {
		return status
	}
	if *out == "" {
		fmt.Fprintln(stderr, "faceside bundle: -out FILE says where it goes, and is missing")
		return exitUsage
	}
	if err := writeBundle(context.Background(), *data, *log, *out); err != nil {
		return fail(stderr, "bundle", err)
	}
	fmt.Fprintf(stdout, "wrote %s: versions, sizes, counts, the newest plans and the problems they answer, by numbers; no names, notes, photos or secrets. Look into it before you give it away.\n", *out)
	return exitOK
}

// bundle is what goes along for who is to find out what is wrong. What cannot be read is
// told in its place.
type bundle struct {
	dir, log string
	zip      *zip.Writer
}

func writeBundle(ctx context.Context, dir, log, out string) (err error) {
	if err := needShop(dir); err != nil {
		return err
	}
	file, err := os.OpenFile(out, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o640)
	if err != nil {
		return fmt.Errorf("-out %s cannot be written: %w", out, err)
	}
	b := bundle{dir: dir, log: log, zip: zip.NewWriter(file)}
	err = errors.Join(b.fill(ctx), b.zip.Close(), file.Sync(), file.Close())
	if err != nil {
		return errors.Join(fmt.Errorf("writing the bundle: %w", err), os.Remove(out))
	}
	return nil
}

func (b *bundle) fill(ctx context.Context) error {
	inside, err := models.Inspect(ctx, shopPath(b.dir))
	parts := []error{b.json("program.json", aboutProgram()), b.json("files.json", b.files())}
	if err != nil {
		parts = append(parts, b.text("records-error.txt", []byte(models.Logged(err)+"\n")))
	}
	parts = append(parts, b.json("records.json", inside), b.problem(ctx, err == nil && inside.Schema == inside.Newest), b.tail())
	return errors.Join(parts...)
}

// aboutProgram says what the program was built from and runs on.
func aboutProgram() map[string]any {
	about := map[string]any{"system": runtime.GOOS, "machine": runtime.GOARCH, "processors": runtime.NumCPU(), "go": runtime.Version(), "at": time.Now().UTC()}
	if info, ok := debug.ReadBuildInfo(); ok {
		for _, s := range info.Settings {
			switch s.Key {
			case "vcs.revision", "vcs.time", "vcs.modified", "CGO_ENABLED":
				about[s.Key] = s.Value
			}
		}
		modules := map[string]string{}
		for _, m := range info.Deps {
			modules[m.Path] = m.Version
		}
		about["modules"] = modules
	}
	return about
}

// files are the sizes of what lies in the shop's folder; where the folder lies is
// nobody's business.
func (b *bundle) files() map[string]int64 {
	sizes := map[string]int64{}
	_ = filepath.WalkDir(b.dir, func(path string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() {
			return nil // what cannot be looked at is left out
		}
		name, nameErr := filepath.Rel(b.dir, path)
		if info, err := entry.Info(); err == nil && nameErr == nil && ours(filepath.ToSlash(name)) {
			sizes[filepath.ToSlash(name)] = info.Size()
		}
		return nil
	})
	return sizes
}

// ours says whether the program itself gives a file of the shop's folder such a name, and
// the folder that it is in: others may say anything.
func ours(name string) bool {
	for _, pattern := range []string{shopFile + "*", holdFile, restoreMark, "backups/shop-[0-9]*.db", "replaced-[0-9]*/" + shopFile + "*"} {
		if ok, err := path.Match(pattern, name); ok && err == nil {
			return true
		}
	}
	return false
}

// problem is what the planner asks of the engine now. Records of another schema are not
// brought up to date for it.
func (b *bundle) problem(ctx context.Context, readable bool) error {
	if !readable {
		return nil
	}
	store, err := openExisting(ctx, b.dir)
	if err != nil {
		return b.text("problem-error.txt", []byte(models.Logged(err)+"\n"))
	}
	defer store.Close()
	return errors.Join(b.problemNow(ctx, store), b.runs(ctx, store))
}

func (b *bundle) problemNow(ctx context.Context, store *models.Store) error {
	var text bytes.Buffer
	err := func() error {
		snap, err := store.Snapshot(ctx)
		if err != nil {
			return err
		}
		p, err := planner.Problem(snap)
		if err != nil {
			return err
		}
		return sequence.WriteProblem(&text, p)
	}()
	if err != nil {
		return b.text("problem-error.txt", []byte(models.Logged(err)+"\n"))
	}
	return b.text("problem.json", text.Bytes())
}

// bundledProblems is how many of the newest plans' problems go along.
const bundledProblems = 5

// runs are how the plans were made, and what the engine was asked for the newest.
func (b *bundle) runs(ctx context.Context, store *models.Store) error {
	runs, err := store.Runs(ctx)
	if err != nil {
		return b.text("runs-error.txt", []byte(models.Logged(err)+"\n"))
	}
	made := make([]models.PlanRun, len(runs))
	for i := range runs {
		made[i] = runs[i].PlanRun
	}
	parts := []error{b.json("runs.json", made)}
	var asked []models.ID
	for _, r := range made {
		if slices.Contains(asked, r.ProblemID) {
			continue
		}
		if asked = append(asked, r.ProblemID); len(asked) > bundledProblems {
			break
		}
		_, text, err := store.Run(ctx, r.PlanID)
		if err != nil {
			text = []byte(models.Logged(err) + "\n")
		}
		parts = append(parts, b.text(fmt.Sprintf("problems/%d.json", r.ProblemID), text))
	}
	return errors.Join(parts...)
}

// tail is the end of the log, from the beginning of a line on.
func (b *bundle) tail() error {
	if b.log == "" {
		return nil
	}
	text, err := os.ReadFile(b.log)
	if err != nil {
		return err
	}
	if len(text) > logTail {
		text = text[len(text)-logTail:]
		text = text[bytes.IndexByte(text, '\n')+1:]
	}
	return b.text("log.txt", text)
}

func (b *bundle) json(name string, value any) error {
	text, err := json.MarshalIndent(value, "", "  ")
	if err != nil {
		return err
	}
	return b.text(name, append(text, '\n'))
}

func (b *bundle) text(name string, text []byte) error {
	w, err := b.zip.Create(name)
	if err == nil {
		_, err = w.Write(text)
	}
	return err
}
