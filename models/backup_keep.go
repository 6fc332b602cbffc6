package models

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"time"
)

// backupFile is a backup in its folder, as its name tells.
type backupFile struct {
	name   string
	at     time.Time
	schema int64 // made before the schema went on from this; 0: made by the hour
}

// backupTime is how a backup's name says when it was made, in UTC: no character of it
// is refused by a file system.
const backupTime = "2006-01-02T150405Z"

var backupName = regexp.MustCompile(`^shop-(\d{4}-\d\d-\d\dT\d{6}Z)(?:-schema-(\d+))?\.db$`)

// nameBackup is the file's name for a backup made at a time.
func nameBackup(at time.Time, schema int64) string {
	if schema > 0 {
		return fmt.Sprintf("shop-%s-schema-%d.db", at.UTC().Format(backupTime), schema)
	}
	return fmt.Sprintf("shop-%s.db", at.UTC().Format(backupTime))
}

// readBackupName returns false for the name of anything else.
func readBackupName(name string) (backupFile, bool) {
	m := backupName.FindStringSubmatch(name)
	if m == nil {
		return backupFile{}, false
	}
	at, err := time.Parse(backupTime, m[1])
	if err != nil {
		return backupFile{}, false
	}
	f := backupFile{name: name, at: at}
	if m[2] != "" {
		if f.schema, err = strconv.ParseInt(m[2], 10, 64); err != nil {
			return backupFile{}, false
		}
	}
	return f, true
}

// keepRule says how many backups up to an age are kept: the newest of each period.
type keepRule struct {
	age    time.Duration
	period func(time.Time) string
}

const aDay = 24 * time.Hour

// keepRules: all of a day, one a day for a fortnight, one a week for a quarter of a
// year, one a month for two years.
var keepRules = []keepRule{
	{aDay, func(t time.Time) string { return t.Format(backupTime) }},
	{14 * aDay, func(t time.Time) string { return t.Format(time.DateOnly) }},
	{13 * 7 * aDay, func(t time.Time) string { year, week := t.ISOWeek(); return fmt.Sprintf("%d week %d", year, week) }},
	{2 * 366 * aDay, func(t time.Time) string { return t.Format("2006-01") }},
}

// longestGap is how far apart two backups, or the newest and now, may be for the time
// between to count: twice a month, as of the oldest one a month is kept. What is longer
// the server was not on, or its clock jumped: one that woke years ahead would else let
// every backup go that was made before. A shop that was shut for longer keeps its backups
// by so much longer.
const longestGap = 62 * aDay

// ages says how old each backup is, the newest first, gaps longer than longestGap left
// out. One of a time to come has no age: it is less than 0.
func ages(newestFirst []backupFile, now time.Time) []time.Duration {
	all := make([]time.Duration, len(newestFirst))
	var age time.Duration
	next := now
	for i, f := range newestFirst {
		gap := next.Sub(f.at)
		if gap < 0 {
			all[i] = gap
			continue
		}
		if gap <= longestGap {
			age += gap
		}
		all[i], next = age, f.at
	}
	return all
}

// outOfDate returns the backups that need not be kept any more. Those made before a
// schema went on are judged apart from those made by the hour. The newest of each sort
// always stays, and so does what a clock that stood wrong made later than now.
func outOfDate(all []backupFile, now time.Time) (gone []backupFile) {
	newest := slices.Clone(all)
	slices.SortFunc(newest, func(a, b backupFile) int { return b.at.Compare(a.at) })
	old := ages(newest, now)
	type period struct {
		before bool // made before a schema went on
		rule   *keepRule
		name   string
	}
	taken, newer := map[period]bool{}, map[bool]bool{}
	for i, f := range newest {
		before, age := f.schema > 0, old[i]
		if age < 0 {
			newer[before] = true
			continue
		}
		p := period{before: before, rule: ruleFor(age)}
		if p.rule != nil {
			p.name = p.rule.period(f.at)
		}
		if newer[before] && (p.rule == nil || taken[p]) {
			gone = append(gone, f)
		}
		taken[p], newer[before] = true, true
	}
	return gone
}

// ruleFor is the rule for backups of an age, nil where they have had their time.
func ruleFor(age time.Duration) *keepRule {
	for i := range keepRules {
		if age <= keepRules[i].age {
			return &keepRules[i]
		}
	}
	return nil
}
