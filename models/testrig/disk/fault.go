package disk

/*
#include "shim.h"
*/
import "C"

import (
	"strings"
	"syscall"
)

// Call is a sort of call that can fail.
type Call int

// The calls.
const (
	Open     Call = C.callOpen
	Read     Call = C.callRead
	Write    Call = C.callWrite
	Truncate Call = C.callTruncate
	Sync     Call = C.callSync
	Delete   Call = C.callDelete
	Size     Call = C.callSize
	Lock     Call = C.callLock
	Map      Call = C.callMap // more room for the shared memory of the log
)

// Calls are all of them, by name.
var Calls = map[string]Call{"open": Open, "read": Read, "write": Write, "truncate": Truncate, "sync": Sync, "delete": Delete, "size": Size, "lock": Lock, "map": Map}

// codes is what SQLite's file system answers where a call fails, by
// sqlite.org/rescode.html.
var codes = map[Call]C.int{
	Open:     14,             // CANTOPEN
	Read:     10 | 1<<8,      // IOERR_READ
	Write:    10 | 3<<8,      // IOERR_WRITE
	Sync:     10 | 4<<8,      // IOERR_FSYNC
	Truncate: 10 | 6<<8,      // IOERR_TRUNCATE
	Size:     10 | 7<<8,      // IOERR_FSTAT
	Delete:   10 | 10<<8,     // IOERR_DELETE
	Lock:     10 | 15<<8,     // IOERR_LOCK
	Map:      10 | (19 << 8), // IOERR_SHMSIZE
}

// full is the answer to a write that finds no room.
const full = C.int(13)

// Fault says which calls fail.
type Fault struct {
	Call  Call
	File  string        // how the name of the file ends; "": any
	From  int           // the call with this number is the first to fail; 0: none fails
	Times int           // how many fail; 0: all from there on
	Error syscall.Errno // what the system says
	Short bool          // of a write, the first half is done
}

// Fail has calls fail from now on, counted from now, and nobody is owed an error from
// before. The zero Fault ends it.
func (d *Disk) Fail(f Fault) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.fault, d.calls, d.hit = f, 0, 0
	d.each(func(h *handle) { h.owed = 0 })
}

// each is for every handle of an open file.
func (d *Disk) each(do func(*handle)) {
	opened.mu.Lock()
	defer opened.mu.Unlock()
	for _, h := range opened.handles {
		if h.disk == d {
			do(h)
		}
	}
}

// Failed is how many calls failed since Fail.
func (d *Disk) Failed() int {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.hit
}

// fails counts a call on a file, and says whether it is one that fails, and how.
func (d *Disk) fails(c Call, name string, errno *C.int) C.int {
	f := d.fault
	if f.From == 0 || c != f.Call || !strings.HasSuffix(name, f.File) {
		return sqliteOK
	}
	d.calls++
	if d.calls < f.From || f.Times > 0 && d.calls >= f.From+f.Times {
		return sqliteOK
	}
	d.hit++
	*errno = C.int(f.Error)
	if c == Write && f.Error == syscall.ENOSPC {
		return full
	}
	return codes[c]
}
