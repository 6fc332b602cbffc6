package models_test

import (
	"context"
	"flag"
	"fmt"
	"log/slog"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"testing"
	"time"

	"faceside/models"
	"faceside/models/planner"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// machine is a store, and beside it what must be in it. Two tablets tap: what they have
// made and not heard of stays with them whatever becomes of the server.
type machine struct {
	*bench
	path    string // of the records
	is      *plainShop
	all     []models.Step // as they were taken in
	links   []models.Link
	people  []models.ID
	tablets []*line
	kept    map[*line][]models.TapRequest // not answered yet, in order
	heard   []models.TapRequest           // answered
	copies  []backupCopy
	met     map[string]int
}

// backupCopy is a backup and what is in it.
type backupCopy struct {
	path string
	is   *plainShop
}

// Taps, undos and troubles, sent once or again, in order or not, and in between the
// server is started anew, a plan made, a backup put back: the answers, the journal and
// every step are what plain rules say.
func TestTheStoreIsAsPlainRulesSay(t *testing.T) {
	drawnSoOften(t, 12)
	fresh := filepath.Join(t.TempDir(), "fresh")
	require.NoError(t, newBench(t).store.Backup(context.Background(), fresh))
	met := map[string]int{}
	rapid.Check(t, func(rt *rapid.T) {
		m := newMachine(t, fresh, met)
		defer func() { // of many sequences not all records are kept to the end
			require.NoError(rt, m.store.Close())
			require.NoError(rt, os.RemoveAll(filepath.Dir(m.path)))
		}()
		rt.Repeat(map[string]func(*rapid.T){
			"":        m.check,
			"tap":     m.tapSomething,
			"tap on":  m.tapSomething, // more often than the others
			"trouble": m.sayTrouble,
			"undo":    m.takeBack,
			"lose":    m.loseAnswer,
			"early":   m.sendEarly,
			"again":   m.sendAgain,
			"restart": m.restart,
			"plan":    m.plan,
			"back up": m.backUp,
			"restore": m.restore,
			"wait": func(rt *rapid.T) {
				m.clock.Step(time.Duration(rapid.IntRange(1, 900).Draw(rt, "minutes")) * time.Minute)
			},
		})
	})
	t.Log(met)
	for _, what := range []string{"taken", "refused", "repeated", "refused again", "withdrawn", "sent from", "undo taken", "trouble taken", "lost to a restored copy", "restart", "plan"} {
		assert.NotZero(t, met[what], "a property that never met the case shows nothing: %s", what)
	}
}

// drawnSoOften is how often a property is drawn where the command line does not say.
func drawnSoOften(t *testing.T, checks int) {
	const name = "rapid.checks"
	said := false
	flag.Visit(func(f *flag.Flag) { said = said || f.Name == name })
	if said {
		return
	}
	was := flag.Lookup(name).Value.String()
	require.NoError(t, flag.Set(name, strconv.Itoa(checks)))
	t.Cleanup(func() { require.NoError(t, flag.Set(name, was)) })
}

func newMachine(t *testing.T, fresh string, met map[string]int) *machine {
	b, path := openedCopy(t, fresh)
	snap := b.snap()
	m := &machine{bench: b, path: path, all: snap.Steps, links: snap.Links, kept: map[*line][]models.TapRequest{}, met: met,
		is: &plainShop{steps: map[models.ID]plainStep{}, last: map[string]int64{}, returned: map[string]plainReturned{}}}
	for _, p := range snap.People {
		m.people = append(m.people, p.ID)
		m.tablets = append(m.tablets, b.line("tablet of "+p.Name))
	}
	for _, st := range snap.Steps {
		m.is.steps[st.ID] = plainStep{state: models.Todo, attended: st.Attended, hands: st.Hands}
	}
	return m
}

// taken is a step as it was taken in.
func (m *machine) taken(id models.ID) *models.Step {
	return &m.all[slices.IndexFunc(m.all, func(s models.Step) bool { return s.ID == id })]
}

func (m *machine) follows(before, after models.ID) bool {
	return slices.ContainsFunc(m.links, func(l models.Link) bool { return l.BeforeID == before && l.AfterID == after })
}

// say has a tablet keep a tap, and mostly send all that it keeps.
func (m *machine) say(rt *rapid.T, r models.TapRequest) {
	l := rapid.SampledFrom(m.tablets).Draw(rt, "tablet")
	l.number++
	m.taps++
	r.ID, r.PersonID = fmt.Sprintf("tap-%d", m.taps), rapid.SampledFrom(m.people).Draw(rt, "person")
	r.Tablet, r.Queued = l.queue, &models.Queued{Queue: l.queue, Number: l.number}
	m.kept[l] = append(m.kept[l], r)
	if rapid.IntRange(0, 4).Draw(rt, "connected") > 0 {
		m.drain(rt, l)
	}
}

// drain sends what a tablet keeps, as its script does.
func (m *machine) drain(rt *rapid.T, l *line) {
	for from := int64(0); len(m.kept[l]) > 0; {
		r := m.kept[l][0]
		first := from > 0 && r.Queued.Number > from
		if out := m.send(rt, r, first); out.sendFrom > 0 {
			require.False(rt, first, "the server was told that nothing is left")
			from = out.sendFrom
			continue
		}
		from = 0
		m.kept[l] = m.kept[l][1:]
		m.heard = append(m.heard, r)
	}
}

// send sends one tap, and holds the answer against what it must be.
func (m *machine) send(rt *rapid.T, r models.TapRequest, first bool) outcome {
	q := *r.Queued
	q.First = first
	r.Queued = &q
	want := m.is.take(m, r)
	got, err := m.bench.send(r)
	assertCode(rt, err)
	require.Equal(rt, want.sendFrom, got.SendFrom, "%+v: %v", r, err)
	require.Equal(rt, want.refused || want.sendFrom > 0, err != nil, "%+v: %v", r, err)
	require.Equal(rt, want.repeated, got.Repeated)
	if want.seq > 0 {
		require.Equal(rt, want.seq, got.Tap.Seq)
	}
	if want.withdrawn != "" {
		require.Equal(rt, want.withdrawn, got.Returned.ID)
		require.Zero(rt, got.Tap.Seq)
	}
	if want.why != "" {
		require.EqualError(rt, err, want.why, "the first answer")
	} else if want.refused {
		m.is.learn(r.ID, err.Error())
	}
	count := func(what string, yes bool) {
		if yes {
			m.met[what]++
		}
	}
	fresh := want.seq > 0 && !want.repeated
	count("taken", fresh)
	count("undo taken", fresh && r.Kind == models.TapUndo)
	count("trouble taken", fresh && r.Kind == models.TapTrouble)
	count("repeated", want.repeated)
	count("refused", want.refused && want.why == "")
	count("refused again", want.why != "")
	count("withdrawn", want.withdrawn != "")
	count("sent from", want.sendFrom > 0)
	return want
}

// tapSomething mostly taps what makes sense where the steps stand.
func (m *machine) tapSomething(rt *rapid.T) {
	kinds := map[models.StepState]models.TapKind{models.Todo: models.TapStart, models.PutDown: models.TapStart,
		models.AtRest: models.TapOut, models.InTrouble: models.TapSettled}
	var sensible []models.TapRequest
	for _, st := range m.all {
		is := m.is.steps[st.ID]
		switch kind, ok := kinds[is.state]; {
		case is.state == models.InHand:
			sensible = append(sensible, models.TapRequest{Kind: models.TapFinish, StepID: st.ID}, models.TapRequest{Kind: models.TapPutDown, StepID: st.ID})
		case ok && (kind != models.TapStart || m.is.ready(m, st.ID)):
			sensible = append(sensible, models.TapRequest{Kind: kind, StepID: st.ID})
		}
	}
	if len(sensible) == 0 || rapid.IntRange(0, 4).Draw(rt, "senseless") == 0 {
		m.say(rt, models.TapRequest{StepID: rapid.SampledFrom(m.all).Draw(rt, "step").ID,
			Kind: rapid.SampledFrom([]models.TapKind{models.TapStart, models.TapPutDown, models.TapFinish, models.TapOut, models.TapSettled}).Draw(rt, "kind")})
		return
	}
	m.say(rt, rapid.SampledFrom(sensible).Draw(rt, "sensible"))
}

func (m *machine) sayTrouble(rt *rapid.T) {
	r := models.TapRequest{Kind: models.TapTrouble, StepID: rapid.SampledFrom(m.all).Draw(rt, "step").ID, Note: "knot"}
	switch kind := rapid.SampledFrom([]models.TroubleKind{"", models.TroubleMissing, models.TroubleEstimate, models.TroubleHand}).Draw(rt, "trouble"); kind {
	case models.TroubleMissing:
		r.Trouble = &models.Trouble{Kind: kind, ExpectedOn: rapid.SampledFrom([]string{"", "2026-04-24", "2099-12-24"}).Draw(rt, "expected")}
	case models.TroubleEstimate:
		r.Trouble = &models.Trouble{Kind: kind, Left: rapid.IntRange(1, 200).Draw(rt, "left")}
	case models.TroubleHand:
		r.Trouble = &models.Trouble{Kind: kind}
	}
	m.say(rt, r)
}

// takeBack takes a tap back, by its row or by its id as a tablet does that was not
// answered yet or was refused.
func (m *machine) takeBack(rt *rapid.T) {
	refused := slices.Sorted(maps.Keys(m.is.returned))
	which := rapid.IntRange(0, 4).Draw(rt, "which")
	switch {
	case which == 0:
		m.say(rt, models.TapRequest{Kind: models.TapUndo, Undoes: int64(rapid.IntRange(1, len(m.is.rows)+1).Draw(rt, "row"))})
	case which == 1 && len(refused) > 0:
		m.say(rt, models.TapRequest{Kind: models.TapUndo, UndoesID: rapid.SampledFrom(refused).Draw(rt, "refused")})
	case which == 2:
		m.say(rt, models.TapRequest{Kind: models.TapUndo, UndoesID: fmt.Sprintf("tap-%d", rapid.IntRange(max(1, m.taps-3), m.taps+1).Draw(rt, "tap"))})
	default:
		m.say(rt, models.TapRequest{Kind: models.TapUndo, Undoes: max(1, int64(len(m.is.rows)))})
	}
}

// waiting draws a tablet that keeps so many taps at least.
func (m *machine) waiting(rt *rapid.T, taps int) *line {
	var all []*line
	for _, l := range m.tablets {
		if len(m.kept[l]) >= taps {
			all = append(all, l)
		}
	}
	if len(all) == 0 {
		rt.Skip("nothing waits")
	}
	return rapid.SampledFrom(all).Draw(rt, "tablet")
}

// loseAnswer sends a tap whose answer does not come: it stays on its tablet.
func (m *machine) loseAnswer(rt *rapid.T) {
	l := m.waiting(rt, 1)
	if m.send(rt, m.kept[l][0], false).sendFrom == 0 {
		m.kept[l][0] = late(m.kept[l][0], 0)
	}
}

// sendEarly sends a tap before those that the same tablet made before it.
func (m *machine) sendEarly(rt *rapid.T) {
	l := m.waiting(rt, 2)
	m.send(rt, m.kept[l][rapid.IntRange(1, len(m.kept[l])-1).Draw(rt, "which")], false)
}

// sendAgain sends a tap once more that was answered, as a network may.
func (m *machine) sendAgain(rt *rapid.T) {
	if len(m.heard) == 0 {
		rt.Skip("nothing was sent")
	}
	r := rapid.SampledFrom(m.heard).Draw(rt, "which")
	if rapid.Bool().Draw(rt, "late") {
		r = late(r, 0)
	}
	m.send(rt, r, false)
}

func (m *machine) restart(rt *rapid.T) {
	m.met["restart"]++
	require.NoError(rt, m.store.Close())
	m.open(rt)
}

func (m *machine) open(rt *rapid.T) {
	var err error
	m.store, err = models.OpenStore(context.Background(), m.path, m.clock.Now)
	require.NoError(rt, err)
	assertReplays(rt, m.store, m.snap())
}

// plan has the shop planned anew, which moves no step.
func (m *machine) plan(rt *rapid.T) {
	m.met["plan"]++
	plan, err := planner.New(m.store, slog.New(slog.DiscardHandler), planner.Options{Work: 20, Seed: 1}).Plan(context.Background())
	require.NoError(rt, err)
	require.Equal(rt, m.snap().Shop.Revision, plan.Revision)
}

func (m *machine) backUp(rt *rapid.T) {
	c := backupCopy{path: fmt.Sprintf("%s-%d", m.path, len(m.copies)), is: m.is.copied()}
	require.NoError(rt, m.store.Backup(context.Background(), c.path))
	m.copies = append(m.copies, c)
}

// restore puts a backup back. What was tapped since is lost to the server; the tablets
// count on.
func (m *machine) restore(rt *rapid.T) {
	if len(m.copies) == 0 {
		rt.Skip("there is no backup")
	}
	c := rapid.SampledFrom(m.copies).Draw(rt, "copy")
	if len(c.is.rows) < len(m.is.rows) {
		m.met["lost to a restored copy"]++
	}
	require.NoError(rt, m.store.Close())
	records, err := os.ReadFile(c.path)
	require.NoError(rt, err)
	require.NoError(rt, os.WriteFile(m.path, records, 0o600))
	m.is = c.is.copied()
	m.open(rt)
}

// check holds the journal, the steps and what was returned against what they must be.
func (m *machine) check(rt *rapid.T) {
	var journal []plainRow
	rows := m.journal()
	require.Len(rt, rows, len(m.is.rows))
	for i, row := range rows {
		require.Equal(rt, int64(i+1), row.Seq)
		is := plainRow{id: row.ID, queue: *row.Queue, number: *row.TabletSeq, kind: row.Kind, step: *row.StepID, person: row.PersonID, at: row.At}
		if row.Undoes != nil {
			is.undoes = *row.Undoes
		}
		is.was = m.is.rows[i].was // what an undo leads to shows it
		journal = append(journal, is)
	}
	require.Equal(rt, m.is.rows, journal)
	snap := m.snap()
	for i := range snap.Steps {
		require.Equal(rt, m.is.steps[snap.Steps[i].ID], plainOf(&snap.Steps[i]), snap.Steps[i].Key)
	}
	var open []string
	for id, back := range m.is.returned {
		if back.open {
			open = append(open, id)
		}
	}
	var asked []string
	for _, back := range snap.Returned {
		asked = append(asked, back.ID)
	}
	require.ElementsMatch(rt, open, asked, "what somebody is asked about")
}

// plainOf is where a step of the records stands.
func plainOf(s *models.Step) plainStep {
	when := func(t *time.Time) time.Time {
		if t == nil {
			return time.Time{}
		}
		return *t
	}
	is := plainStep{state: s.State, started: when(s.StartedAt), taken: when(s.TakenAt), finished: when(s.FinishedAt), restEnd: when(s.RestEndsAt), done: when(s.DoneAt),
		worked: s.Worked, trouble: s.Trouble, missing: s.TroubleKind == models.TroubleMissing, expected: s.ExpectedOn, attended: s.Attended, first: s.FirstAttended, hands: s.Hands}
	if s.PersonID != nil {
		is.person = *s.PersonID
	}
	return is
}
