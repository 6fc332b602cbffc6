package models

import (
	"context"
	"database/sql"
	"fmt"
	"time"
)

// Inside is what a database is like from within: how much there is of what and in what
// state, and nothing of what it holds.
type Inside struct {
	SQLite    string           `json:"sqlite"`
	Schema    int64            `json:"schema"`
	Newest    int64            `json:"newest schema of this program"`
	Integrity []string         `json:"integrity"`
	Dangling  int              `json:"references to nothing"`
	Pragmas   map[string]int64 `json:"pragmas"`
	Rows      map[string]int64 `json:"rows"`
	Kinds     map[string]int64 `json:"taps by kind"`
	Plans     []PlanHeader     `json:"newest plans"`
}

// PlanHeader is how one plan was made.
type PlanHeader struct {
	ID        ID        `json:"id"`
	MadeAt    time.Time `json:"made at"`
	Revision  int64     `json:"revision"`
	Status    string    `json:"status"`
	Objective int64     `json:"objective"`
	Bound     int64     `json:"bound"`
	Seed      int64     `json:"seed"`
	Schedules int64     `json:"schedules"`
	Seconds   float64   `json:"seconds"`
	Moved     int       `json:"moved"`
}

// inspectedPragmas tell how a file is laid out.
var inspectedPragmas = []string{"page_size", "page_count", "freelist_count", "user_version", "application_id", "auto_vacuum"}

// inspectedPlans is how many of the newest plans are told of.
const inspectedPlans = 50

// Inspect looks into the records in a file, which may be in use and of any schema.
func Inspect(ctx context.Context, path string) (*Inside, error) {
	in := &Inside{Pragmas: map[string]int64{}}
	err := reading(path, func(db *sql.DB) error {
		for _, look := range []func(context.Context, *sql.DB) error{in.lookAtFile, in.lookAtRows, in.lookAtPlans} {
			if err := look(ctx, db); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return in, fmt.Errorf("look into the records: %w", err)
	}
	return in, nil
}

func (in *Inside) lookAtFile(ctx context.Context, db *sql.DB) (err error) {
	if in.Newest, err = newestSchema(); err != nil {
		return err
	}
	if err := db.QueryRowContext(ctx, "SELECT sqlite_version()").Scan(&in.SQLite); err != nil {
		return err
	}
	for _, name := range inspectedPragmas {
		var value int64
		if err := db.QueryRowContext(ctx, "PRAGMA "+name).Scan(&value); err != nil {
			return fmt.Errorf("read pragma %s: %w", name, err)
		}
		in.Pragmas[name] = value
	}
	if in.Integrity, err = texts(ctx, db, "PRAGMA integrity_check(20)"); err != nil {
		return err
	}
	if err := db.QueryRowContext(ctx, "SELECT count(*) FROM pragma_foreign_key_check").Scan(&in.Dangling); err != nil {
		return err
	}
	return db.QueryRowContext(ctx, schemaQuery).Scan(&in.Schema)
}

func (in *Inside) lookAtRows(ctx context.Context, db *sql.DB) error {
	tables, err := texts(ctx, db, "SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite_%' ORDER BY name")
	if err != nil {
		return err
	}
	in.Rows, in.Kinds = map[string]int64{}, map[string]int64{}
	for _, table := range tables {
		var n int64
		if err := db.QueryRowContext(ctx, "SELECT count(*) FROM "+table).Scan(&n); err != nil {
			return fmt.Errorf("count %s: %w", table, err)
		}
		in.Rows[table] = n
	}
	if _, ok := in.Rows["taps"]; !ok {
		return nil
	}
	rows, err := db.QueryContext(ctx, "SELECT kind, count(*) FROM taps GROUP BY kind")
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var kind string
		var n int64
		if err := rows.Scan(&kind, &n); err != nil {
			return err
		}
		in.Kinds[kind] = n
	}
	return rows.Err()
}

func (in *Inside) lookAtPlans(ctx context.Context, db *sql.DB) error {
	if _, ok := in.Rows["plans"]; !ok {
		return nil
	}
	rows, err := db.QueryContext(ctx, "SELECT id, made_at, revision, status, objective, bound, seed, schedules, seconds, moved FROM plans ORDER BY id DESC LIMIT ?", inspectedPlans)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var p PlanHeader
		if err := rows.Scan(&p.ID, &p.MadeAt, &p.Revision, &p.Status, &p.Objective, &p.Bound, &p.Seed, &p.Schedules, &p.Seconds, &p.Moved); err != nil {
			return err
		}
		in.Plans = append(in.Plans, p)
	}
	return rows.Err()
}

// texts reads a query of one column.
func texts(ctx context.Context, db *sql.DB, query string) (all []string, err error) {
	rows, err := db.QueryContext(ctx, query)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var text string
		if err := rows.Scan(&text); err != nil {
			return nil, err
		}
		all = append(all, text)
	}
	return all, rows.Err()
}
