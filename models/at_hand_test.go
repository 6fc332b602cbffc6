package models_test

import (
	"context"
	"fmt"
	"path/filepath"
	"strings"
	"testing"

	"faceside/models"
	_ "faceside/models/testrig/sameseed"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// Of each piece the newest tick counts, whatever comes twice.
func TestTheNewestTickOfAPieceCounts(t *testing.T) {
	fresh := filepath.Join(t.TempDir(), "fresh")
	begun := newBench(t)
	begun.tap(models.TapStart, "joint", begun.ana)
	require.NoError(t, begun.store.Backup(context.Background(), fresh))
	rapid.Check(t, func(rt *rapid.T) {
		b := copiedBench(t, fresh)
		joint, revision := b.step("joint"), b.snap().Shop.Revision
		uses := b.snap().PartsOf(joint.ID)
		want := models.Ticked{}
		var sent []models.PartTick
		for n := range rapid.IntRange(1, 30).Draw(rt, "ticks") {
			if len(sent) > 0 && rapid.IntRange(0, 4).Draw(rt, "again") == 0 {
				again := rapid.SampledFrom(sent).Draw(rt, "sent")
				again.Done = !again.Done
				require.NoError(rt, b.store.TickPart(context.Background(), again), "the same id is the same tick")
				continue
			}
			use := rapid.SampledFrom(uses).Draw(rt, "part")
			tick := models.PartTick{ID: fmt.Sprintf("tick-%d", n), StepID: joint.ID, PartID: use.PartID, PersonID: begun.ana,
				Number: rapid.IntRange(0, use.Quantity+1).Draw(rt, "number"), Done: rapid.Bool().Draw(rt, "done")}
			err := b.store.TickPart(context.Background(), tick)
			if tick.Number < 1 || tick.Number > use.Quantity {
				require.Equal(rt, models.Invalid, models.CodeOf(err))
				continue
			}
			require.NoError(rt, err)
			sent = append(sent, tick)
			if want[tick.PartID] == nil {
				want[tick.PartID] = map[int]bool{}
			}
			want[tick.PartID][tick.Number] = tick.Done
		}
		got, err := b.store.Ticked(context.Background(), joint.ID)
		require.NoError(rt, err)
		if len(want) == 0 {
			require.Empty(rt, got)
		} else {
			require.Equal(rt, map[models.ID]models.Ticked{joint.ID: want}, got)
		}
		require.Equal(rt, revision, b.snap().Shop.Revision, "no plan hangs on it")
		require.NoError(rt, b.store.Close())
	})
}

func TestAStepWithNotesIsNotTakenOut(t *testing.T) {
	b := newBench(t)
	trim := b.step("trim")
	photo := &models.Photo{Hash: strings.Repeat("0a", 32), Width: 1, Height: 1, JPEG: []byte{0xff}}
	note := models.StepNote{ID: "note-1", StepID: trim.ID, PersonID: b.ana, Text: "wait for the client"}
	require.NoError(t, b.store.AddNote(context.Background(), note, photo))
	remove := func() error { return b.edit(models.RemoveStep{StepID: trim.ID}) }
	assert.ErrorContains(t, remove(), "has notes or photos: take those away first")

	require.NoError(t, b.store.RemoveNote(context.Background(), note.StepID, note.ID))
	_, err := b.store.PhotoOf(context.Background(), photo.Hash)
	assert.Equal(t, models.NotFound, models.CodeOf(err), "the photo is gone with the last note")
	assert.Equal(t, models.NotFound, models.CodeOf(b.store.RemoveNote(context.Background(), note.StepID, note.ID)), "and cannot go twice")
	assert.NoError(t, remove())
}

func TestSizesAreSaid(t *testing.T) {
	for n, want := range map[int64]string{17: "17 bytes", 640 << 10: "640 kB", 1 << 20: "1 MB", 3<<20 + 200<<10: "3.2 MB", 20 << 20: "20 MB", 80<<20 - 5: "80 MB"} {
		assert.Equal(t, want, models.Bytes(n))
	}
}

// A backup holds the photos: they stand in the one file.
func TestABackupHoldsThePhotos(t *testing.T) {
	b := newBench(t)
	photo := &models.Photo{Hash: strings.Repeat("0a", 32), Width: 1, Height: 1, JPEG: []byte{0xff, 0xd8}}
	require.NoError(t, b.store.AddNote(context.Background(), models.StepNote{ID: "note-1", StepID: b.step("joint").ID, PersonID: b.ana}, photo))
	copied := filepath.Join(t.TempDir(), "copy")
	require.NoError(t, b.store.Backup(context.Background(), copied))
	kept, err := copiedBench(t, copied).store.PhotoOf(context.Background(), photo.Hash)
	require.NoError(t, err)
	assert.Equal(t, photo.JPEG, kept.JPEG)
}
