// Package sequence owns the sequencing engine: the file contract of problems and
// plans, the search that answers a problem with a plan, and the checker (check.go)
// that the search is trusted by. It never touches the shop's records, a database, HTTP or
// a screen, and imports no other package of this program: a problem in, a plan
// out.
//
// # Words
//
// All times are whole minutes from an origin 0; the interval [a, b) includes a
// and excludes b. Three points matter in a task:
//
//	setup_start ──setup── S ──attended time── A ──unattended time── E
//
// S is its start, A the end of its attended time (someone's hands are on it
// until then), E = A + unattended its end: a glue-up is closed at A and out of
// the clamps at E. Attended time and setups run only in working time, which is
// what the calendars of all resources used in them have in common; unattended
// time (cure, drying) runs around the clock.
//
// # The contract, where it is easily misread
//
//   - Windows of a calendar may be given in any order. Where one begins at the end
//     of another they are one stretch of time. A calendar without windows is never
//     there.
//   - Nothing begins before 0, setups included.
//   - S is a working minute if there is attended time at all; only a task that is
//     interruptible and whose start is fixed may start outside (it is cut at once
//     and goes on in the next window). A is the end of its last working minute.
//   - A setup of m minutes takes the last m working minutes before S; its calendars
//     are those of the station and of the setup's hands. Where the task is not
//     interruptible those minutes are one piece, and between them and S there may
//     be a gap that is no working time of the setup.
//   - The station of a task's own setup is held from setup_start to A (to E if the
//     uses say so) without a gap, and one task comes after the other there. Listing
//     the station in the uses adds no second unit.
//   - While an interruptible task is cut, resources with a calendar are given back
//     and others are kept. The hands of a setup are held only while it runs.
//   - In unattended time a resource is held without a gap whatever its calendar.
//   - Uses of one resource by one task add up.
//   - The first setup of a resource whose initial state is null is free. A setup
//     from a state to itself takes the minutes of its pair, if there is one.
//   - The plan lists every setup that takes time; a change of state that takes none
//     may be left out.
//   - A job without tasks ends at 0 and is never late.
//   - A link from a task to itself, or with min above max, is valid. A link with a
//     max and no min has the min 0.
//   - The conflict of a plan that says infeasible is a set of tasks that has no plan
//     even without all others. Where the plan says "irreducible" each of them is
//     needed: the others of the set have a plan. Without that word it may be larger
//     than it need be, since making it smaller ended with the work there is for it.
//
// # How a plan is found
//
// Solve compiles the problem to numbers (compile.go) and lets searches of two
// kinds run in rounds; between rounds they tell each other the best plan and the
// best bound (solve.go).
//
// The first kind makes whole plans and improves them. It begins with a few lists of the
// tasks and with the dispatching rules (rules.go, dispatch.go), so that no plan is worse
// than what a rule makes; where there are many tasks the first plan is shown before the
// rules are tried. Of many jobs the order of whole jobs is searched next (joborder.go).
// Then the annealing (improve.go) changes the list, decodes it, and keeps the change or
// not; its moves know setups, jobs (late ones most of all) and previous starts. Job shops
// (jobshop.go), projects (project.go) and single machines (onemachine.go) have searches of
// their own, which need no decoder.
//
// Decoding is the hot path. A decoder (decode.go) takes the tasks in the order of a
// list, what a task waits for before it, and puts each into a schedule (schedule.go) at
// its first possible start:
//
//	window   how early and how late the links to what is placed let it start
//	seek     from there on: the next start that its hours allow; what of all it uses is
//	         in its way there until when (obstacle); go on from there, until nothing is
//	put      note what it uses, and its place in the order of its station
//
// What is used when is kept in steps, a profile for each resource (profile.go); to ask
// whether a stretch is free is a search in it, near the step found last before anywhere
// else, to use it cuts two steps, and most of the time of decoding goes there. The list
// that the annealing goes on from is the decoder's base (base.go): with pictures of the
// schedule on its way, a list changed in one stretch is placed from the beginning of that
// stretch on, and only to its end where all in it comes to lie as it did. And decoding ends
// as soon as the plan is sure to be too bad (outlook.go). Once all profiles have grown to
// their size nothing is allocated.
//
// The second kind is complete (exact.go). It knows of every start only a lower
// and an upper bound, draws conclusions from links and orders (arcs.go), from the
// orders of what one person does (handorder.go), from full resources (timetable.go),
// from the work that hands have to do between two times (workload.go), from the
// sequences on stations (stationorder.go) and, where setups have a weight, their fewest
// minutes (setupsum.go), from what must be done between two times (energy.go; at any
// depth where all go one after the other, else near the top), and from the objective
// (exactcost.go), whose terms it narrows by assumptions that contradict at once
// (shave.go). It decides something where no more follows, and learns a clause from every
// contradiction (learn.go). Where work goes by hours it decides orders, and starts only when
// no order is left open. When no decision is left that a clause does not rule out, the
// best plan is proved optimal, or the problem to have none; then conflict.go leaves out
// of the tasks what is not needed for there being none. Its hot paths are the watching of
// clauses and the arcs between tasks that cannot run side by side (rivals.go). Where a
// special search makes the plans and the proof is what is missing, and where there are few
// tasks and plans do not come better, a second one helps the first (second.go). Every
// other time the first begins anew it looks near the best plan only (near.go).
//
// Where all that is done goes through one pair of hands, a third search does something of
// both (handline.go). A plan is a line of tasks there, and lines are made longer task by
// task, many side by side. Of two with the same tasks done and the stations set the same
// way one may be better whatever follows, and the other is forgotten. For each of the rest
// a bound is known (handline_bound.go), from what the hands still have to do before the
// jobs' milestones, setups counted (handline_setups.go). The most promising go on: those
// whose bound is least if what is left takes somewhat more than its least time, by other
// reckonings in other rounds. What they leave out bounds the objective, and where they
// leave nothing out the best line is proved. Beside that one search of lines only proves
// (handline_climb.go): it assumes a plan that costs little more than what is proved, keeps
// all lines that could become it, and assumes more when there are none. The hot path is
// lineBound.ordered; what is there of the line one task shorter is summed up once for all
// that follow it. Where a few pairs of hands do all, and the annealing is stuck, lines of
// the tasks in the order in which they are begun make plans, too, but prove nothing
// (handline_several.go).
//
// Links that push tasks off each other for ever are found before any search (cycle.go),
// and so, mostly, are tasks that greatest lags tie to each other and that have no plan
// among themselves (tied.go). Every loop that may run for more than a few milliseconds asks
// whether to stop (model.halted), so that a cancelled Solve returns at once; the
// exact search also gives itself up where bounds creep up minute by minute.
//
// What the search knew after how much work is told through Options.OnStep;
// testdata/traces keeps some runs, and says how to read them. A plan's Stats say with
// how much work it is the same again (rounds.go).
//
// # Mending a plan
//
// When something happened in the shop (a step took longer, a station is down, a tap)
// the starts that people have seen are given as the previous ones, and the problem
// says what is true now. Before anything else the search then mends that plan
// (repair.go) in several ways, a schedule each: every task at its place in the order
// and its old start if it can be there; every task at its place in the order, as
// early as can be; both also with tasks going in between others on their station;
// all that can stay where it was left there, and the others put into the gaps. The
// best by the objective, moved tasks counted, is shown at once, within 10 ms for 300
// steps on a core of its own; the search goes on from there. Where the old order
// leaves every task a place (Retime) there is such a plan. Given starts are placed
// first, in their order.
//
// # Why a task is where it is
//
// Two functions look at a problem and a plan, whoever made it, and at nothing else.
// Explain (explain.go) takes one task out at a time, tries it a minute earlier, and
// lists what is in the way there: a link, a resource and who holds it, the station,
// its setup, closed hours, the air of a zone, a release or a given start. Each list
// is complete and without excess: take all of it away and the task alone may move
// there, leave one reason of it and it may not. Where closed hours hold it, a second
// list says what kept it out of the hours before. Floats (floats.go) keeps all
// orders and works back from the end of each job: the latest start of each task by
// which the job is still as it was promised, or as late as it was planned.
//
// # How an order may turn out
//
// A Player (play.go) plays a plan with other times in each play: as in the
// shop whoever has hands free begins the first task of it that can be begun, and
// nobody knows what is to come. It sweeps through time once, looks only at tasks that
// may begin, and while all hands are taken at none of those that need some. Its hot
// path is the decoder's: finding and cutting steps of the profiles. Pressing lets what
// presses go before what does not, and Delayed (play_delay.go) tells which tasks would
// have moved a job, had they taken longer in the play.
package sequence
