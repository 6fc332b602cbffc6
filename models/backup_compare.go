package models

import (
	"context"
	"database/sql"
	"fmt"
	"net/url"
	"time"

	"github.com/mattn/go-sqlite3"
)

// Difference is what the records have that a backup of them has not.
type Difference struct {
	OtherShop bool           // the backup is of another shop altogether
	Zone      *time.Location // of the shop
	BackupEnd *time.Time     // the newest tap of the backup; nil: it has none
	Taps      int            // tapped since
	FirstTap  *time.Time     // of those
	LastTap   *time.Time
	Rows      []DifferentRows // of other records
}

// DifferentRows is how many records of a kind a backup has not.
type DifferentRows struct {
	What  string // for a console, in the plural
	Count int
}

// compared are the tables whose rows are counted, and what makes a row the same in
// both: a number is given again where a row was deleted since.
var compared = []struct{ table, same, what string }{
	{"commissions", "id, taken_at", "commissions"},
	{"step_notes", "id", "notes"},
	{"photos", "hash", "photos"},
	{"part_ticks", "id", "pieces tapped off"},
	{"returned_taps", "id", "taps that came too late"},
	{"boards", "id", "boards"},
	{"steered", "id", "changes that steer"},
}

// Compare says what would be lost if a backup took the place of the records. Neither
// file is changed, and their schemas may be older than this program's.
func Compare(ctx context.Context, records, backup string) (*Difference, error) {
	d := &Difference{Zone: time.UTC}
	err := reading(records, func(db *sql.DB) error {
		db.SetMaxOpenConns(1) // what is attached is so for one connection
		if _, err := db.ExecContext(ctx, "ATTACH ? AS backup", dsn(backup, url.Values{"mode": {"ro"}})); err != nil {
			return fmt.Errorf("open the backup beside the records: %w", err)
		}
		return d.read(ctx, db)
	})
	if err != nil {
		return nil, fmt.Errorf("compare the records with the backup: %w", err)
	}
	return d, nil
}

func (d *Difference) read(ctx context.Context, db *sql.DB) error {
	if err := d.readShop(ctx, db); err != nil {
		return err
	}
	if err := d.readTaps(ctx, db); err != nil {
		return err
	}
	for _, c := range compared {
		n, err := onlyHere(ctx, db, c.table, c.same)
		if err != nil {
			return err
		}
		if n > 0 {
			d.Rows = append(d.Rows, DifferentRows{What: c.what, Count: n})
		}
	}
	return nil
}

// readShop reads the shop's zone, and whether both are of the same shop as far as
// both say which.
func (d *Difference) readShop(ctx context.Context, db *sql.DB) error {
	var zone string
	if err := db.QueryRowContext(ctx, "SELECT time_zone FROM main.shop").Scan(&zone); err != nil {
		return fmt.Errorf("read the shop: %w", err)
	}
	if at, err := time.LoadLocation(zone); err == nil {
		d.Zone = at
	}
	var told int
	err := db.QueryRowContext(ctx, `SELECT count(*) FROM pragma_table_info('shop', 'main') m
		JOIN pragma_table_info('shop', 'backup') b ON m.name = 'uid' AND b.name = 'uid'`).Scan(&told)
	if err != nil || told == 0 {
		return err
	}
	return db.QueryRowContext(ctx, "SELECT m.uid <> b.uid FROM main.shop m, backup.shop b").Scan(&d.OtherShop)
}

func (d *Difference) readTaps(ctx context.Context, db *sql.DB) error {
	there, err := tableIn(ctx, db, "main", "taps")
	if err != nil || !there {
		return err
	}
	if there, err = tableIn(ctx, db, "backup", "taps"); err != nil {
		return err
	}
	newer := "SELECT count(*), min(at), max(at) FROM main.taps"
	var first, last, end sql.NullString
	if there {
		newer += " WHERE id NOT IN (SELECT id FROM backup.taps)"
		if err := db.QueryRowContext(ctx, "SELECT max(at) FROM backup.taps").Scan(&end); err != nil {
			return fmt.Errorf("read the backup's newest tap: %w", err)
		}
	}
	if err := db.QueryRowContext(ctx, newer).Scan(&d.Taps, &first, &last); err != nil {
		return fmt.Errorf("count the taps: %w", err)
	}
	d.FirstTap, d.LastTap, d.BackupEnd = storedTime(first), storedTime(last), storedTime(end)
	return nil
}

// onlyHere counts the rows of a table that the backup has not.
func onlyHere(ctx context.Context, db *sql.DB, table, same string) (n int, err error) {
	here, err := tableIn(ctx, db, "main", table)
	if err != nil || !here {
		return 0, err
	}
	there, err := tableIn(ctx, db, "backup", table)
	if err != nil {
		return 0, err
	}
	query := "SELECT count(*) FROM main." + table
	if there {
		query = fmt.Sprintf("SELECT count(*) FROM (SELECT %[2]s FROM main.%[1]s EXCEPT SELECT %[2]s FROM backup.%[1]s)", table, same)
	}
	if err := db.QueryRowContext(ctx, query).Scan(&n); err != nil {
		return 0, fmt.Errorf("count %s: %w", table, err)
	}
	return n, nil
}

func tableIn(ctx context.Context, db *sql.DB, schema, table string) (there bool, err error) {
	err = db.QueryRowContext(ctx, "SELECT count(*) > 0 FROM "+schema+".sqlite_schema WHERE type = 'table' AND name = ?", table).Scan(&there)
	if err != nil {
		return false, fmt.Errorf("look for the table %s: %w", table, err)
	}
	return there, nil
}

// storedTime reads a time as the store writes it; nil for NULL and what is none.
func storedTime(text sql.NullString) *time.Time {
	t, err := time.Parse(sqlite3.SQLiteTimestampFormats[0], text.String)
	if !text.Valid || err != nil {
		return nil
	}
	return &t
}
