package behind

import (
	"runtime"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// getpriority(2): the system call returns 20 less the nice value.
func nice(t require.TestingT) int {
	got, err := syscall.Getpriority(syscall.PRIO_PROCESS, syscall.Gettid())
	require.NoError(t, err)
	return 20 - got
}

func TestTheWorkYieldsAndItsCallerDoesNot(t *testing.T) {
	runtime.LockOSThread()
	defer runtime.UnlockOSThread()
	before, inside, again := nice(t), 0, 0
	Do(func() { inside = nice(t) })
	Do(func() { again = nice(t) })
	assert.Equal(t, before, nice(t), "the caller's thread is as it was")
	assert.GreaterOrEqual(t, inside, min(niceness, 19))
	assert.Equal(t, inside, again)
}
