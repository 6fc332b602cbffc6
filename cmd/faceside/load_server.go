package main

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"syscall"
	"time"
)

// loadServer is the server that is measured, a process of its own.
type loadServer struct {
	command *exec.Cmd
	address string
	log     *bytes.Buffer // what it complained of
	ended   chan struct{}
	peak    int // MiB, as last read
	cpu     time.Duration
}

// startServer starts `faceside serve` on the folder dir and waits until it says
// where it serves.
func startServer(ctx context.Context, dir string, c loadConfig) (*loadServer, error) {
	args := []string{"serve", "-listen", c.address, "-data", dir}
	if c.profile != "" {
		args = append(args, "-profile", c.profile)
	}
	s := &loadServer{command: exec.Command(c.program, args...), log: &bytes.Buffer{}, ended: make(chan struct{})}
	s.command.Env = append(os.Environ(), loadServerMark+"=1")
	s.command.Stderr = s.log
	out, err := s.command.StdoutPipe()
	if err != nil {
		return nil, err
	}
	if err := s.command.Start(); err != nil {
		return nil, fmt.Errorf("starting the server: %w", err)
	}
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		if at, ok := strings.CutPrefix(lines.Text(), "Faceside serves on http://"); ok {
			s.address = at
			go func() {
				for lines.Scan() { // until it ends
				}
				_ = s.command.Wait() // how it ended is no result: it may have been killed
				close(s.ended)
			}()
			return s, nil
		}
	}
	return nil, fmt.Errorf("the server did not start: %w", errors.Join(s.command.Wait(), errors.New(strings.TrimSpace(s.log.String()))))
}

// loadServerMark is set for the server's process: where the program is a test's
// own, it then serves in place of testing.
const loadServerMark = "FACESIDE_LOAD_SERVER"

// measure reads the process's peak of memory and the processor time it took.
func (s *loadServer) measure() error {
	status, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", s.command.Process.Pid))
	if err != nil {
		return fmt.Errorf("reading the server's memory: %w", err)
	}
	for line := range strings.Lines(string(status)) {
		if value, ok := strings.CutPrefix(line, "VmHWM:"); ok {
			kib, err := strconv.Atoi(strings.Fields(value)[0])
			if err != nil {
				return fmt.Errorf("reading the server's memory: %w", err)
			}
			s.peak = kib >> 10
		}
	}
	stat, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", s.command.Process.Pid))
	if err != nil {
		return fmt.Errorf("reading the server's processor time: %w", err)
	}
	_, after, _ := strings.Cut(string(stat), ") ") // the name in brackets may hold anything
	fields := strings.Fields(after)
	ticks := 0
	for _, i := range []int{11, 12} { // utime and stime, proc(5), in hundredths of a second
		n, err := strconv.Atoi(fields[i])
		if err != nil {
			return fmt.Errorf("reading the server's processor time: %w", err)
		}
		ticks += n
	}
	s.cpu = time.Duration(ticks) * 10 * time.Millisecond
	return nil
}

// stop asks the server to end, and waits until it has.
func (s *loadServer) stop() error {
	if err := s.command.Process.Signal(syscall.SIGTERM); err != nil {
		return fmt.Errorf("stopping the server: %w", err)
	}
	select {
	case <-s.ended:
		return nil
	case <-time.After(3 * stopLimit):
		return errors.Join(errors.New("the server did not stop"), s.kill())
	}
}

// kill ends the server as a power cut would, if it still runs.
func (s *loadServer) kill() error {
	err := s.command.Process.Kill()
	if err != nil && !errors.Is(err, os.ErrProcessDone) {
		return fmt.Errorf("killing the server: %w", err)
	}
	<-s.ended
	return nil
}

// ownCPU is the processor time this process took.
func ownCPU() time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// loadAverage is what the machine says of itself: how many processes wanted a
// processor in the last one, five and fifteen minutes.
func loadAverage() string {
	text, err := os.ReadFile("/proc/loadavg")
	fields := strings.Fields(string(text))
	if err != nil || len(fields) < 3 {
		return "not known"
	}
	return strings.Join(fields[:3], " ")
}
