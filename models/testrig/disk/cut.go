package disk

import (
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// sector is what a disk writes whole or not at all.
const sector = 512

// Cuts walks a record from its beginning, so that the power can be cut at one point
// after the other.
type Cuts struct {
	d       *Disk
	done    int
	files   map[*file]*kept
	names   map[string]*file // as the folder has them for sure
	renamed []event          // what was made and removed since the folder was synced
}

// kept is a file as far as it is on the disk for sure, and what else there may be.
type kept struct {
	content []byte
	pending []event
}

// Cuts begins at the beginning.
func (d *Disk) Cuts() *Cuts {
	c := &Cuts{d: d, files: map[*file]*kept{}, names: map[string]*file{}}
	for _, f := range d.first {
		c.files[f] = &kept{content: slices.Clone(f.content)}
		c.names[f.name] = f
	}
	return c
}

// To goes on until so many things have happened.
func (c *Cuts) To(events int) error {
	c.d.mu.Lock()
	defer c.d.mu.Unlock()
	if events < c.done || events > len(c.d.events) {
		return fmt.Errorf("cut at %d: the record is at %d of %d", events, c.done, len(c.d.events))
	}
	for _, e := range c.d.events[c.done:events] {
		c.happen(e)
	}
	c.done = events
	return nil
}

func (c *Cuts) happen(e event) {
	switch e.kind {
	case made:
		c.files[e.file] = &kept{}
		c.renamed = append(c.renamed, e)
	case removed:
		c.renamed = append(c.renamed, e)
	case wrote, cutTo, syncFailed:
		k := c.files[e.file]
		k.pending = append(k.pending, e)
	case synced:
		c.files[e.file].sync()
	}
	if e.folder {
		c.syncFolder(filepath.Dir(e.file.name))
	}
}

// sync brings to the disk what is pending. What stood before a sync that failed may
// be there or not for good.
func (k *kept) sync() {
	unsure := 0
	for i, e := range k.pending {
		if e.kind == syncFailed {
			unsure = i + 1
		}
	}
	if unsure == 0 {
		for _, e := range k.pending {
			k.content = e.onto(k.content)
		}
		k.pending = nil
		return
	}
	for i := unsure; i < len(k.pending); i++ {
		k.pending[i].sure = true
	}
}

func (c *Cuts) syncFolder(folder string) {
	c.renamed = slices.DeleteFunc(c.renamed, func(e event) bool {
		if filepath.Dir(e.file.name) != folder {
			return false
		}
		rename(c.names, e)
		return true
	})
}

func rename(names map[string]*file, e event) {
	if e.kind == made {
		names[e.file.name] = e.file
	} else {
		delete(names, e.file.name)
	}
}

// onto does a write, or a cut to a size, to a content.
func (e event) onto(content []byte) []byte {
	switch e.kind {
	case wrote:
		return put(content, e.at, e.data)
	case cutTo:
		return sized(content, e.at)
	}
	return content
}

func put(content []byte, at int64, data []byte) []byte {
	if end := at + int64(len(data)); end > int64(len(content)) {
		content = sized(content, end)
	}
	copy(content[at:], data)
	return content
}

func sized(content []byte, size int64) []byte {
	if size <= int64(len(content)) {
		return content[:size]
	}
	return append(content, make([]byte, size-int64(len(content)))...)
}

// Whole is the folder as it is while the power is on.
func (c *Cuts) Whole() map[string][]byte {
	return c.left(func(of []event) int { return len(of) }, func(k *kept) []byte {
		content := slices.Clone(k.content)
		for _, e := range k.pending {
			content = e.onto(content)
		}
		return content
	})
}

// Off is what the folder may hold after the power was cut now.
func (c *Cuts) Off(draw *rand.Rand) map[string][]byte {
	return c.left(func(of []event) int { return draw.IntN(len(of) + 1) }, func(k *kept) []byte { return k.torn(draw) })
}

// left is the folder, with the first so many of what was made and removed under each
// name, and with the contents that are asked for.
func (c *Cuts) left(first func(of []event) int, content func(*kept) []byte) map[string][]byte {
	names := maps.Clone(c.names)
	changes := map[string][]event{}
	for _, e := range c.renamed {
		changes[e.file.name] = append(changes[e.file.name], e)
	}
	for _, name := range slices.Sorted(maps.Keys(changes)) {
		of := changes[name]
		for _, e := range of[:first(of)] {
			rename(names, e)
		}
	}
	left := map[string][]byte{}
	for _, name := range slices.Sorted(maps.Keys(names)) {
		left[name] = content(c.files[names[name]])
	}
	return left
}

// torn is what may be left of a file: of each thing that was not synced all, nothing,
// or a part. In one cut most of it is of one sort, since many small parts alone would
// hardly ever leave a whole transaction.
func (k *kept) torn(draw *rand.Rand) []byte {
	content := slices.Clone(k.content)
	whole, part := draw.Float64(), draw.Float64()
	if draw.IntN(3) == 0 {
		whole = float64(draw.IntN(2)) // all or nothing
	}
	for _, e := range k.pending {
		switch {
		case e.sure || draw.Float64() < whole:
			content = e.onto(content)
		case e.kind == wrote && draw.Float64() < part:
			content = e.tornOnto(content, draw)
		}
	}
	return content
}

// tornOnto does some sectors of a write. Where the file became longer and nothing was
// written, there are zeros or what the disk held before.
func (e event) tornOnto(content []byte, draw *rand.Rand) []byte {
	was := int64(len(content))
	if end := e.at + int64(len(e.data)); end > was && draw.IntN(2) == 0 {
		content = sized(content, end)
		if draw.IntN(2) == 0 {
			for i := was; i < end; i++ {
				content[i] = byte(draw.Uint32())
			}
		}
	}
	for at := e.at; at < e.at+int64(len(e.data)); {
		to := min((at/sector+1)*sector, e.at+int64(len(e.data)))
		if draw.IntN(2) == 0 {
			content = put(content, at, e.data[at-e.at:to-e.at])
		}
		at = to
	}
	return content
}

// PowerCut is one power cut, with what it left of the folder.
type PowerCut struct {
	At     int               // so many things had happened
	Seed   uint64            // with which what is left was drawn, beside At
	Left   map[string][]byte // by name
	Folder string            // where it was put, until the next cut
}

// CutPower cuts the power so many times, at points that are drawn among what happened
// after the first so many things, and has a look at what is left each time.
func (d *Disk) CutPower(t testing.TB, after, times int, look func(PowerCut)) {
	t.Helper()
	draw := rand.New(rand.NewPCG(uint64(times), 1))
	points := make([]int, times)
	for i := range points {
		points[i] = after + draw.IntN(d.Len()-after+1)
	}
	slices.Sort(points)
	over := t.TempDir()
	Unsynced(t, over)
	cuts := d.Cuts()
	for i, at := range points {
		require.NoError(t, cuts.To(at))
		c := PowerCut{At: at, Seed: uint64(i), Folder: filepath.Join(over, "left")}
		c.Left = cuts.Off(rand.New(rand.NewPCG(uint64(at), c.Seed)))
		require.NoError(t, os.RemoveAll(c.Folder))
		require.NoError(t, os.Mkdir(c.Folder, 0o700))
		require.NoError(t, Put(c.Left, c.Folder))
		look(c)
	}
}

// Put writes what is left of a folder into another one, but for the shared memory of
// logs, which no disk keeps.
func Put(left map[string][]byte, folder string) error {
	for name, content := range left {
		if strings.HasSuffix(name, "-shm") {
			continue
		}
		path := filepath.Join(folder, name)
		if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
			return err
		}
		if err := os.WriteFile(path, content, 0o600); err != nil {
			return err
		}
	}
	return nil
}
