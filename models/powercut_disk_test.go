package models_test

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"faceside/models"
	"faceside/models/testrig"
	"faceside/models/testrig/disk"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// powered is a shop at work on a disk that is watched.
type powered struct {
	*bench
	folder   string
	disk     *disk.Disk
	settings []string        // past those of the program
	shorten  int             // from how many pages on the log is brought into the file beside the taps; 0: as in the program
	aside    *sql.DB         // reads past the store
	asked    string          // what it asks
	states   []state         // what it said after each commit
	sound    map[string]bool // states of which the journal was replayed
	tapped   int             // how often the first step was taken up and put down
}

// state is what the records said after a commit.
type state struct {
	at     int // how much of the disk's record there was then
	digest string
}

// shopFile is the file of a shop of some commissions, and a person for each.
func shopFile(t *testing.T, commissions int) []byte {
	t.Helper()
	b := newBench(t)
	for _, name := range []string{"Cleo", "Dora"} {
		_, err := b.store.SavePerson(context.Background(), models.Person{Name: name, Active: true})
		require.NoError(t, err)
	}
	for range commissions - 1 {
		testrig.Commission(t, b.store, "Shelf for the porch", "2026-03-18")
	}
	path := filepath.Join(t.TempDir(), "shop")
	require.NoError(t, b.store.Backup(context.Background(), path))
	records, err := os.ReadFile(path)
	require.NoError(t, err)
	return records
}

// newPowered opens a copy of such a file on a disk of that sort.
func newPowered(t *testing.T, sort func(testing.TB, string) *disk.Disk, records []byte, settings ...string) *powered {
	t.Helper()
	p := &powered{bench: &bench{t: t, clock: testrig.Monday()}, folder: t.TempDir(), settings: settings, sound: map[string]bool{}}
	require.NoError(t, os.WriteFile(p.path(), records, 0o600))
	p.disk = sort(t, p.folder)
	p.open()
	return p
}

func (p *powered) path() string { return filepath.Join(p.folder, "shop.db") }

// open opens the shop.
func (p *powered) open() {
	p.t.Helper()
	var err error
	p.store, err = models.OpenStore(context.Background(), p.path(), p.clock.Now)
	require.NoError(p.t, err)
	if p.shorten > 0 {
		p.store.ShortenLog(p.shorten, 1000)
	}
	for _, setting := range p.settings {
		require.NoError(p.t, p.store.Pragma(setting))
	}
	p.aside, err = sql.Open("sqlite3", "file:"+p.path()+"?mode=ro&_query_only=ON&_stmt_cache_size=100")
	require.NoError(p.t, err)
	p.aside.SetMaxOpenConns(1)
	p.asked, err = everything(p.aside)
	require.NoError(p.t, err)
}

// note has what the records say noted, now and after every commit.
func (p *powered) note() {
	note := func() { p.states = append(p.states, state{at: p.disk.Len(), digest: p.says()}) }
	note()
	p.store.OnChange(func(models.Change) { note() })
}

// says is what the records say now.
func (p *powered) says() string {
	digest, err := digestOf(p.aside, p.asked)
	assert.NoError(p.t, err)
	return digest
}

func (p *powered) close() {
	p.t.Helper()
	require.NoError(p.t, errors.Join(p.aside.Close(), p.store.Close()))
}

// besidePlans are numbers that are used up by plans nobody sees.
var besidePlans = map[string][]string{"plans": {"id"}, "plan_steps": {"id", "plan_id"}, "plan_setups": {"id", "plan_id"}, "plan_days": {"first_plan_id"}}

// everything is the query for all that the records say, row by row. Plans that are not
// followed say nothing (see Store.SavePlan).
func everything(db *sql.DB) (string, error) {
	tables, err := texts(db, "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%' ORDER BY name")
	if err != nil {
		return "", err
	}
	var parts []string
	for _, table := range tables {
		columns, err := texts(db, "SELECT name FROM pragma_table_info(?)", table)
		if err != nil {
			return "", err
		}
		columns = slices.DeleteFunc(columns, func(c string) bool { return slices.Contains(besidePlans[table], c) })
		part := "SELECT '" + table + ` ' || quote("` + strings.Join(columns, `") || ' ' || quote("`) + `") FROM ` + table
		switch table {
		case "plans":
			part += " WHERE current"
		case "plan_steps", "plan_setups":
			part += " WHERE plan_id IN (SELECT id FROM plans WHERE current)"
		}
		parts = append(parts, part)
	}
	return strings.Join(parts, " UNION ALL "), nil
}

// digestOf is one short text for what a query says, in whatever order.
func digestOf(db *sql.DB, query string) (string, error) {
	rows, err := texts(db, query)
	slices.Sort(rows)
	return fmt.Sprintf("%x", sha256.Sum256([]byte(strings.Join(rows, "\n")))), err
}

// texts reads the rows of a query that has one column.
func texts(db *sql.DB, query string, args ...any) (all []string, err error) {
	rows, err := db.Query(query, args...)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, rows.Err(), rows.Close()) }()
	for rows.Next() {
		var text string
		if err := rows.Scan(&text); err != nil {
			return nil, err
		}
		all = append(all, text)
	}
	return all, nil
}

// day is what a tablet taps for one commission, in order.
func day(t *testing.T, tablet int, steps map[string]models.Step, who models.ID) []models.TapRequest {
	t.Helper()
	var all []models.TapRequest
	add := func(kind models.TapKind, change func(*models.TapRequest), keys ...string) {
		r := models.TapRequest{Kind: kind, PersonID: who, Tablet: fmt.Sprintf("tablet %d", tablet)}
		for _, key := range keys {
			require.NotZero(t, steps[key].ID, key)
			if kind == models.TapStartRun {
				r.Steps = append(r.Steps, steps[key].ID)
			} else {
				r.StepID = steps[key].ID
			}
		}
		if change != nil {
			change(&r)
		}
		r.ID = fmt.Sprintf("tap-%d-%d", tablet, len(all)+1)
		r.Queued = &models.Queued{Queue: fmt.Sprintf("queue %d", tablet), Number: int64(len(all) + 1)}
		all = append(all, r)
	}
	last := func() string { return all[len(all)-1].ID }
	note := func(r *models.TapRequest) {
		r.Note = strings.Repeat("The glue ran out, and the shop shuts at noon. ", 20)
	}
	for _, key := range []string{"joint", "rip", "glue-panel", "trim", "glue-frame", "sand", "coat-1", "coat-2"} {
		if key == "rip" {
			add(models.TapStartRun, nil, "plane", "plane-rails")
			run := last()
			add(models.TapPutDownRun, func(r *models.TapRequest) { r.Run = run })
			for _, planed := range []string{"plane", "plane-rails"} {
				add(models.TapStart, nil, planed)
				add(models.TapFinish, nil, planed)
			}
		}
		add(models.TapStart, nil, key)
		add(models.TapPutDown, note, key)
		add(models.TapTrouble, note, key)
		add(models.TapSettled, nil, key)
		add(models.TapStart, nil, key)
		add(models.TapFinish, nil, key)
		finish := last()
		add(models.TapUndo, func(r *models.TapRequest) { r.UndoesID = finish })
		add(models.TapFinish, nil, key)
		if steps[key].Unattended > 0 {
			add(models.TapOut, nil, key)
		}
	}
	return all
}

// work has a tablet for each commission tap through its day, all at the same time,
// while plans are saved, a backup is made and a commission is taken. What was answered
// is marked in the disk's record. In the midst the shop is closed and opened again.
func (p *powered) work(t *testing.T) (taps int) {
	t.Helper()
	days := p.days(t)
	for half := range 2 {
		p.note()
		var all sync.WaitGroup
		for _, of := range days {
			middle := len(of) / 2
			part := [][]models.TapRequest{of[:middle], of[middle:]}[half]
			taps += len(part)
			all.Go(func() { p.tapAll(t, part) })
		}
		all.Go(func() { p.beside(t, half) })
		all.Wait()
		p.close()
		if half == 0 {
			p.open()
		}
	}
	return taps
}

// days has a tablet for each commission.
func (p *powered) days(t *testing.T) (days [][]models.TapRequest) {
	t.Helper()
	snap := p.snap()
	for i, c := range snap.Commissions {
		steps := map[string]models.Step{}
		for _, s := range snap.Steps {
			if s.CommissionID == c.ID {
				steps[s.Key] = s
			}
		}
		days = append(days, day(t, i+1, steps, snap.People[i].ID))
	}
	return days
}

func (p *powered) tapAll(t *testing.T, taps []models.TapRequest) {
	for _, r := range taps {
		p.clock.Step(11 * time.Minute)
		result, err := p.store.Tap(context.Background(), r)
		if err != nil && result.Returned == nil {
			assert.NoError(t, err, "%s (%s)", r.ID, r.Kind)
			return
		}
		if back := result.Returned; back != nil && back.ID != r.ID {
			continue // it took back one that was returned, and has no row
		}
		p.disk.Mark(r.ID)
	}
}

// beside is what goes on beside the taps.
func (p *powered) beside(t *testing.T, half int) {
	ctx := context.Background()
	for i := range 3 {
		snap, err := p.store.Snapshot(ctx)
		if !assert.NoError(t, err) {
			return
		}
		if err := p.store.SavePlan(ctx, planOf(snap)); models.CodeOf(err) != models.Stale {
			assert.NoError(t, err)
		}
		switch i {
		case 1:
			assert.NoError(t, p.store.Backup(ctx, filepath.Join(p.folder, fmt.Sprintf("copy-%d.db", half))))
		case 2:
			_, err := p.store.TakeCommission(ctx, testrig.NewCommission(t, p.store, fmt.Sprintf("Bench %d", half), "2026-04-10"))
			assert.NoError(t, err)
		}
	}
}

// verdict is what became of the records in a power cut.
type verdict struct {
	digest  string   // of what they say
	damaged error    // they cannot be opened, or contradict themselves
	lost    []string // taps that had been answered
	half    error    // they say what they never said
}

// seen opens what is left of the disk with the real store, and looks.
func (p *powered) seen(folder string, at int) (v verdict) {
	ctx := context.Background()
	path := filepath.Join(folder, "shop.db")
	store, err := models.OpenStore(ctx, path, p.clock.Now)
	if err != nil {
		return verdict{damaged: err}
	}
	defer func() {
		if err := store.Close(); v.damaged == nil {
			v.damaged = err
		}
	}()
	db, err := sql.Open("sqlite3", "file:"+path+"?mode=ro&_stmt_cache_size=100")
	if err != nil {
		return verdict{damaged: err}
	}
	defer func() { v.damaged = errors.Join(v.damaged, db.Close()) }()
	db.SetMaxOpenConns(1)
	v.digest, err = digestOf(db, p.asked)
	if v.damaged = errors.Join(err, p.whole(ctx, store, db, v.digest)); v.damaged != nil {
		return v
	}
	there, err := texts(db, "SELECT id FROM (SELECT id FROM taps UNION ALL SELECT id FROM returned_taps)")
	if err != nil {
		return verdict{damaged: err}
	}
	times := map[string]int{}
	for _, id := range there {
		times[id]++
	}
	for _, id := range p.disk.Marked(at) {
		if times[id] != 1 {
			v.lost = append(v.lost, fmt.Sprintf("%s (%d times)", id, times[id]))
		}
	}
	v.half = p.said(v.digest, at)
	return v
}

// whole says what is wrong with the file itself, or with the states of steps.
func (p *powered) whole(ctx context.Context, store *models.Store, db *sql.DB, digest string) error {
	for query, want := range map[string]string{"SELECT * FROM pragma_integrity_check()": "ok", "SELECT count(*) FROM pragma_foreign_key_check()": "0"} {
		if says, err := texts(db, query); err != nil || strings.Join(says, "; ") != want {
			return fmt.Errorf("%s: %v, %v", query, says, err)
		}
	}
	if p.sound[digest] {
		return nil
	}
	snap, err := store.Snapshot(ctx)
	if err != nil {
		return err
	}
	journal, err := store.Journal(ctx, models.JournalFilter{})
	if err != nil {
		return err
	}
	err = snap.Astray(journal)
	p.sound[digest] = err == nil
	return err
}

// said looks whether the records say what they said after the last commit before the
// cut, or after the one that was about to be made.
func (p *powered) said(digest string, at int) error {
	next, _ := slices.BinarySearchFunc(p.states, at+1, func(s state, at int) int { return s.at - at })
	may := p.states[max(0, next-1):min(next+1, len(p.states))]
	if slices.ContainsFunc(may, func(s state) bool { return s.digest == digest }) {
		return nil
	}
	return fmt.Errorf("the records say what they said neither before nor after commit %d of %d", next, len(p.states))
}

// often has the commits themselves bring the log into the file at so many pages.
const often = "wal_autocheckpoint = 150"

// Whenever the power is cut, every tap that was answered is there, once, and nothing
// is half there.
func TestAPowerCutLosesNothing(t *testing.T) {
	t.Parallel()
	p := newPowered(t, disk.Watch, shopFile(t, 4))
	p.shorten = 150
	p.store.ShortenLog(p.shorten, 1000)
	taps := p.work(t)
	answered := len(p.disk.Marked(p.disk.Len()))
	assert.Greater(t, answered, taps*9/10, "of %d taps", taps) // all but those that only withdrew another
	began := time.Now()
	p.cutLosesNothing(t, *models.PowerCuts)
	t.Logf("%d power cuts among %d things that happened on the disk, %d taps and %d commits; %.1f s", *models.PowerCuts, p.disk.Len(), answered, len(p.states)-1, time.Since(began).Seconds())
}

// cutLosesNothing cuts the power so many times, and keeps the files of a cut that loses.
func (p *powered) cutLosesNothing(t *testing.T, times int) {
	t.Helper()
	p.disk.CutPower(t, p.states[0].at, times, func(c disk.PowerCut) {
		v := p.seen(c.Folder, c.At)
		if v.damaged == nil && v.lost == nil && v.half == nil {
			return
		}
		kept := t.ArtifactDir()
		assert.NoError(t, disk.Put(c.Left, kept))
		t.Errorf("cut at %d, drawn with %d; lost: %v; half: %v; damaged: %v; the files are in %s (with -artifacts)", c.At, c.Seed, v.lost, v.half, v.damaged, kept)
	})
}

// readBeside reads all there is, again and again, until it is told to end.
func (p *powered) readBeside() (end func()) {
	db, shut := p.fileOpen("mode=ro&_stmt_cache_size=100")
	leave, left := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(left)
		for {
			select {
			case <-leave:
				return
			default:
				_, err := digestOf(db, p.asked)
				assert.NoError(p.t, err)
			}
		}
	}()
	return func() { close(leave); <-left; shut() }
}

// A sync that fails is the end of the tap that waited for it, and of no other: those that
// were answered before and after it outlive a power cut, although what the sync had to
// bring to the disk may be lost for good. So do they where the log could not be brought
// into the file.
func TestAPowerCutAfterSyncsThatFailed(t *testing.T) {
	t.Parallel()
	faults := []disk.Fault{{File: "-wal", From: 1}, {File: "shop.db", From: 1}, {From: 2}, {File: "-wal", From: 2}}
	p := newPowered(t, disk.Watch, shopFile(t, 1))
	p.shorten = 10
	refused, kept, ofFile := 0, 0, 0
	for day := range slices.Chunk(p.days(t)[0], 8) {
		p.store.ShortenLog(p.shorten, 1000)
		p.note()
		end := p.readBeside()
		for i, r := range day {
			p.clock.Step(11 * time.Minute)
			fault := faults[i%len(faults)]
			fault.Call, fault.Times, fault.Error = disk.Sync, 1, syscall.EIO
			p.disk.Fail(fault)
			if p.tapAgain(r) {
				refused++
			}
			if fault.File == "shop.db" {
				p.store.Settle()
				ofFile += p.disk.Failed()
			}
		}
		end()
		if p.store.LogShortened() != nil {
			kept++
		}
		p.close() // also while a sync fails
		p.disk.Fail(disk.Fault{})
		p.open()
	}
	p.close()
	assert.Greater(t, refused, 10)
	assert.Positive(t, ofFile)
	assert.Positive(t, kept)
	p.cutLosesNothing(t, max(*models.PowerCuts/6, 1))
	t.Logf("%d taps were refused for a sync that failed, and tapped again; the file could not be synced %d times, and the log was kept until Faceside was started anew %d times", refused, ofFile, kept)
}

// tapAgain taps, and once more where the disk failed.
func (p *powered) tapAgain(r models.TapRequest) (refused bool) {
	p.t.Helper()
	result, err := p.store.Tap(context.Background(), r)
	if refused = models.CodeOf(err) == models.DiskFails; refused {
		p.disk.Fail(disk.Fault{})
		result, err = p.store.Tap(context.Background(), r)
	}
	if result.Returned == nil {
		require.NoError(p.t, err)
		p.disk.Mark(r.ID)
	}
	return refused
}

// The same cuts show what the settings are for: with less, taps are lost, and with
// still less the whole file.
func TestWithoutSyncsAPowerCutLoses(t *testing.T) {
	t.Parallel()
	for level, damages := range map[string]bool{"NORMAL": false, "OFF": true} {
		t.Run(level, func(t *testing.T) {
			p := newPowered(t, disk.Watch, shopFile(t, 2), often, "synchronous = "+level)
			p.work(t)
			lost, damaged := 0, 0
			p.disk.CutPower(t, p.states[0].at, 40, func(c disk.PowerCut) {
				v := p.seen(c.Folder, c.At)
				if len(v.lost) > 0 {
					lost++
				}
				if v.damaged != nil {
					damaged++
				}
			})
			assert.NotZero(t, lost+damaged)
			assert.Equal(t, damages, damaged > 0, "%d files were damaged", damaged)
			t.Logf("of 40 power cuts %d lost taps that had been answered, %d damaged the file", lost, damaged)
		})
	}
}
