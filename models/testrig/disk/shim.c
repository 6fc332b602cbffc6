/* The layer itself: each call that matters is handed to Go, which makes the real one
** or not; all others go straight through. Files outside a watched folder are opened
** by the layer beneath and never come here again. */
#include "shim.h"
#include "_cgo_export.h"
#include <errno.h>
#include <stddef.h>

/* Of the driver's SQLite, which is linked into the same program. Weak, so that cgo's
** own trial link, which has only this package, does not miss them. */
extern sqlite3_vfs *sqlite3_vfs_find(const char *) __attribute__((weak));
extern int sqlite3_vfs_register(sqlite3_vfs *, int) __attribute__((weak));

typedef struct {
  sqlite3_file base;
  int id; /* by which Go knows the file */
} shim_file; /* the file of the layer beneath follows it */

static sqlite3_vfs *beneath;

static sqlite3_file *inner(sqlite3_file *f) { return (sqlite3_file *)((shim_file *)f + 1); }
static int id(sqlite3_file *f) { return ((shim_file *)f)->id; }

/* failed leaves the system's error where SQLite asks for it. */
static int failed(int rc, int no) {
  if (no) errno = no;
  return rc;
}

static int shim_close(sqlite3_file *f) {
  int rc = inner(f)->pMethods->xClose(inner(f));
  diskClosed(id(f));
  return rc;
}

static int shim_read(sqlite3_file *f, void *to, int amount, sqlite3_int64 offset) {
  int no = 0, rc = diskCall(id(f), callRead, &no);
  return rc ? failed(rc, no) : inner(f)->pMethods->xRead(inner(f), to, amount, offset);
}

static int shim_write(sqlite3_file *f, const void *data, int amount, sqlite3_int64 offset) {
  int no = 0, rc = diskWrite(id(f), inner(f), (void *)data, amount, offset, &no);
  return failed(rc, no);
}

static int shim_truncate(sqlite3_file *f, sqlite3_int64 size) {
  int no = 0, rc = diskTruncate(id(f), inner(f), size, &no);
  return failed(rc, no);
}

static int shim_sync(sqlite3_file *f, int flags) {
  int no = 0, rc = diskSync(id(f), &no);
  (void)flags;
  return failed(rc, no);
}

static int shim_size(sqlite3_file *f, sqlite3_int64 *size) {
  int no = 0, rc = diskCall(id(f), callSize, &no);
  return rc ? failed(rc, no) : inner(f)->pMethods->xFileSize(inner(f), size);
}

static int shim_lock(sqlite3_file *f, int level) {
  int no = 0, rc = diskCall(id(f), callLock, &no);
  return rc ? failed(rc, no) : inner(f)->pMethods->xLock(inner(f), level);
}

static int shim_unlock(sqlite3_file *f, int level) { return inner(f)->pMethods->xUnlock(inner(f), level); }
static int shim_reserved(sqlite3_file *f, int *out) { return inner(f)->pMethods->xCheckReservedLock(inner(f), out); }
static int shim_control(sqlite3_file *f, int op, void *arg) { return inner(f)->pMethods->xFileControl(inner(f), op, arg); }
static int shim_sector(sqlite3_file *f) { return inner(f)->pMethods->xSectorSize(inner(f)); }
static int shim_device(sqlite3_file *f) { return inner(f)->pMethods->xDeviceCharacteristics(inner(f)); }

/* The shared memory of the log needs no disk, but a file that is made longer does. */
static int shim_map(sqlite3_file *f, int page, int size, int extend, void volatile **to) {
  int no = 0, rc = extend ? diskCall(id(f), callMap, &no) : 0;
  return rc ? failed(rc, no) : inner(f)->pMethods->xShmMap(inner(f), page, size, extend, to);
}

static int shim_shmlock(sqlite3_file *f, int offset, int n, int flags) { return inner(f)->pMethods->xShmLock(inner(f), offset, n, flags); }
static void shim_barrier(sqlite3_file *f) { inner(f)->pMethods->xShmBarrier(inner(f)); }
static int shim_unmap(sqlite3_file *f, int remove) { return inner(f)->pMethods->xShmUnmap(inner(f), remove); }
static int shim_fetch(sqlite3_file *f, sqlite3_int64 offset, int amount, void **to) { return inner(f)->pMethods->xFetch(inner(f), offset, amount, to); }
static int shim_unfetch(sqlite3_file *f, sqlite3_int64 offset, void *p) { return inner(f)->pMethods->xUnfetch(inner(f), offset, p); }

static const sqlite3_io_methods methods = {
    3, shim_close, shim_read, shim_write, shim_truncate, shim_sync, shim_size, shim_lock, shim_unlock, shim_reserved,
    shim_control, shim_sector, shim_device, shim_map, shim_shmlock, shim_barrier, shim_unmap, shim_fetch, shim_unfetch};

static int shim_open(sqlite3_vfs *vfs, const char *name, sqlite3_file *f, int flags, int *outFlags) {
  int no = 0, rc = 0;
  shim_file *own = (shim_file *)f;
  (void)vfs;
  f->pMethods = NULL;
  if (name == NULL || !diskWatches((char *)name)) return beneath->xOpen(beneath, name, f, flags, outFlags);
  rc = diskOpen((char *)name, inner(f), flags, outFlags, &own->id, &no);
  if (rc) return failed(rc, no);
  f->pMethods = &methods;
  return 0;
}

static int shim_delete(sqlite3_vfs *vfs, const char *name, int syncDir) {
  int no = 0, rc = 0;
  (void)vfs;
  if (!diskWatches((char *)name)) return beneath->xDelete(beneath, name, syncDir);
  rc = diskDelete((char *)name, syncDir, &no);
  return failed(rc, no);
}

int shim_real_open(sqlite3_file *f, const char *name, int flags, int *outFlags) { return beneath->xOpen(beneath, name, f, flags, outFlags); }
int shim_real_write(sqlite3_file *f, const void *data, int amount, sqlite3_int64 offset) { return f->pMethods->xWrite(f, data, amount, offset); }
int shim_real_truncate(sqlite3_file *f, sqlite3_int64 size) { return f->pMethods->xTruncate(f, size); }
int shim_real_delete(const char *name, int syncDir) { return beneath->xDelete(beneath, name, syncDir); }

int shim_register(void) {
  static sqlite3_vfs shim;
  beneath = sqlite3_vfs_find(NULL);
  shim = *beneath; /* all that has to do with no file is the layer's beneath */
  shim.pNext = NULL;
  shim.zName = "faceside-test-disk";
  shim.szOsFile = (int)sizeof(shim_file) + beneath->szOsFile;
  shim.xOpen = shim_open;
  shim.xDelete = shim_delete;
  return sqlite3_vfs_register(&shim, 1);
}
