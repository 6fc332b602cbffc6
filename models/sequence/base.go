package sequence

import "slices"

// base is a list that was decoded to the end, and what came of it. A list that is much
// like it is decoded from where it parts from it to where it meets it again: what comes
// before lies where it did, and where all between the two does, so does what comes behind.
// Pictures taken on the way spare taking tasks back one by one.
type base struct {
	known    bool
	last     bool   // as it was decoded
	stick    []bool // likewise
	order    []int
	sure     int // likewise
	stack    []placing
	steps    []outlookStep
	whole    picture
	pictures []picture // after each so many tasks
	every    int
	timeless bool // some tasks with setups take no time: starts do not tell their order
	part     int  // where the list decoded last parts from it
	meet     int  // where it meets it again; above the number of tasks: nowhere
}

// picture is a schedule and its outlook without the way that led there.
type picture struct {
	taken   bool
	laid    laid
	outlook outlookState
}

// A picture is taken after so many tasks, or after more where that would be too many
// pictures: with 1,500 tasks each takes some 100 KB.
const (
	pictureEvery = 8
	mostPictures = 32
)

func newBase(m *model) base {
	n := len(m.tasks)
	every := max(pictureEvery, (n+mostPictures-1)/mostPictures)
	timeless := slices.ContainsFunc(m.tasks, func(w work) bool { return w.station >= 0 && w.att == 0 })
	return base{every: every, pictures: make([]picture, max(0, n-1)/every), timeless: timeless}
}

// fewBack is how many tasks are sooner taken back than the schedule before them is copied.
const fewBack = 8

// goBack leaves of the schedule what d.next has in common with it, or with the base.
func (d *decoder) goBack() {
	b := &d.base
	like := b.known && b.last == d.last && slices.Equal(b.stick, d.stick)
	if b.part, b.meet = 0, len(d.next)+1; like {
		b.part, b.meet = b.apart(d.next)
	}
	same := d.same()
	switch {
	case like && (d.dirty || same < b.part || len(d.stack)-same > fewBack):
		d.backTo(b.part)
	case d.dirty:
		d.reset()
	default:
		for len(d.stack) > same {
			d.pop()
		}
	}
	if len(d.stack) > b.meet {
		b.meet = len(d.next) + 1
	}
	if d.sure < len(d.floor) {
		clear(d.floor)
	}
	d.dirty = false
}

// same is how many of the tasks that are placed come first in d.next, too.
func (d *decoder) same() int {
	if d.dirty {
		return 0
	}
	most := min(len(d.stack), d.sure)
	for k, t := range d.next[:most] {
		if d.stack[k].task != t {
			return k
		}
	}
	return most
}

// apart returns where a list parts from the base and where it meets it again.
func (b *base) apart(list []int) (part, meet int) {
	n := len(list)
	for part < b.sure && list[part] == b.order[part] {
		part++
	}
	if b.sure < n {
		return part, n + 1
	}
	meet = n
	for meet > part && list[meet-1] == b.order[meet-1] {
		meet--
	}
	return part, meet
}

// backTo makes the schedule of the base's first tasks anew.
func (d *decoder) backTo(to int) {
	b := &d.base
	if to == len(b.order) {
		d.goOn(0)
		return
	}
	i := to / b.every
	for i > 0 && !b.pictures[i-1].taken {
		i--
	}
	if i == 0 {
		d.reset()
	} else {
		d.show(&b.pictures[i-1])
	}
	k := i * b.every
	d.stack = append(d.stack[:0], b.stack[:k]...)
	d.outlook.undo = append(d.outlook.undo[:0], b.steps[:k]...)
	for k < to {
		t := b.order[k]
		d.put(t, b.whole.laid.start[t])
		if k++; k%b.every == 0 {
			d.take(&b.pictures[k/b.every-1])
		}
	}
}

// meets tells whether all placed since the list parted from the base lies as it does
// there; then all behind it does, too, and is placed.
func (d *decoder) meets() bool {
	b := &d.base
	differs := func(t int) bool { return d.start[t] != b.whole.laid.start[t] }
	if d.sure < len(d.order) || b.timeless || slices.ContainsFunc(d.order[b.part:b.meet], differs) {
		b.meet = len(d.order) + 1
		return false
	}
	d.goOn(b.meet)
	return true
}

// goOn makes the schedule that of the base from so many tasks on.
func (d *decoder) goOn(from int) {
	b := &d.base
	d.show(&b.whole)
	d.stack = append(d.stack[:from], b.stack[from:]...)
	d.outlook.undo = append(d.outlook.undo[:from], b.steps[from:]...)
}

// keep makes the list decoded last, of which all tasks are placed, the base.
func (d *decoder) keep() {
	b := &d.base
	if b.known = !d.dirty; !b.known {
		return
	}
	b.last = d.last
	b.stick = append(b.stick[:0], d.stick...)
	b.order = append(b.order[:0], d.order...)
	b.stack = append(b.stack[:0], d.stack...)
	b.steps = append(b.steps[:0], d.outlook.undo...)
	b.sure = d.sure
	d.take(&b.whole)
	for i := range b.pictures {
		if at := (i + 1) * b.every; at > min(b.part, d.sure) && at < b.meet {
			b.pictures[i].taken = false
		}
	}
	b.part, b.meet = len(d.order), len(d.order)
}

// take takes a picture, show has the schedule be as it was then.
func (d *decoder) take(p *picture) {
	p.taken = true
	p.laid.set(&d.laid)
	p.outlook.set(&d.outlook.outlookState)
}

func (d *decoder) show(p *picture) {
	d.laid.set(&p.laid)
	d.outlook.set(&p.outlook)
}
