package main

import (
	"errors"
	"flag"
	"fmt"
	"io"
	"log/slog"
	"os"
	"sync"
)

// logFlags say what is logged, how and where to.
type logFlags struct {
	form  string // "text" or "json"; "" is text
	debug bool   // every request too
	file  string // "": the standard error
}

func (f *logFlags) add(flags *flag.FlagSet) {
	flags.StringVar(&f.form, "log", "text", "`FORM` of the log: text or json")
	flags.BoolVar(&f.debug, "debug", false, "log every request")
	flags.StringVar(&f.file, "log-file", "", "`FILE` to log to instead of the standard error; of its older lines one file more is kept")
}

// open begins the log; who is done with it calls end.
func (f *logFlags) open(stderr io.Writer) (log *slog.Logger, end func() error, err error) {
	options := &slog.HandlerOptions{}
	if f.debug {
		options.Level = slog.LevelDebug
	}
	out, end := stderr, func() error { return nil }
	if f.file != "" {
		file, err := openLog(f.file)
		if err != nil {
			return nil, nil, fmt.Errorf("-log-file %s cannot be written: %w", f.file, err)
		}
		out, end = file, file.Close
	}
	switch f.form {
	case "", "text":
		return slog.New(slog.NewTextHandler(out, options)), end, nil
	case "json":
		return slog.New(slog.NewJSONHandler(out, options)), end, nil
	}
	return nil, nil, errors.Join(fmt.Errorf("-log is %q: it must be text or json", f.form), end())
}

// logMost is from how many bytes on a log begins anew; what it had is kept once, under
// a name with olderLog at its end.
const (
	logMost  = 8 << 20
	olderLog = ".1"
)

// logFile is a log that does not grow without end.
type logFile struct {
	path string

	mu   sync.Mutex
	file *os.File
	size int64
}

func openLog(path string) (*logFile, error) {
	l := &logFile{path: path}
	return l, l.open()
}

func (l *logFile) open() error {
	file, err := os.OpenFile(l.path, os.O_WRONLY|os.O_CREATE|os.O_APPEND, 0o640)
	if err != nil {
		return err
	}
	info, err := file.Stat()
	if err != nil {
		return errors.Join(err, file.Close())
	}
	l.file, l.size = file, info.Size()
	return nil
}

// Write appends a line, which comes in one piece.
func (l *logFile) Write(line []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	var anew error
	if l.size > 0 && l.size+int64(len(line)) > logMost {
		anew = l.beginAnew()
	}
	n, err := l.file.Write(line)
	l.size += int64(n)
	return n, errors.Join(err, anew)
}

// beginAnew puts what there is aside. Where that cannot be done, as in a folder that
// only the file may be written in, the log goes on as it was.
func (l *logFile) beginAnew() error {
	was := l.file
	if err := os.Rename(l.path, l.path+olderLog); err != nil {
		return err
	}
	if err := l.open(); err != nil {
		return err
	}
	return was.Close()
}

// Close ends the log.
func (l *logFile) Close() error {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.file.Close()
}
