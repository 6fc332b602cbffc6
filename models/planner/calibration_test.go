package planner

import (
	"context"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"strings"
	"testing"

	"faceside/models"
	"faceside/models/sequence"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var (
	calibratedShops = flag.Int("shops", 40, "how many invented `SHOPS` TestPromisesHold looks at")
	calibratedTo    = flag.String("reliability", "", "the `FILE` that TestPromisesHold draws its reliability plot in")
)

// Of the dates given at 80 % four in five hold, and so for the other confidences:
// over invented shops whose true pace nobody knows. Each has a time book of its own,
// of no step or of some hundreds, and a few commissions; their dates are told from
// that book alone, then the same order is worked off as the shop really works. How
// much shops, kinds of steps, commissions and steps differ is itself another in each
// shop, and not what the planner supposes before it has a book.
func TestPromisesHold(t *testing.T) {
	levels := []int{5, 10, 20, 30, 40, 50, 60, 70, 80, 90, 95}
	held, given := make([]int, len(levels)), 0
	for n := range *calibratedShops {
		s := inventShop(t, uint64(n))
		how := playing{plays: 1000, cores: 2, seed: int64(n)}
		played, err := s.weeks.play(context.Background(), how)
		require.NoError(t, err)
		ends := played.ends
		player, err := s.player(how)
		require.NoError(t, err)
		for range 10 {
			real := s.work(t, player)
			for j, end := range real {
				given++
				for i, level := range levels {
					if end <= ends[j][(len(ends[j])*level+99)/100-1] {
						held[i]++
					}
				}
			}
		}
	}
	rates := make([]float64, len(levels))
	for i, level := range levels {
		rates[i] = 100 * float64(held[i]) / float64(given)
		t.Logf("of %d dates given at %d %% hold %.1f %%", given, level, rates[i])
	}
	within := 10.0 // of a few shops chance alone has its say
	if *calibratedShops >= 200 {
		within = 5
	}
	for i, level := range levels {
		assert.InDelta(t, float64(level), rates[i], within, "dates given at %d %%", level)
	}
	if *calibratedTo != "" {
		require.NoError(t, os.WriteFile(*calibratedTo, []byte(reliability(levels, rates)), 0o644))
	}
}

// inventedShop is a shop whose pace is known.
type inventedShop struct {
	*weeks
	rng    *rand.Rand
	shop   float64
	kinds  []normal
	around float64 // how far a commission is from the others
	stop   float64
	stops  float64 // minutes, on average
	spoil  float64
	again  float64
	slow   float64 // how much longer than planned glue and finish take at most
	away   float64 // share of days on which a person is away without notice
	spell  float64 // and for how many days, on average
}

// kindsOfWork are those of the invented shops.
var kindsOfWork = []string{"joint", "plane", "rip", "crosscut", "mortise", "tenon", "glue", "shape", "sand", "coat"}

// inventShop invents a shop: its true pace, what its time book says, and its open
// work in the order of a plan. The figures come from no source.
func inventShop(t *testing.T, seed uint64) *inventedShop {
	rng := rand.New(rand.NewPCG(seed, 80))
	between := func(lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }
	s := &inventedShop{rng: rng, shop: normal{0.1, 0.2}.draw(rng), around: between(0.02, 0.2),
		stop: between(0, 0.02), stops: between(240, 2880), spoil: between(0, 0.02), again: between(20, 120),
		away: between(0, 0.05), spell: between(1.5, 5)}
	apart, spread := between(0.05, 0.25), between(0.2, 0.5)
	for range kindsOfWork {
		s.kinds = append(s.kinds, normal{apart * rng.NormFloat64(), spread * between(0.7, 1.4)})
	}
	p := s.inventWork(1+rng.IntN(3), 1+rng.IntN(6))
	s.weeks = &weeks{problem: p, pace: learnPace(s.book([]int{0, 1, 3, 10, 30}[rng.IntN(5)])), kinds: kindsOfWork, materials: []string{"glue", "finish"}, longest: 255, around: 7 * 1440 / (5 * 495.)}
	s.slow = between(0, 2*(mostSlow-1))
	for range p.Resources[0].Capacity {
		s.crew = append(s.crew, presence{days: daysOfWeeks(p.Calendars["shop"]), hands: []int{0}})
	}
	for i, task := range p.Tasks {
		var kind, commission int
		_, err := fmt.Sscanf(task.ID, "%d/%d/", &commission, &kind)
		require.NoError(t, err)
		s.chances = append(s.chances, chance{task: i, kind: kind, commission: commission, estimated: float64(task.Attended), cut: task.Interruptible})
		if task.Unattended > 0 {
			s.cures = append(s.cures, cure{task: i, material: kind % 2, planned: task.Unattended, most: mostSlow})
		}
	}
	for j := range p.Jobs {
		s.commissions = append(s.commissions, models.ID(1000+j))
	}
	plan, err := sequence.Solve(context.Background(), p, sequence.Options{Work: 100, Seed: 1, WithoutExact: true})
	require.NoError(t, err)
	for _, task := range plan.Tasks {
		s.plan = append(s.plan, sequence.Start{ID: task.ID, Start: task.SetupStart})
	}
	return s
}

// book is the time book of so many finished commissions.
func (s *inventedShop) book(commissions int) *models.Outcomes {
	o := &models.Outcomes{}
	for c := range commissions {
		of := s.around * s.rng.NormFloat64()
		there := 2 + s.rng.IntN(10) // days, of all people
		o.There += there
		for range there {
			if s.rng.Float64() < s.away/s.spell {
				o.Away += 1 + int(s.rng.ExpFloat64()/-math.Log1p(-1/s.spell))
			}
		}
		for range 10 + s.rng.IntN(20) {
			kind, estimated := s.rng.IntN(len(kindsOfWork)), 5+s.rng.IntN(60)
			o.Steps = append(o.Steps, models.Outcome{CommissionID: models.ID(c), Kind: kindsOfWork[kind], Estimated: estimated,
				Actual: int(60 * s.takes(kind, of, float64(estimated)))})
			if s.rng.Float64() < s.stop {
				o.Stops = append(o.Stops, int(s.stops*s.rng.ExpFloat64()))
			}
			if s.rng.Float64() < s.spoil {
				o.Spoiled++
				o.Again += int(s.again * s.rng.ExpFloat64())
			}
		}
	}
	return o
}

// takes draws how long a step really takes.
func (s *inventedShop) takes(kind int, commission, estimated float64) float64 {
	return estimated * math.Exp(s.shop+commission+s.kinds[kind].draw(s.rng))
}

// work works the open commissions off once, and says when each is complete.
func (s *inventedShop) work(t *testing.T, player *sequence.Player) []int32 {
	turns, of := make([]sequence.Turn, len(s.problem.Tasks)), make([]float64, len(s.commissions))
	for i := range of {
		of[i] = s.around * s.rng.NormFloat64()
	}
	week := [2]float64{min(s.rng.Float64(), s.rng.Float64()), min(s.rng.Float64(), s.rng.Float64())}
	for i, c := range s.chances {
		minutes := s.takes(c.kind, of[c.commission], c.estimated)
		turn := sequence.Turn{Unattended: int(float64(s.problem.Tasks[i].Unattended) * (1 + s.slow*week[c.kind%2]))}
		if s.rng.Float64() < s.stop {
			turn.Wait = int(s.stops * s.rng.ExpFloat64())
		}
		if s.rng.Float64() < s.spoil {
			if c.cut {
				minutes += s.again * s.rng.ExpFloat64()
			} else {
				turn.Wait += int(s.again * s.rng.ExpFloat64() * s.weeks.around)
			}
		}
		turn.Attended = int(math.Round(minutes))
		if !c.cut {
			turn.Attended = min(turn.Attended, s.longest)
		}
		turns[i] = turn
	}
	player.Without(s.gone())
	require.True(t, player.Play(turns))
	var ends []int32
	for j := range s.problem.Jobs {
		end, _ := player.JobEnd(j)
		ends = append(ends, int32(end))
	}
	return ends
}

// gone draws who is really away when, day by day.
func (s *inventedShop) gone() []sequence.Gone {
	var all []sequence.Gone
	for _, c := range s.crew {
		away := false
		for _, day := range c.days {
			if away = s.rng.Float64() < s.away/(1-s.away)/s.spell || away && s.rng.Float64() < 1-1/s.spell; away {
				all = append(all, sequence.Gone{Resource: 0, Amount: 1, From: day[0], To: day[1]})
			}
		}
	}
	return all
}

// daysOfWeeks are the days from the second on, each with two openings.
func daysOfWeeks(open []sequence.Window) (days []sequence.Window) {
	for i := 2; i+1 < len(open); i += 2 {
		days = append(days, sequence.Window{open[i][0], open[i+1][1]})
	}
	return days
}

// inventWork invents commissions: parts that are milled and joined, glue-ups that
// cure in clamps, sanding, and coats that dry. A task is named by its commission and
// its kind.
func (s *inventedShop) inventWork(people, commissions int) *sequence.Problem {
	p := &sequence.Problem{Version: sequence.Version, Calendars: map[string][]sequence.Window{}, Zones: []string{"finish-room"},
		Objective: sequence.Weights{Tardiness: 1000, Setup: 10, Flow: 1}, Horizon: 400 * 1440}
	for day := range 400 {
		if at := day * 1440; day%7 < 5 {
			p.Calendars["shop"] = append(p.Calendars["shop"], sequence.Window{at + 480, at + 720}, sequence.Window{at + 765, at + 1020})
		}
	}
	p.Resources = []sequence.Resource{{ID: "hands", Capacity: people, Calendar: "shop"}, {ID: "clamps", Capacity: 12}}
	for _, machine := range kindsOfWork[:6] {
		p.Resources = append(p.Resources, sequence.Resource{ID: machine, Capacity: 1,
			Setups: &sequence.Setups{Default: 10, Hands: &sequence.Amount{Resource: "hands", Amount: 1}}})
	}
	for c := range commissions {
		due := (7 + 5*c) * 1440
		job := fmt.Sprintf("commission-%d", c)
		p.Jobs = append(p.Jobs, sequence.Job{ID: job, Due: &due, Weight: 1, Calendar: "shop"})
		add := func(kind int, t sequence.Task, behind ...string) string {
			t.ID, t.Job = fmt.Sprintf("%d/%d/%d", c, kind, len(p.Tasks)), job
			t.Uses = append(t.Uses, sequence.Use{Resource: "hands", Amount: 1, During: sequence.Attended})
			p.Tasks = append(p.Tasks, t)
			for _, b := range behind {
				p.Links = append(p.Links, sequence.Link{Before: b, After: t.ID})
			}
			return t.ID
		}
		var assemblies []string
		for range 1 + s.rng.IntN(3) {
			var parts []string
			for range 1 + s.rng.IntN(3) {
				var before []string
				for range 2 + s.rng.IntN(3) {
					kind := s.rng.IntN(6)
					before = []string{add(kind, sequence.Task{Attended: 8 + s.rng.IntN(45), Interruptible: true,
						Setup: &sequence.SetupNeed{Resource: kindsOfWork[kind], State: fmt.Sprint(s.rng.IntN(4))}}, before...)}
				}
				parts = append(parts, before...)
			}
			glued := add(6, sequence.Task{Attended: 15 + s.rng.IntN(30), Unattended: []int{60, 240, 1440}[s.rng.IntN(3)],
				Uses: []sequence.Use{{Resource: "clamps", Amount: 2 + s.rng.IntN(5), During: sequence.All}}}, parts...)
			assemblies = append(assemblies, add(7, sequence.Task{Attended: 10 + s.rng.IntN(60), Interruptible: true}, glued))
		}
		last := add(8, sequence.Task{Attended: 30 + s.rng.IntN(90), Interruptible: true, Zone: &sequence.ZoneUse{Name: "finish-room", Kind: sequence.Dusty}}, assemblies...)
		for range 1 + s.rng.IntN(3) {
			last = add(9, sequence.Task{Attended: 10 + s.rng.IntN(30), Unattended: 120 + s.rng.IntN(600), Zone: &sequence.ZoneUse{Name: "finish-room", Kind: sequence.Wet}}, last)
		}
	}
	return p
}

// reliability draws how often dates hold beside the confidence they were given at.
func reliability(levels []int, rates []float64) string {
	var b strings.Builder
	x := func(v float64) float64 { return 60 + 4*v }
	y := func(v float64) float64 { return 430 - 4*v }
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 490 490" font-family="sans-serif" font-size="14" fill="#222">
<title>Of the dates given at each confidence, how many hold</title><rect width="490" height="490" fill="#fff"/>
<path d="M%g %gL%g %gL%g %gL%g %gZ" fill="#e6e2d8"/>
`, x(0), y(5), x(95), y(100), x(100), y(95), x(5), y(0))
	for v := 0.0; v <= 100; v += 20 {
		fmt.Fprintf(&b, `<path d="M%[1]g %[3]gV%[4]gM%[5]g %[2]gH%[6]g" stroke="#bbb"/><text x="%[1]g" y="448" text-anchor="middle">%[7]g</text><text x="52" y="%[8]g" text-anchor="end">%[7]g</text>`+"\n",
			x(v), y(v), y(0), y(100), x(0), x(100), v, y(v)+5)
	}
	fmt.Fprintf(&b, `<path d="M%g %gL%g %g" stroke="#555" stroke-dasharray="6 4"/><path d="`, x(0), y(0), x(100), y(100))
	for i, level := range levels {
		fmt.Fprintf(&b, "%c%g %.1f", "ML"[min(i, 1)], x(float64(level)), y(rates[i]))
	}
	b.WriteString(`" fill="none" stroke="#7a3b12" stroke-width="2"/>` + "\n")
	for i, level := range levels {
		fmt.Fprintf(&b, `<circle cx="%g" cy="%.1f" r="5" fill="#7a3b12"><title>given at %d %%: %.1f %% hold</title></circle>`+"\n", x(float64(level)), y(rates[i]), level, rates[i])
	}
	b.WriteString(`<text x="260" y="476" text-anchor="middle">given at … % confidence</text><text x="18" y="230" text-anchor="middle" transform="rotate(-90 18 230)">of 100 such dates hold</text>` + "\n</svg>\n")
	return b.String()
}
