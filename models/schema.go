package models

import (
	"context"
	"database/sql"
	"embed"
	"fmt"
	"io/fs"
	"slices"

	"github.com/pressly/goose/v3"
	"gorm.io/gorm"
)

//go:embed migrations/*.sql
var migrations embed.FS

// migrate brings the schema up to date, one transaction for each migration.
func (s *Store) migrate(ctx context.Context) error {
	db, err := s.w.DB()
	if err != nil {
		return err
	}
	if err := makeOurs(ctx, db); err != nil {
		return err
	}
	files, err := fs.Sub(migrations, "migrations")
	if err != nil {
		return err
	}
	p, err := migrationsOf(db, files)
	if err != nil {
		return err
	}
	have, err := p.GetDBVersion(ctx)
	if err != nil {
		return fmt.Errorf("read the schema's version: %w", err)
	}
	newest, err := newestSchema()
	if err != nil {
		return err
	}
	if have > newest {
		return fmt.Errorf("the file has schema %d and this program knows only up to %d: use the newer program, or restore an older backup", have, newest)
	}
	if have > 0 && have < newest && s.beforeMigration != nil {
		if err := s.beforeMigration(ctx, have); err != nil {
			return err
		}
	}
	if _, err := p.Up(ctx); err != nil {
		return fmt.Errorf("bring the schema up to date: %w", err)
	}
	return nil
}

// migrationsOf is what knows which of a folder's migrations a database has had.
func migrationsOf(db *sql.DB, files fs.FS) (*goose.Provider, error) {
	p, err := goose.NewProvider(goose.DialectSQLite3, db, files, goose.WithLogger(goose.NopLogger()), goose.WithDisableGlobalRegistry(true))
	if err != nil {
		return nil, fmt.Errorf("read the migrations: %w", err)
	}
	return p, nil
}

// schemas are the versions of the migrations that this program has; embed misses a
// folder without any.
func schemas() (versions []int64, err error) {
	files, err := fs.Glob(migrations, "migrations/*.sql")
	if err != nil {
		return nil, err
	}
	for _, name := range files {
		version, err := goose.NumericComponent(name)
		if err != nil {
			return nil, fmt.Errorf("read the name of migration %s: %w", name, err)
		}
		versions = append(versions, version)
	}
	return versions, nil
}

// newestSchema is the version of the newest of them.
func newestSchema() (int64, error) {
	all, err := schemas()
	if err != nil {
		return 0, err
	}
	return slices.Max(all), nil
}

// SchemaCurrent is an error where the records have another schema than this program's.
func (s *Store) SchemaCurrent(ctx context.Context) error {
	newest, err := newestSchema()
	if err != nil {
		return err
	}
	return s.read(ctx, "read the schema's version", func(tx *gorm.DB) error {
		var have int64
		if err := tx.Raw(schemaQuery).Scan(&have).Error; err != nil {
			return err
		}
		if have != newest {
			return fmt.Errorf("the records have schema %d, this program knows %d", have, newest)
		}
		return nil
	})
}

// schemaQuery reads the version of the newest migration that a database has had.
const schemaQuery = "SELECT coalesce(max(version_id), 0) FROM goose_db_version WHERE is_applied"
