// Package behind runs work that can wait behind what people wait for: a search for a
// better plan, the drawing of a screen that a tablet fetches by itself. It knows
// nothing of that work.
package behind

import (
	"fmt"
	"runtime"
	"runtime/debug"
)

// Panicked is what a caller panics with where the work did.
type Panicked struct {
	Value any
	Stack string // of the work
}

func (p *Panicked) String() string { return fmt.Sprintf("%v\n%s", p.Value, p.Stack) }

// Do runs work and returns when it is done. On Linux the thread that it runs on has a
// lower priority than the program's others (setpriority(2)), so that these get a
// processor first where there are too few; what the work starts on goroutines of its
// own has the usual one. Elsewhere it is run as it is. A panic of the work is the
// caller's, as a *Panicked.
func Do(work func()) {
	done := make(chan *Panicked, 1)
	go func() {
		// Never unlocked: a thread may lower its priority but not raise it again, and
		// one that is locked when its goroutine ends, ends with it.
		runtime.LockOSThread()
		defer func() {
			var p *Panicked
			if value := recover(); value != nil {
				p = &Panicked{value, string(debug.Stack())}
			}
			done <- p
		}()
		yield()
		work()
	}()
	if p := <-done; p != nil {
		panic(p)
	}
}
