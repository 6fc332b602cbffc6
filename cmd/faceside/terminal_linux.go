package main

import (
	"fmt"
	"os"
	"os/signal"
	"syscall"
	"unsafe"
)

// isTerminal says whether somebody types into a file.
func isTerminal(f *os.File) bool {
	_, err := terminalOf(f)
	return err == nil
}

func terminalOf(f *os.File) (syscall.Termios, error) {
	var state syscall.Termios
	if _, _, failed := syscall.Syscall(syscall.SYS_IOCTL, f.Fd(), syscall.TCGETS, uintptr(unsafe.Pointer(&state))); failed != 0 {
		return state, fmt.Errorf("asking a terminal for its state: %w", failed)
	}
	return state, nil
}

func setTerminal(f *os.File, state syscall.Termios) error {
	if _, _, failed := syscall.Syscall(syscall.SYS_IOCTL, f.Fd(), syscall.TCSETS, uintptr(unsafe.Pointer(&state))); failed != 0 {
		return fmt.Errorf("setting a terminal: %w", failed)
	}
	return nil
}

// hideTyping has a terminal not show what is typed, until show is called or the program
// is broken off.
func hideTyping(f *os.File) (show func() error, err error) {
	was, err := terminalOf(f)
	if err != nil {
		return nil, err
	}
	hidden := was
	hidden.Lflag &^= syscall.ECHO
	if err := setTerminal(f, hidden); err != nil {
		return nil, err
	}
	broken := make(chan os.Signal, 1)
	signal.Notify(broken, os.Interrupt, syscall.SIGTERM)
	go func() {
		if _, open := <-broken; open {
			if err := setTerminal(f, was); err != nil {
				fmt.Fprintln(os.Stderr, err)
			}
			os.Exit(exitFailed)
		}
	}()
	return func() error {
		signal.Stop(broken)
		close(broken)
		return setTerminal(f, was)
	}, nil
}
