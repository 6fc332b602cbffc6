package models

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"path/filepath"
	"sync/atomic"
	"time"

	"github.com/mattn/go-sqlite3"
	"gorm.io/driver/sqlite"
	"gorm.io/gorm"
	"gorm.io/gorm/logger"
)

// Clock tells the time; a test's clock stands still until it is moved.
type Clock func() time.Time

// Store is the records of one shop, in one SQLite file. It is safe for use by
// many goroutines: reads run side by side, writes one after another.
type Store struct {
	path    string
	clock   Clock
	time    journalClock
	w       *gorm.DB      // the one connection that writes
	r       *gorm.DB      // a few that can only read
	writing chan struct{} // holds one token while somebody writes
	queue   queue         // of those who want to
	subs    subscribers
	fixed   fixedCache
	plans   planCache
	order   lastOrder   // written by who has the token of writing
	log     checkpoints // how long it is, and who shortens it

	hashing    hashing
	signInNow  signInCache
	admitted   admitted
	returned   returnedCache
	photosMost atomic.Int64 // bytes of all photos together

	beforeMigration func(ctx context.Context, schema int64) error // of records that there are; nil: nothing
}

// OpenWay says how a store is opened.
type OpenWay func(*Store)

const (
	applicationID = 0x46616365 // "Face", in the file's header: this is one of ours
	readers       = 4
	busyTimeout   = "5000" // ms
	// statements is how many prepared statements a connection keeps. A tap takes
	// some twenty, a reading of the records some thirty.
	statements = "100"
)

// driverName is the driver whose connections bring nothing from the log into the file when
// they commit: SQLite keeps to itself where that fails.
const driverName = "sqlite3 without checkpoints of its own"

func init() {
	sql.Register(driverName, &sqlite3.SQLiteDriver{ConnectHook: func(c *sqlite3.SQLiteConn) error {
		_, err := c.Exec("PRAGMA wal_autocheckpoint = 0", nil)
		return err
	}})
}

// common options of both pools. The driver sets them on every connection it opens.
func common() url.Values {
	return url.Values{
		// First of all: wait for a lock that another process (a backup, a
		// shell) holds, rather than fail at once, also while setting the rest.
		"_busy_timeout": {busyTimeout},
		// Readers see the last commit while the writer works; a tap never
		// waits for a screen, nor a screen for a tap.
		"_journal_mode": {"WAL"},
		// Each commit reaches the disk: a tap that was confirmed outlives a
		// power cut. NORMAL could lose the newest ones in WAL mode.
		"_synchronous": {"FULL"},
		// Off by default in SQLite, for each connection anew.
		"_foreign_keys": {"ON"},
		// The driver keeps them for as long as the connection lasts; what is
		// prepared in a transaction database/sql would prepare anew in the next.
		"_stmt_cache_size": {statements},
	}
}

// writerDSN is for the one writing connection.
func writerDSN(path string) string {
	o := common()
	// Take the write lock when the transaction begins, not at its first write:
	// what a transaction read before it wrote is then still true.
	o.Set("_txlock", "immediate")
	o.Set("mode", "rwc")
	return dsn(path, o)
}

// readerDSN is for the connections that cannot write, whatever they are asked.
func readerDSN(path string) string {
	o := common()
	o.Set("_query_only", "ON")
	o.Set("mode", "ro")
	return dsn(path, o)
}

func dsn(path string, o url.Values) string {
	// As a URI, so that "mode" is heard and no character of the path is taken
	// for the beginning of the options.
	return "file:" + (&url.URL{Path: path}).EscapedPath() + "?" + o.Encode()
}

// pragmas are read back from every connection of a pool.
func pragmas(queryOnly string) map[string]string {
	return map[string]string{
		"busy_timeout":       busyTimeout,
		"journal_mode":       "wal",
		"synchronous":        "2", // FULL
		"foreign_keys":       "1",
		"query_only":         queryOnly,
		"wal_autocheckpoint": "0",
	}
}

// OpenStore opens the records in the file at path, makes the file where there
// is none, and brings its schema up to date. It refuses a file that is not one
// of ours, one of a newer schema, one where the settings did not take, and a
// version of SQLite that could damage it.
func OpenStore(ctx context.Context, path string, clock Clock, how ...OpenWay) (*Store, error) {
	abs, err := filepath.Abs(path)
	if err != nil {
		return nil, fmt.Errorf("open the records in %s: %w", path, err)
	}
	s := &Store{path: abs, clock: clock, writing: make(chan struct{}, 1), log: newCheckpoints(), hashing: newHashing()}
	s.LimitPhotos(PhotosUsual)
	for _, say := range how {
		say(s)
	}
	_, version, _ := sqlite3.Version()
	if err := soundSQLite(version); err != nil {
		return nil, fmt.Errorf("open the records in %s: %w", path, err)
	}
	if err := s.open(ctx); err != nil {
		return nil, fmt.Errorf("open the records in %s: %w", path, errors.Join(err, s.Close()))
	}
	return s, nil
}

func (s *Store) open(ctx context.Context) error {
	err := makeOwners(s.path)
	if err != nil {
		return err
	}
	if s.w, err = pool(ctx, writerDSN(s.path), 1, pragmas("0")); err != nil {
		return fmt.Errorf("writing connection: %w", err)
	}
	if err := s.migrate(ctx); err != nil {
		return err
	}
	if s.r, err = pool(ctx, readerDSN(s.path), readers, pragmas("1")); err != nil {
		return fmt.Errorf("reading connections: %w", err)
	}
	if err := first(s.watchLog(), s.watchDoor()); err != nil {
		return err
	}
	return s.time.readNewest(s.r.WithContext(ctx))
}

// pool opens size lasting connections and reads their pragmas back.
func pool(ctx context.Context, dsn string, size int, want map[string]string) (*gorm.DB, error) {
	db, err := gorm.Open(sqlite.New(sqlite.Config{DriverName: driverName, DSN: dsn}), &gorm.Config{
		SkipDefaultTransaction: true,           // the store's methods begin their own
		Logger:                 logger.Discard, // errors come back as values
	})
	if err != nil {
		return db, err
	}
	conns, err := db.DB()
	if err != nil {
		return db, err
	}
	conns.SetMaxOpenConns(size)
	conns.SetMaxIdleConns(size)
	return db, readBack(ctx, conns, size, want)
}

// readBack holds all connections of a pool at once, so that each is asked.
func readBack(ctx context.Context, db *sql.DB, size int, want map[string]string) (err error) {
	held := make([]*sql.Conn, 0, size)
	defer func() {
		for _, c := range held {
			err = errors.Join(err, c.Close())
		}
	}()
	for range size {
		c, err := db.Conn(ctx)
		if err != nil {
			return err
		}
		held = append(held, c)
		for name, value := range want {
			var got string
			if err := c.QueryRowContext(ctx, "PRAGMA "+name).Scan(&got); err != nil {
				return fmt.Errorf("read pragma %s back: %w", name, err)
			}
			if got != value {
				return fmt.Errorf("pragma %s is %q, not %q", name, got, value)
			}
		}
	}
	return nil
}

// ours refuses a database that something else made, and an empty one.
func ours(ctx context.Context, db *sql.DB) error {
	empty, err := emptyOrOurs(ctx, db)
	if err == nil && empty {
		err = errors.New("the file is empty: it holds no records")
	}
	return err
}

// makeOurs marks an empty database as ours, before anything else is in it: a program
// that is killed while it makes the file would not know it again.
func makeOurs(ctx context.Context, db *sql.DB) error {
	empty, err := emptyOrOurs(ctx, db)
	if err != nil || !empty {
		return err
	}
	if _, err := db.ExecContext(ctx, fmt.Sprintf("PRAGMA application_id = %d", applicationID)); err != nil {
		return fmt.Errorf("write the file's header: %w", err)
	}
	return nil
}

// emptyOrOurs refuses a database that something else made.
func emptyOrOurs(ctx context.Context, db *sql.DB) (empty bool, err error) {
	var id, tables int
	if err := db.QueryRowContext(ctx, "PRAGMA application_id").Scan(&id); err != nil {
		return false, fmt.Errorf("read the file's header: %w", err)
	}
	if err := db.QueryRowContext(ctx, "SELECT count(*) FROM sqlite_master").Scan(&tables); err != nil {
		return false, fmt.Errorf("read the file's tables: %w", err)
	}
	if id != applicationID && (id != 0 || tables > 0) {
		return false, errors.New("the file is a database of something else")
	}
	return id == 0, nil
}

// Close closes the connections. The store cannot be used after it.
func (s *Store) Close() error {
	errs := []error{s.log.close()}
	for _, g := range []*gorm.DB{s.r, s.w} { // the writer last: it tidies the log away
		if g == nil {
			continue
		}
		db, err := g.DB()
		if err != nil {
			errs = append(errs, err)
			continue
		}
		if g == s.w && s.log.kept.why() != nil {
			errs = append(errs, leaveLog(db))
		}
		errs = append(errs, db.Close())
	}
	return errors.Join(errs...)
}
