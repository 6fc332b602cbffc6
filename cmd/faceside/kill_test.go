package main

import (
	"context"
	"flag"
	"math/rand/v2"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"faceside/models"
)

var (
	kills    = flag.Int("kills", 50, "how many `TIMES` TestKilledServer kills the server")
	killSeed = flag.Uint64("kill-seed", 1, "the `SEED` of when it is killed and of what is tapped")
)

const (
	killTablets = 20
	killMakers  = 10 // two tablets each
	killRound   = 25 // times that one shop outlives its server
)

// killRig is a shop whose server is killed among the taps of its tablets again and
// again. What the killed one left behind is what the next one opens.
type killRig struct {
	t       *testing.T
	program string
	dir     string
	shop    loadShop
	chance  *rand.Rand
	tablets []*killTablet
	client  *http.Client

	met map[string]int // how often something was, to be told
}

// Whenever the server is killed: what it had answered is in its records, once; what it
// had not may be, once; and where a step stands is what the journal says. What the
// tablets still have they send to the next one, and then all is there.
func TestKilledServer(t *testing.T) {
	fresh := t.TempDir()
	shop, err := makeLoadShop(context.Background(), fresh, killMakers)
	require.NoError(t, err)
	program, err := os.Executable()
	require.NoError(t, err)
	k := &killRig{t: t, program: program, shop: shop, chance: rand.New(rand.NewPCG(*killSeed, 0)), met: map[string]int{}, client: &http.Client{
		Timeout: 10 * time.Second, Transport: &http.Transport{MaxIdleConnsPerHost: killTablets},
	}}
	k.outlive(fresh, *kills)
	if *kills >= killRound {
		for more := 4; more > 0 && k.lacks() != ""; more-- { // as chance may have it, on a machine as it may be
			k.outlive(fresh, killRound)
		}
		require.Empty(t, k.lacks(), "a rig that never met the case shows nothing")
	}
	t.Log(k.met)
}

// outlive has the server killed so many times, on a new shop after each killRound.
func (k *killRig) outlive(fresh string, times int) {
	for left := times; left > 0; left -= killRound {
		k.begin(fresh)
		for range min(left, killRound) {
			k.untilKilled()
			k.met["written and not answered"] += k.check().foreign
		}
		k.calmly()
		require.Zero(k.t, k.check().foreign, "all taps are answered")
		k.count()
	}
}

// lacks is a case that was not met; "" where all were.
func (k *killRig) lacks() string {
	for _, what := range []string{"written", "withdrawn", "refused", "not answered", "written and not answered"} {
		if k.met[what] == 0 {
			return what
		}
	}
	return ""
}

// begin has a new shop and tablets without taps.
func (k *killRig) begin(fresh string) {
	k.dir = k.t.TempDir()
	k.copyShop(fresh, k.dir)
	k.tablets = nil
	for i := range killTablets {
		at := i % killMakers
		t := &killTablet{
			loadTablet: newLoadTablet("", k.shop.makers[at], 0, k.client, nil),
			chance:     rand.New(rand.NewPCG(k.chance.Uint64(), 0)),
			steps:      []models.ID{k.shop.steps[at], k.shop.steps[(at+i/killMakers)%killMakers]},
		}
		k.tablets = append(k.tablets, t)
	}
}

// copyShop copies what there is of a shop's records, its log too.
func (k *killRig) copyShop(from, to string) {
	for _, name := range []string{shopFile, shopFile + "-wal"} {
		content, err := os.ReadFile(filepath.Join(from, name))
		if os.IsNotExist(err) && name != shopFile {
			continue
		}
		require.NoError(k.t, err)
		require.NoError(k.t, os.WriteFile(filepath.Join(to, name), content, 0o600))
	}
}

// serve starts the server and has the tablets find it.
func (k *killRig) serve() *loadServer {
	server, err := startServer(context.Background(), k.dir, loadConfig{address: "127.0.0.1:0", program: k.program})
	require.NoError(k.t, err)
	k.t.Cleanup(func() { _ = server.kill() }) // it was seen to where that matters
	for _, t := range k.tablets {
		t.at = server.address
	}
	return server
}

// untilKilled has all tablets tap, and kills the server after a number of answers, half
// the time at once and else a moment later, all of it of chance.
func (k *killRig) untilKilled() {
	server := k.serve()
	ctx, stop := context.WithTimeout(context.Background(), 2*patience)
	defer stop()
	enough, moment := int64(k.chance.IntN(100)), max(0, time.Duration(k.chance.Int64N(int64(8*time.Millisecond)))-4*time.Millisecond)
	var answers atomic.Int64
	now := make(chan struct{})
	reached := sync.OnceFunc(func() {
		if moment == 0 {
			_ = server.command.Process.Kill() // what went wrong shows below
		}
		close(now)
	})
	if enough == 0 {
		reached()
	}
	var all sync.WaitGroup
	for _, t := range k.tablets {
		all.Go(func() {
			t.tapOn(ctx, func(*keptTap) {
				if answers.Add(1) >= enough {
					reached()
				}
			}, true)
		})
	}
	select {
	case <-now:
		pause(ctx, moment)
	case <-ctx.Done():
	}
	require.NoError(k.t, ctx.Err(), "%d of %d answers came", answers.Load(), enough)
	require.NoError(k.t, server.kill())
	stop()
	all.Wait()
	k.client.CloseIdleConnections()
	for _, t := range k.tablets {
		k.met["not answered"] += len(t.kept)
	}
}

// calmly has all that is kept sent, sends again some of what was answered long ago,
// and stops the server as one should.
func (k *killRig) calmly() {
	server := k.serve()
	ctx, stop := context.WithTimeout(context.Background(), 2*patience)
	defer stop()
	var all sync.WaitGroup
	for _, t := range k.tablets {
		all.Go(func() { t.tapOn(ctx, func(*keptTap) {}, false) })
	}
	all.Wait()
	require.NoError(k.t, ctx.Err(), "not all taps are answered")
	for _, t := range k.tablets {
		for range min(3, len(t.made)) {
			k.again(ctx, t, t.made[t.chance.IntN(len(t.made))])
		}
	}
	require.NoError(k.t, server.stop())
}

// again sends a tap once more, and it must be answered as it was.
func (k *killRig) again(ctx context.Context, t *killTablet, old *keptTap) {
	told, err := t.send(ctx, old, false)
	require.NoError(k.t, err)
	switch {
	case old.told.State == "written":
	case slices.ContainsFunc(t.made, func(u *keptTap) bool { return u.fields.Get("undoes_id") == old.id && u.told.State == "written" }):
		return // what was refused was withdrawn since
	default:
		told.State = old.told.State // as it comes late, somebody may be asked about it now
	}
	require.Equal(k.t, old.told, told, "the first answer, however often it is sent: %v", old.fields)
}

// check holds a copy of the records against what the tablets were told.
func (k *killRig) check() tally {
	copied := k.t.TempDir()
	k.copyShop(k.dir, copied)
	ctx := context.Background()
	store, err := models.OpenStore(ctx, shopPath(copied), time.Now)
	require.NoError(k.t, err)
	var written []string
	sent := map[string]*keptTap{}
	for _, t := range k.tablets {
		for _, tap := range t.made {
			sent[tap.id] = tap
			if tap.told.State == "written" && tap.told.Seq > 0 {
				written = append(written, tap.id)
			}
		}
	}
	is, journal, err := reckon(ctx, store, written)
	require.NoError(k.t, err)
	require.NoError(k.t, is.astray)
	require.Zero(k.t, is.lost, "taps that were acknowledged are not in the journal")
	require.Zero(k.t, is.doubled, "taps are in the journal twice")
	for _, row := range journal {
		k.checkRow(row, sent[row.ID])
	}
	k.checkOrder(journal)
	require.NoError(k.t, store.Close())
	require.NoError(k.t, os.RemoveAll(copied))
	return is
}

// checkRow holds one row against its tap.
func (k *killRig) checkRow(row models.Tap, tap *keptTap) {
	require.NotNil(k.t, tap, "nobody sent what row %d says", row.Seq)
	require.Contains(k.t, []string{"", "written"}, tap.told.State, "row %d is of a tap that was refused", row.Seq)
	if tap.told.State == "written" {
		require.Equal(k.t, tap.told.Seq, row.Seq, "a tap was told another row")
	}
	require.Equal(k.t, tap.fields.Get("kind"), string(row.Kind))
	require.Equal(k.t, tap.number, *row.TabletSeq)
	if step := tap.step(); step != 0 {
		require.Equal(k.t, step, *row.StepID)
	}
}

// checkOrder: the rows of a tablet come in the order in which it tapped.
func (k *killRig) checkOrder(journal []models.Tap) {
	last := map[string]int64{}
	for _, row := range journal {
		require.Greater(k.t, *row.TabletSeq, last[*row.Queue], "row %d", row.Seq)
		last[*row.Queue] = *row.TabletSeq
	}
}

// count notes what was met, and that nothing was refused for having come before.
func (k *killRig) count() {
	for _, t := range k.tablets {
		for _, tap := range t.made {
			require.NotContains(k.t, tap.told.Why, "was answered before", "%v", tap.fields)
			switch {
			case tap.told.State != "written":
				k.met["refused"]++
			case tap.told.Seq == 0:
				k.met["withdrawn"]++
			default:
				k.met["written"]++
			}
		}
	}
}
