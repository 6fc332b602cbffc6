package disk

/*
#include "shim.h"
*/
import "C"

import (
	"errors"
	"os"
	"sync"
	"unsafe"

	_ "github.com/mattn/go-sqlite3" // the SQLite it goes beneath
)

// What SQLite calls things, by sqlite.org/c3ref/c_open_autoproxy.html and rescode.html.
const (
	openCreate       = 0x00000004
	openMainJournal  = 0x00000800
	openSuperJournal = 0x00004000
	openWAL          = 0x00080000
	sqliteOK         = C.int(0)
)

// opened are the open files of watched folders.
var opened = struct {
	mu      sync.Mutex
	next    int
	handles map[int]*handle
	watched map[string]*Disk // by folder
}{handles: map[int]*handle{}, watched: map[string]*Disk{}}

// handle is one file as one connection opened it.
type handle struct {
	disk *Disk
	file *file
	// The folder is synced with the first sync of a log or journal through a handle
	// that might have made it (os_unix.c: unixOpen, unixSync).
	syncsFolder bool
	owed        C.int // the error of a sync that failed through another handle; 0: none
}

// register puts the layer beneath SQLite, once for the program of tests.
var register = sync.OnceValue(func() error {
	if rc := C.shim_register(); rc != sqliteOK {
		return errors.New("SQLite does not take the layer beneath it")
	}
	return nil
})

func handleOf(id C.int) *handle {
	opened.mu.Lock()
	defer opened.mu.Unlock()
	return opened.handles[int(id)]
}

//export diskWatches
func diskWatches(name *C.char) C.int {
	if diskOf(C.GoString(name)) == nil {
		return 0
	}
	return 1
}

//export diskOpen
func diskOpen(name *C.char, inner *C.sqlite3_file, flags C.int, outFlags, id, errno *C.int) C.int {
	path := C.GoString(name)
	d := diskOf(path)
	d.mu.Lock()
	defer d.mu.Unlock()
	if rc := d.fails(Open, path, errno); rc != sqliteOK {
		return rc
	}
	_, err := os.Lstat(path)
	if rc := C.shim_real_open(inner, name, flags, outFlags); rc != sqliteOK {
		return rc
	}
	f := d.byName[path]
	if f == nil || err != nil {
		f = d.make(path)
	}
	journal := flags&(openMainJournal|openSuperJournal|openWAL) != 0
	opened.mu.Lock()
	defer opened.mu.Unlock()
	opened.next++
	opened.handles[opened.next] = &handle{disk: d, file: f, syncsFolder: journal && flags&openCreate != 0}
	*id = C.int(opened.next)
	return sqliteOK
}

//export diskClosed
func diskClosed(id C.int) {
	opened.mu.Lock()
	defer opened.mu.Unlock()
	delete(opened.handles, int(id))
}

//export diskCall
func diskCall(id, call C.int, errno *C.int) C.int {
	h := handleOf(id)
	h.disk.mu.Lock()
	defer h.disk.mu.Unlock()
	return h.disk.fails(Call(call), h.file.name, errno)
}

//export diskWrite
func diskWrite(id C.int, inner *C.sqlite3_file, data unsafe.Pointer, amount C.int, offset C.sqlite3_int64, errno *C.int) C.int {
	h := handleOf(id)
	h.disk.mu.Lock()
	defer h.disk.mu.Unlock()
	fails := h.disk.fails(Write, h.file.name, errno)
	if fails != sqliteOK {
		if !h.disk.fault.Short {
			return fails
		}
		amount /= 2 // as where the disk became full in the midst of it
	}
	if rc := C.shim_real_write(inner, data, amount, offset); rc != sqliteOK {
		return rc
	}
	h.disk.note(event{kind: wrote, file: h.file, at: int64(offset), data: C.GoBytes(data, amount)})
	return fails
}

//export diskTruncate
func diskTruncate(id C.int, inner *C.sqlite3_file, size C.sqlite3_int64, errno *C.int) C.int {
	h := handleOf(id)
	h.disk.mu.Lock()
	defer h.disk.mu.Unlock()
	if rc := h.disk.fails(Truncate, h.file.name, errno); rc != sqliteOK {
		return rc
	}
	if rc := C.shim_real_truncate(inner, size); rc != sqliteOK {
		return rc
	}
	h.disk.note(event{kind: cutTo, file: h.file, at: int64(size)})
	return sqliteOK
}

//export diskSync
func diskSync(id C.int, errno *C.int) C.int {
	h := handleOf(id)
	h.disk.mu.Lock()
	defer h.disk.mu.Unlock()
	rc, owed := h.disk.fails(Sync, h.file.name, errno), h.owed
	h.owed = 0
	switch {
	case rc != sqliteOK:
		// Whoever has the file open is told once (Linux since 4.13: "Handling errors
		// during writeback" in Documentation/filesystems/vfs.rst).
		h.disk.each(func(other *handle) {
			if other != h && other.file == h.file {
				other.owed = *errno
			}
		})
	case owed != 0:
		rc, *errno = codes[Sync], owed
	}
	if rc != sqliteOK {
		// What was to be synced may be lost although later syncs succeed
		// (Rebello et al., "Can Applications Recover from fsync Failures?", 2020).
		h.disk.note(event{kind: syncFailed, file: h.file})
		return rc
	}
	// It is not done: no test needs to wait for the machine's own disk.
	h.disk.note(event{kind: synced, file: h.file, folder: h.syncsFolder})
	h.syncsFolder = false
	return sqliteOK
}

//export diskDelete
func diskDelete(name *C.char, syncFolder C.int, errno *C.int) C.int {
	path := C.GoString(name)
	d := diskOf(path)
	d.mu.Lock()
	defer d.mu.Unlock()
	if rc := d.fails(Delete, path, errno); rc != sqliteOK {
		return rc
	}
	if rc := C.shim_real_delete(name, syncFolder); rc != sqliteOK {
		return rc
	}
	d.remove(path, syncFolder != 0)
	return sqliteOK
}
