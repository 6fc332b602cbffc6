package sequence

import (
	"cmp"
	"container/heap"
)

// lineRank hands out the states of a layer, the most promising first; of those with the
// same tasks done only a few come before all others. To begin takes O(states), each next
// one O(log states).
type lineRank struct {
	states []lineState
	list   []int32 // a heap
	last   int32   // taken out of it
	seen   map[taskSet]int
	others []int32
}

// few is how many states with the same tasks done come before all others.
const few = 2

func (r *lineRank) begin(states []lineState) {
	r.states, r.list, r.others = states, r.list[:0], r.others[:0]
	if r.seen == nil {
		r.seen = map[taskSet]int{}
	}
	clear(r.seen)
	for k := range states {
		if !states[k].gone {
			r.list = append(r.list, int32(k))
		}
	}
	heap.Init(r)
}

// next returns the number of a state, or that there is no more.
func (r *lineRank) next() (k int32, ok bool) {
	for len(r.list) > 0 {
		heap.Pop(r)
		if d := r.states[r.last].done; r.seen[d] < few {
			r.seen[d]++
			return r.last, true
		}
		r.others = append(r.others, r.last)
	}
	if len(r.others) == 0 {
		return 0, false
	}
	k, r.others = r.others[0], r.others[1:]
	return k, true
}

// left is the least bound of the states that were not handed out.
func (r *lineRank) left() int64 {
	least := int64(noCost)
	for _, list := range [][]int32{r.list, r.others} {
		for _, k := range list {
			least = min(least, r.states[k].bound)
		}
	}
	return least
}

func (r *lineRank) Len() int { return len(r.list) }

func (r *lineRank) Less(i, j int) bool {
	a, b := r.list[i], r.list[j]
	p, q := &r.states[a], &r.states[b]
	return cmp.Or(cmp.Compare(p.hope, q.hope), cmp.Compare(p.bound, q.bound), cmp.Compare(p.free, q.free), cmp.Compare(a, b)) < 0
}

func (r *lineRank) Swap(i, j int) { r.list[i], r.list[j] = r.list[j], r.list[i] }

// Push is never called: nothing comes to a layer once it is ranked.
func (r *lineRank) Push(any) {}

// Pop leaves the number in last, since to return it would take memory each time.
func (r *lineRank) Pop() any {
	r.last = r.list[len(r.list)-1]
	r.list = r.list[:len(r.list)-1]
	return nil
}
