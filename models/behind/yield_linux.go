package behind

import "syscall"

// niceness is what is added to the thread's own, from 0 to 19: at 15 it gets about a
// thirtieth of a processor that another thread wants too (sched(7), "The nice value").
const niceness = 15

// yield lowers the priority of the calling thread. Where that is refused, the work is
// done at the usual one.
func yield() {
	_ = syscall.Setpriority(syscall.PRIO_PROCESS, syscall.Gettid(), niceness)
}
