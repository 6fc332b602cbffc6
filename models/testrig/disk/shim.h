/* What SQLite and a file system of its own agree on, as far as the layer needs it.
** The layouts are those of sqlite.org/c3ref/vfs.html, file.html and io_methods.html;
** SQLite keeps them for good. The driver's own header cannot be included from here. */
#ifndef FACESIDE_DISK_SHIM_H
#define FACESIDE_DISK_SHIM_H

typedef long long sqlite3_int64;
typedef struct sqlite3_file sqlite3_file;
typedef struct sqlite3_vfs sqlite3_vfs;
typedef struct sqlite3_io_methods sqlite3_io_methods;

struct sqlite3_file {
  const sqlite3_io_methods *pMethods;
};

struct sqlite3_io_methods {
  int iVersion;
  int (*xClose)(sqlite3_file *);
  int (*xRead)(sqlite3_file *, void *, int amount, sqlite3_int64 offset);
  int (*xWrite)(sqlite3_file *, const void *, int amount, sqlite3_int64 offset);
  int (*xTruncate)(sqlite3_file *, sqlite3_int64 size);
  int (*xSync)(sqlite3_file *, int flags);
  int (*xFileSize)(sqlite3_file *, sqlite3_int64 *size);
  int (*xLock)(sqlite3_file *, int);
  int (*xUnlock)(sqlite3_file *, int);
  int (*xCheckReservedLock)(sqlite3_file *, int *);
  int (*xFileControl)(sqlite3_file *, int op, void *);
  int (*xSectorSize)(sqlite3_file *);
  int (*xDeviceCharacteristics)(sqlite3_file *);
  int (*xShmMap)(sqlite3_file *, int page, int size, int extend, void volatile **);
  int (*xShmLock)(sqlite3_file *, int offset, int n, int flags);
  void (*xShmBarrier)(sqlite3_file *);
  int (*xShmUnmap)(sqlite3_file *, int remove);
  int (*xFetch)(sqlite3_file *, sqlite3_int64 offset, int amount, void **);
  int (*xUnfetch)(sqlite3_file *, sqlite3_int64 offset, void *);
};

struct sqlite3_vfs {
  int iVersion;
  int szOsFile;
  int mxPathname;
  sqlite3_vfs *pNext;
  const char *zName;
  void *pAppData;
  int (*xOpen)(sqlite3_vfs *, const char *name, sqlite3_file *, int flags, int *outFlags);
  int (*xDelete)(sqlite3_vfs *, const char *name, int syncDir);
  int (*xAccess)(sqlite3_vfs *, const char *name, int flags, int *);
  int (*xFullPathname)(sqlite3_vfs *, const char *name, int, char *);
  void *(*xDlOpen)(sqlite3_vfs *, const char *);
  void (*xDlError)(sqlite3_vfs *, int, char *);
  void (*(*xDlSym)(sqlite3_vfs *, void *, const char *))(void);
  void (*xDlClose)(sqlite3_vfs *, void *);
  int (*xRandomness)(sqlite3_vfs *, int, char *);
  int (*xSleep)(sqlite3_vfs *, int);
  int (*xCurrentTime)(sqlite3_vfs *, double *);
  int (*xGetLastError)(sqlite3_vfs *, int, char *);
  int (*xCurrentTimeInt64)(sqlite3_vfs *, sqlite3_int64 *);
  int (*xSetSystemCall)(sqlite3_vfs *, const char *, void (*)(void));
  void (*(*xGetSystemCall)(sqlite3_vfs *, const char *))(void);
  const char *(*xNextSystemCall)(sqlite3_vfs *, const char *);
};

/* The sorts of call that can fail. */
enum { callOpen, callRead, callWrite, callTruncate, callSync, callDelete, callSize, callLock, callMap };

/* shim_register puts the layer over the file system that SQLite uses by default. */
int shim_register(void);

/* The calls of the layer beneath, for Go. inner is what shim_open made. */
int shim_real_open(sqlite3_file *inner, const char *name, int flags, int *outFlags);
int shim_real_write(sqlite3_file *inner, const void *data, int amount, sqlite3_int64 offset);
int shim_real_truncate(sqlite3_file *inner, sqlite3_int64 size);
int shim_real_delete(const char *name, int syncDir);

#endif
