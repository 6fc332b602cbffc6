package models_test

import (
	"context"
	"path/filepath"
	"strings"
	"testing"

	"faceside/models"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What the store's checks would let through by mistake, or another program
// might write, the database refuses too.
func TestDatabaseRefusesBadRows(t *testing.T) {
	b := newBench(t)
	b.tap(models.TapStart, "joint", b.ana)
	_, err := b.hands(models.TapHelp, "joint", b.ben, b.ana)
	require.NoError(t, err)
	path := filepath.Join(t.TempDir(), "copy.db")
	require.NoError(t, b.store.Backup(context.Background(), path))
	db := raw(t, path)
	const at = "'2026-03-02 07:30:00+00:00'"
	hash := strings.Repeat("0a", 32)
	for statement, why := range map[string]string{
		// the shop
		"INSERT INTO shop SELECT 2, name, time_zone, units, fraction, temperature_c, humidity_pct, revision, language, uid FROM shop": "CHECK",
		"UPDATE shop SET name = ' '":                                                                                   "CHECK",
		"UPDATE shop SET name = NULL":                                                                                  "NOT NULL",
		"UPDATE shop SET units = 'cubit'":                                                                              "CHECK",
		"UPDATE shop SET fraction = 10":                                                                                "CHECK",
		"UPDATE shop SET humidity_pct = 101":                                                                           "CHECK",
		"UPDATE shop SET humidity_pct = 'wet'":                                                                         "CHECK",
		"INSERT INTO hours (weekday, opens, closes) VALUES (1, 700, 760)":                                              "hours of one weekday overlap",
		"INSERT INTO hours (weekday, opens, closes) VALUES (7, 700, 760)":                                              "CHECK",
		"INSERT INTO hours (weekday, opens, closes) VALUES (0, 700, 600)":                                              "CHECK",
		"UPDATE hours SET opens = 0":                                                                                   "hours are replaced",
		"INSERT INTO people (name, active) VALUES ('ANA', 1)":                                                          "UNIQUE",
		"INSERT INTO people (name, active) VALUES ('Cleo', 2)":                                                         "CHECK",
		"INSERT INTO days_off (date, reason) VALUES ('2026-02-30', '')":                                                "CHECK",
		"INSERT INTO days_off (date, reason) VALUES ('2026-03-03', ''), ('2026-03-03', '')":                            "UNIQUE",
		"INSERT INTO days_off (date, person_id, reason) VALUES ('2026-03-03', 99, '')":                                 "FOREIGN KEY",
		"UPDATE stations SET places = 0":                                                                               "CHECK",
		"UPDATE stations SET key = 'planer'":                                                                           "UNIQUE",
		"UPDATE stations SET max_width = 'wide'":                                                                       "CHECK",
		"UPDATE stations SET zone_id = 99":                                                                             "FOREIGN KEY",
		"UPDATE stations SET setup_id = (SELECT id FROM setups WHERE family = 'thickness') WHERE key = 'table-saw'":    "FOREIGN KEY",
		"DELETE FROM stations WHERE key = 'jointer'":                                                                   "FOREIGN KEY",
		"INSERT INTO setups (station_id, family, state, instruction) SELECT station_id, family, state, '' FROM setups": "UNIQUE",
		"UPDATE clamp_classes SET reach = 0":                                                                           "CHECK",
		"UPDATE clamp_classes SET count = -1":                                                                          "CHECK",
		"UPDATE glues SET open_min = 0":                                                                                "CHECK",
		"UPDATE finishes SET recoat_least_min = 100, recoat_greatest_min = 99":                                         "CHECK",
		// signing in
		"UPDATE sign_in SET idle = 0":         "CHECK",
		"UPDATE sign_in SET passphrase = 'x'": "CHECK",
		"INSERT INTO pins (person_id, hash, given, set_at) VALUES (99, 'x', 0, " + at + ")":                                             "FOREIGN KEY",
		"INSERT INTO tries (whose, asker, failed) VALUES (1, 'tablet 1', 1)":                                                            "CHECK",
		"INSERT INTO tries (whose, asker, failed) VALUES (0, 'somebody', 1)":                                                            "CHECK",
		"INSERT INTO known_browsers (secret, seen_at) VALUES ('x', " + at + ")":                                                         "CHECK",
		"INSERT INTO tries (whose, failed) VALUES (1, 0)":                                                                               "CHECK",
		"INSERT INTO tries (whose, failed, locked_at) VALUES (0, 10, " + at + ")":                                                       "CHECK",
		"INSERT INTO access_keys (kind, name, made_at) VALUES ('program', 'Sheet', " + at + ")":                                         "CHECK",
		"INSERT INTO access_keys (kind, name, secret, made_at) VALUES ('tablet', 'Saw', '" + hash + "', " + at + ")":                    "CHECK",
		"INSERT INTO sessions (token, role, made_at, seen_at, ended) VALUES ('" + hash + "', 'bench', " + at + ", " + at + ", '')":      "CHECK",
		"INSERT INTO sessions (token, role, made_at, seen_at, ended) VALUES ('" + hash + "', 'planner', " + at + ", " + at + ", 'off')": "CHECK",
		// commissions
		"UPDATE commissions SET promised_on = 'soon'":                           "CHECK",
		"UPDATE commissions SET weight = 10":                                    "CHECK",
		"UPDATE commissions SET state = 'lost'":                                 "CHECK",
		"UPDATE commissions SET taken_at = '2026-03-02 08:30:00+01:00'":         "CHECK",
		"DELETE FROM commissions":                                               "FOREIGN KEY",
		"UPDATE parts SET grain = 'up'":                                         "CHECK",
		"UPDATE parts SET quantity = 0":                                         "CHECK",
		"UPDATE parts SET key = 'same'":                                         "UNIQUE",
		"UPDATE parts SET commission_id = 99":                                   "FOREIGN KEY",
		"UPDATE pieces SET measures = 'wide'":                                   "CHECK",
		"INSERT INTO assembly_assemblies (assembly_id, inner_id) VALUES (1, 1)": "CHECK",
		// steps
		"UPDATE steps SET attended = 0":                                                                                    "CHECK",
		"UPDATE steps SET hands = 0":                                                                                       "CHECK",
		"UPDATE steps SET rest = 'asleep'":                                                                                 "CHECK",
		"UPDATE steps SET unattended = 60 WHERE key = 'joint'":                                                             "CHECK",
		"UPDATE steps SET state = 'lost'":                                                                                  "CHECK",
		"UPDATE steps SET state = 'done' WHERE key = 'sand'":                                                               "CHECK",
		"UPDATE steps SET taken_at = NULL WHERE key = 'joint'":                                                             "CHECK",
		"UPDATE steps SET trouble = 'torn' WHERE key = 'sand'":                                                             "CHECK",
		"UPDATE steps SET trouble_kind = 'missing' WHERE key = 'sand'":                                                     "CHECK",
		"UPDATE steps SET expected_on = '2026-03-03' WHERE key = 'sand'":                                                   "CHECK",
		"UPDATE steps SET first_attended = -1":                                                                             "CHECK",
		"UPDATE steps SET helpers = '[]' WHERE key = 'joint'":                                                              "CHECK",
		"UPDATE steps SET helpers = '[{\"PersonID\": 3}]' WHERE key = 'sand'":                                              "CHECK",
		"UPDATE steps SET helpers = '[{\"PersonID\": 1}]' WHERE key = 'joint'":                                             "the helper has something else in hand",
		"UPDATE steps SET helped = -1":                                                                                     "CHECK",
		"INSERT INTO taps (id, kind, step_id, person_id, tablet, note, at) VALUES ('x', 'help', 1, 1, '', '', " + at + ")": "CHECK",
		"INSERT INTO taps (id, kind, step_id, person_id, tablet, note, at, helper_id) VALUES ('x', 'finish', 1, 1, '', '', " + at + ", 2)":                   "CHECK",
		"INSERT INTO taps (id, kind, step_id, person_id, tablet, note, at, was) VALUES ('x', 'finish', 1, 1, '', '', " + at + ", 'in hand')":                 "CHECK",
		"INSERT INTO taps (id, kind, station_id, person_id, tablet, note, at, was) VALUES ('x', 'set', 1, 1, '', '', " + at + ", '{}')":                      "CHECK",
		"INSERT INTO taps (id, kind, step_id, person_id, tablet, note, at, joined) VALUES ('x', 'start', 1, 1, '', '', " + at + ", 1)":                       "CHECK",
		"INSERT INTO taps (id, kind, step_id, person_id, tablet, note, at, act) VALUES ('x', 'gather', 1, 1, '', '', " + at + ", 'x')":                       "CHECK",
		"INSERT INTO taps (id, kind, step_id, person_id, tablet, note, at, share) VALUES ('x', 'gather', 1, 1, '', '', " + at + ", 5)":                       "CHECK",
		"INSERT INTO taps (id, kind, step_id, person_id, tablet, note, at, trouble, details) VALUES ('x', 'finish', 1, 1, '', '', " + at + ", 'hand', '{}')": "CHECK",
		"UPDATE steps SET again_of = 99": "FOREIGN KEY",
		"INSERT INTO taps (id, kind, step_id, person_id, tablet, note, at, trouble, details) VALUES ('x', 'finish', 1, 1, '', '', " + at + ", 'help', '{}')":                          "CHECK",
		"INSERT INTO taps (id, kind, step_id, person_id, tablet, note, at, trouble) VALUES ('x', 'trouble', 1, 1, '', '', " + at + ", 'help')":                                        "CHECK",
		"INSERT INTO taps (id, kind, step_id, person_id, tablet, note, at, trouble, details) VALUES ('x', 'trouble', 1, 1, '', '', " + at + ", 'tired', '{}')":                        "CHECK",
		"INSERT INTO taps (id, kind, step_id, person_id, tablet, note, at, trouble, details, expected_on) VALUES ('x', 'trouble', 1, 1, '', '', " + at + ", 'missing', '{}', 'soon')": "CHECK",
		"UPDATE steps SET person_id = NULL WHERE key = 'joint'":                                                                "CHECK",
		"UPDATE steps SET started_at = 'now' WHERE key = 'joint'":                                                              "CHECK",
		"UPDATE steps SET setup_id = (SELECT id FROM setups WHERE family = 'fence') WHERE key = 'plane'":                       "FOREIGN KEY",
		"UPDATE steps SET key = 'joint' WHERE key = 'sand'":                                                                    "UNIQUE",
		"UPDATE steps SET cautions = 'mind'":                                                                                   "CHECK",
		"UPDATE steps SET state = 'in hand', person_id = 1, started_at = " + at + ", taken_at = " + at + " WHERE key = 'sand'": "the person has something else in hand",
		"UPDATE steps SET state = 'in hand', person_id = 2, started_at = " + at + ", taken_at = " + at + " WHERE key = 'sand'": "the person helps with something else",
		"UPDATE steps SET run = 'r', run_share = 5 WHERE key = 'joint'":                                                        "CHECK",
		"UPDATE steps SET run = 'r', run_share = 0, counted_at = " + at + " WHERE key = 'joint'":                               "CHECK",
		"UPDATE steps SET run = 'r', run_share = 5, counted_at = " + at + " WHERE key = 'sand'":                                "CHECK",
		"UPDATE step_parts SET quantity = 0":                                                                                   "CHECK",
		"UPDATE step_parts SET part_id = 99 WHERE id = 1":                                                                      "FOREIGN KEY",
		"UPDATE step_clamps SET count = 0":                                                                                     "CHECK",
		"UPDATE step_clamps SET clamp_class_id = 99":                                                                           "FOREIGN KEY",
		"UPDATE links SET after_id = before_id":                                                                                "CHECK",
		"UPDATE links SET after_id = 99 WHERE id = 1":                                                                          "FOREIGN KEY",
		"UPDATE links SET \"from\" = 'middle'":                                                                                 "CHECK",
		"UPDATE links SET max_lag = min_lag - 1":                                                                               "CHECK",
		"INSERT INTO links (commission_id, before_id, after_id, \"from\", min_lag, why) SELECT commission_id, before_id, after_id, \"from\", 0, '' FROM links": "UNIQUE",
		// the journal
		"UPDATE taps SET note = 'x'":                     "the journal is only added to",
		"DELETE FROM taps":                               "the journal is only added to",
		"INSERT OR REPLACE INTO taps SELECT * FROM taps": "the journal already has this tap",
		"INSERT INTO taps (id, kind, step_id, person_id, tablet, note, at) VALUES ('tap-0001', 'start', 1, 1, '', '', " + at + ")":        "the journal already has this tap",
		"INSERT INTO taps (id, kind, step_id, person_id, tablet, note, at) VALUES ('', 'start', 1, 1, '', '', " + at + ")":                "CHECK",
		"INSERT INTO taps (id, kind, step_id, person_id, tablet, note, at) VALUES ('x', 'begin', 1, 1, '', '', " + at + ")":               "CHECK",
		"INSERT INTO taps (id, kind, step_id, person_id, tablet, note, at) VALUES ('x', 'start', NULL, 1, '', '', " + at + ")":            "CHECK",
		"INSERT INTO taps (id, kind, step_id, person_id, tablet, note, at) VALUES ('x', 'start', 99, 1, '', '', " + at + ")":              "FOREIGN KEY",
		"INSERT INTO taps (id, kind, step_id, person_id, tablet, note, at) VALUES ('x', 'start', 1, 99, '', '', " + at + ")":              "FOREIGN KEY",
		"INSERT INTO taps (id, kind, step_id, person_id, tablet, note, at) VALUES ('x', 'start', 1, 1, '', '', '2026-03-02 08:30')":       "CHECK",
		"INSERT INTO taps (id, kind, step_id, person_id, tablet, note, at) VALUES ('x', 'undo', 1, 1, '', '', " + at + ")":                "CHECK",
		"INSERT INTO taps (id, kind, step_id, undoes, person_id, tablet, note, at) VALUES ('x', 'undo', 1, 99, 1, '', '', " + at + ")":    "CHECK",
		"INSERT INTO taps (id, kind, step_id, undoes, person_id, tablet, note, at) VALUES ('x', 'start', 1, 1, 1, '', '', " + at + ")":    "CHECK",
		"INSERT INTO taps (id, kind, setup_id, person_id, tablet, note, at) VALUES ('x', 'set', 1, 1, '', '', " + at + ")":                "CHECK",
		"INSERT INTO taps (id, kind, station_id, setup_id, person_id, tablet, note, at) VALUES ('x', 'set', 1, 1, 1, '', '', " + at + ")": "FOREIGN KEY",
		"INSERT INTO taps (id, kind, step_id, person_id, tablet, note, at, act) VALUES ('x', 'start', 1, 1, '', '', " + at + ", 'x')":     "CHECK",
		"INSERT INTO taps (id, kind, step_id, person_id, tablet, note, at, share) VALUES ('x', 'start', 1, 1, '', '', " + at + ", 5)":     "CHECK",
		"INSERT INTO taps (id, kind, step_id, person_id, tablet, note, at) VALUES ('x', 'down', 1, 1, '', '', " + at + ")":                "CHECK",
		"INSERT INTO taps (id, kind, station_id, step_id, person_id, tablet, note, at) VALUES ('x', 'up', 1, 1, 1, '', '', " + at + ")":   "CHECK",
		// tablets
		"INSERT INTO tablets (id, name) VALUES ('a', 'Bench'), ('b', 'BENCH')":                                                                                               "UNIQUE",
		"INSERT INTO tablets (id, name, person_id, station_id) VALUES ('a', '', 1, 1)":                                                                                       "CHECK",
		"INSERT INTO tap_queues (id, tablet, last) VALUES ('q', 'a', 0)":                                                                                                     "CHECK",
		"INSERT INTO taps (id, kind, step_id, person_id, tablet, note, at, queue) VALUES ('x', 'out', 1, 1, '', '', " + at + ", 'q')":                                        "CHECK",
		"INSERT INTO taps (id, kind, step_id, person_id, tablet, note, at, came_at) VALUES ('x', 'out', 1, 1, '', '', " + at + ", '2026-03-02 07:29:59+00:00')":              "CHECK",
		"INSERT INTO returned_taps (id, tablet, queue, tablet_seq, request, why, at, came_at, answer) VALUES ('x', '', 'q', 1, '{}', 'why', " + at + ", " + at + ", 'left')": "CHECK",
		// calendars
		"INSERT INTO feeds (secret, made_at) VALUES ('short', " + at + ")":                                                    "CHECK",
		"INSERT INTO feeds (secret, made_at) VALUES ('" + hash + "', 'today')":                                                "CHECK",
		"INSERT INTO feeds (secret, made_at, ended_at) VALUES ('" + hash + "', " + at + ", '2026-03-02 07:29:59+00:00')":      "CHECK",
		"INSERT INTO feeds (secret, made_at, person_id) VALUES ('" + hash + "', " + at + ", 99)":                              "FOREIGN KEY",
		"INSERT INTO feeds (secret, made_at) VALUES ('" + hash + "', " + at + "), ('" + hash[:30] + "', " + at + ")":          "UNIQUE",
		"INSERT INTO feeds (secret, made_at, ended_at) SELECT '" + hash + "', " + at + ", " + at + " FROM json_each('[1,2]')": "UNIQUE",
		// at the bench
		"INSERT INTO part_ticks (id, step_id, part_id, number, done, person_id, tablet, at) VALUES ('x', 1, 1, 0, 1, 1, '', " + at + ")":  "CHECK",
		"INSERT INTO part_ticks (id, step_id, part_id, number, done, person_id, tablet, at) VALUES ('x', 99, 1, 1, 1, 1, '', " + at + ")": "FOREIGN KEY",
		"INSERT INTO step_notes (id, step_id, person_id, tablet, text, at) VALUES ('x', 1, 1, '', '', " + at + ")":                        "CHECK",
		"INSERT INTO step_notes (id, step_id, person_id, tablet, text, photo, at) VALUES ('x', 1, 1, '', '', '" + hash + "', " + at + ")": "FOREIGN KEY",
		"INSERT INTO photos (hash, width, height, jpeg) VALUES ('../../x', 1, 1, x'00')":                                                  "CHECK",
		"INSERT INTO photos (hash, width, height, jpeg) VALUES ('" + hash + "', 1, 1, x'')":                                               "CHECK",
		// steering
		"INSERT INTO extra_hours (date, opens, closes) VALUES ('2026-03-07', 700, 600)":                                                   "CHECK",
		"INSERT INTO extra_hours (date, opens, closes) SELECT '2026-03-07', value, 700 FROM json_each('[600,650]')":                       "extra hours of one day overlap",
		"INSERT INTO stays (person_id, from_date, until_date) VALUES (1, '2026-03-07', '2026-03-06')":                                     "CHECK",
		"INSERT INTO closures (station_id, from_date, until_date) VALUES (99, '2026-03-07', '2026-03-08')":                                "FOREIGN KEY",
		"INSERT INTO loans (clamp_class_id, count, from_date, until_date) VALUES (1, 0, '2026-03-07', '2026-03-08')":                      "CHECK",
		"INSERT INTO wanted (step_id, day) VALUES (1, '')":                                                                                "CHECK",
		"INSERT INTO steered (act, kept_at, change, says, was, let_go_by) VALUES ('a', " + at + ", '{}', '{}', '{}', 1)":                  "CHECK",
		"INSERT INTO steered (act, kept_at, change, says, was) SELECT value, " + at + ", '{}', '{}', '{}' FROM json_each('[\"a\",\"\"]')": "CHECK",
		// plans
		"INSERT INTO plans SELECT NULL, " + at + ", " + at + ", 1, 'guessed', 1, 0, 1, 1, 1, 0, '', 0":                                                                                             "CHECK",
		"INSERT INTO plans SELECT NULL, " + at + ", " + at + ", 1, 'feasible', 1, 2, 1, 1, 1, 0, '', 0":                                                                                            "CHECK",
		"INSERT INTO plans SELECT value, " + at + ", " + at + ", 1, 'feasible', 1, 0, 1, 1, 1, 0, '', 1 FROM json_each('[1,2]')":                                                                   "UNIQUE",
		"INSERT INTO plan_steps (plan_id, step_id, setup_start, start, attended_end, \"end\", person_ids) VALUES (99, 1, " + at + ", " + at + ", " + at + ", " + at + ", '[]')":                    "FOREIGN KEY",
		"INSERT INTO plan_steps (plan_id, step_id, setup_start, start, attended_end, \"end\", person_ids) VALUES (99, 1, " + at + ", '2026-03-02 07:29:59.5+00:00', " + at + ", " + at + ", '[]')": "CHECK",
	} {
		_, err := db.Exec(statement)
		assert.ErrorContains(t, err, why, statement)
	}
}

// The columns the schema has are those the records have: no record is read or
// written in part.
func TestColumnsAreTheRecords(t *testing.T) {
	b := newBench(t)
	require.NoError(t, b.store.SavePlan(context.Background(), planOf(b.snap())))
	path := filepath.Join(t.TempDir(), "copy.db")
	require.NoError(t, b.store.Backup(context.Background(), path))
	db := raw(t, path)
	for table, columns := range models.Columns(t) {
		rows, err := db.Query("SELECT name FROM pragma_table_info(?)", table)
		require.NoError(t, err)
		var have []string
		for rows.Next() {
			var name string
			require.NoError(t, rows.Scan(&name))
			have = append(have, name)
		}
		require.NoError(t, rows.Err())
		assert.ElementsMatch(t, columns, have, table)
	}
}

// What the store looks rows up by is indexed.
func TestLookUpsAreIndexed(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shop.db")
	store, err := open(t, path)
	require.NoError(t, err)
	require.NoError(t, store.Close())
	db := raw(t, path)
	for _, query := range []string{
		"SELECT * FROM steps WHERE commission_id IN (1, 2) ORDER BY commission_id, piece_id, position",
		"SELECT * FROM steps WHERE person_id = 1 AND state = 'in hand'",
		"SELECT * FROM links WHERE before_id = 1", "SELECT * FROM links WHERE after_id = 1", "SELECT * FROM links WHERE commission_id = 1",
		"SELECT * FROM taps WHERE id = 'x'", "SELECT * FROM taps WHERE step_id = 1", "SELECT * FROM taps WHERE undoes = 1",
		"SELECT * FROM taps WHERE station_id = 1 ORDER BY seq DESC",
		"SELECT * FROM taps WHERE act <> '' AND act = 'x' ORDER BY seq", "SELECT * FROM steps WHERE run <> '' AND run = 'x' ORDER BY id",
		"SELECT * FROM taps WHERE kind = 'start' AND act <> '' AND act IN ('x', 'y') ORDER BY seq",
		"SELECT * FROM step_parts WHERE step_id IN (SELECT id FROM steps WHERE commission_id IN (1, 2))",
		"SELECT * FROM plan_steps WHERE plan_id = 1", "SELECT * FROM plan_setups WHERE plan_id = 1",
		"SELECT * FROM plans WHERE current = 1", "SELECT * FROM setups WHERE station_id = 1 AND state = 'x'",
		"SELECT * FROM commissions WHERE state IN ('open', 'held')", "SELECT * FROM step_clamps WHERE clamp_class_id = 1",
	} {
		rows, err := db.Query("EXPLAIN QUERY PLAN " + query)
		require.NoError(t, err, query)
		for rows.Next() {
			var id, parent, unused int
			var detail string
			require.NoError(t, rows.Scan(&id, &parent, &unused, &detail))
			assert.NotRegexp(t, "^SCAN", detail, query)
		}
		require.NoError(t, rows.Err())
	}
}
