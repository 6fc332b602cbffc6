package models

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

// hourly is the backups that are there after so many hours of one an hour, the last at
// now.
func hourly(now time.Time, hours int) (kept []backupFile) {
	for h := hours - 1; h >= 0; h-- {
		at := now.Add(-time.Duration(h) * time.Hour)
		kept = append(kept, backupFile{name: nameBackup(at, 0), at: at})
		gone := outOfDate(kept, at)
		kept = slices.DeleteFunc(kept, func(f backupFile) bool { return slices.Contains(gone, f) })
	}
	return kept
}

func TestBackupsAreKeptByAge(t *testing.T) {
	now := time.Date(2026, time.November, 28, 14, 0, 0, 0, time.UTC)
	kept := hourly(now, 3*366*24)
	within := func(from, to time.Duration) (n int) {
		for _, f := range kept {
			if age := now.Sub(f.at); age > from && age <= to {
				n++
			}
		}
		return n
	}
	for _, tt := range []struct {
		name        string
		from, to    time.Duration
		least, most int
	}{
		{"all of a day", -1, aDay, 25, 25},
		{"one a day for a fortnight", aDay, 14 * aDay, 13, 14},
		{"one a week for a quarter", 14 * aDay, 91 * aDay, 11, 13},
		{"one a month for two years", 91 * aDay, 732 * aDay, 21, 23},
		{"none older", 732 * aDay, 4 * 366 * aDay, 0, 0},
	} {
		t.Run(tt.name, func(t *testing.T) {
			n := within(tt.from, tt.to)
			assert.GreaterOrEqual(t, n, tt.least)
			assert.LessOrEqual(t, n, tt.most)
		})
	}
	gaps := map[time.Duration]time.Duration{aDay: time.Hour, 14 * aDay: aDay, 91 * aDay: 8 * aDay, 700 * aDay: 38 * aDay}
	for within, most := range gaps {
		for i := 1; i < len(kept); i++ {
			if now.Sub(kept[i-1].at) <= within {
				assert.LessOrEqual(t, kept[i].at.Sub(kept[i-1].at), most, "no hole before %s", kept[i].at)
			}
		}
	}
}

func TestWhichBackupsGo(t *testing.T) {
	now := time.Date(2026, time.November, 28, 14, 0, 0, 0, time.UTC)
	at := func(day, hour int, schema int64) backupFile {
		f := backupFile{at: time.Date(2026, time.November, day, hour, 0, 0, 0, time.UTC), schema: schema}
		f.name = nameBackup(f.at, schema)
		return f
	}
	for _, tt := range []struct {
		name       string
		all, wants []backupFile
	}{
		{"none of none", nil, nil},
		{"one of two hours of a day that is over", []backupFile{at(20, 8, 0), at(20, 9, 0)}, []backupFile{at(20, 8, 0)}},
		{"none of today", []backupFile{at(28, 11, 0), at(28, 12, 0), at(28, 13, 0)}, nil},
		{"the newest is kept however old", []backupFile{at(-9000, 8, 0), at(-9001, 8, 0)}, nil},
		{"one of two hours of a day that was years ago", []backupFile{at(-9000, 8, 0), at(-9000, 9, 0), at(-8998, 8, 0)}, []backupFile{at(-9000, 8, 0)}},
		{"those before a schema went on are judged apart", []backupFile{at(20, 8, 24), at(20, 9, 0), at(20, 7, 23)}, []backupFile{at(20, 7, 23)}},
		{"what a wrong clock made in the future stays", []backupFile{at(400, 8, 0), at(28, 13, 0)}, nil},
		{"nothing goes while the clock stands in the past", []backupFile{at(40, 8, 0), at(41, 9, 0), at(41, 10, 0)}, nil},
	} {
		t.Run(tt.name, func(t *testing.T) { assert.ElementsMatch(t, tt.wants, outOfDate(tt.all, now)) })
	}
}

// A box whose clock jumps, ahead or back, and stays there for days, lets nothing go but
// what it would have let go with its clock right. One that jumps by less than longestGap
// thins out sooner, as if it had been off meanwhile.
func TestAClockThatJumpsLetsNoBackupGo(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		now := time.Date(2026, time.November, 28, 14, 0, 0, 0, time.UTC)
		before := hourly(now, rapid.IntRange(1, 120*24).Draw(t, "hours before"))
		jump := time.Duration(rapid.IntRange(63, 50*366).Draw(t, "days")) * aDay
		if rapid.Bool().Draw(t, "back") { // before all there is
			jump = -jump - 121*aDay
		}
		on := func(kept []backupFile, from time.Time, hours int) []backupFile {
			for h := 1; h <= hours; h++ {
				at := from.Add(time.Duration(h) * time.Hour)
				kept = append(kept, backupFile{name: nameBackup(at, 0), at: at})
				gone := outOfDate(kept, at)
				kept = slices.DeleteFunc(kept, func(f backupFile) bool { return slices.Contains(gone, f) })
			}
			return kept
		}
		hours := rapid.IntRange(1, 72).Draw(t, "hours after")
		keptToo := func(right, wrong []backupFile, when string) {
			for _, f := range right {
				if !f.at.After(now) && !slices.Contains(wrong, f) {
					t.Fatalf("%s went %s, which a clock that is right keeps", f.name, when)
				}
			}
		}
		right, wrong := on(slices.Clone(before), now, hours), on(slices.Clone(before), now.Add(jump), hours)
		keptToo(right, wrong, "while the clock stood wrong")
		later := now.Add(time.Duration(hours) * time.Hour)
		keptToo(on(right, later, 30), on(wrong, later, 30), "once it was set")
	})
}

func TestNamesOfBackups(t *testing.T) {
	at := time.Date(2026, time.November, 28, 14, 2, 3, 0, time.UTC)
	for name, want := range map[string]backupFile{
		"shop-2026-11-28T140203Z.db":           {at: at},
		"shop-2026-11-28T140203Z-schema-24.db": {at: at, schema: 24},
	} {
		got, ok := readBackupName(name)
		want.name = name
		assert.True(t, ok, name)
		assert.Equal(t, want, got)
		assert.Equal(t, name, nameBackup(want.at, want.schema))
	}
	for _, other := range []string{"shop.db", "shop-2026-13-28T140203Z.db", "shop-2026-11-28T140203Z.db-wal", "my shop-2026-11-28T140203Z.db", "shop-2026-11-28T140203Z-schema-99999999999999999999.db", ""} {
		_, ok := readBackupName(other)
		assert.False(t, ok, "%q is not ours to remove", other)
	}
}
