package planner

import (
	"maps"
	"math"
	"math/rand/v2"
	"slices"

	"faceside/models"
)

// pace is what the time book says of how long steps really take beside their
// estimates, and what it does not say. The logarithm of actual by estimated time of
// a step is
//
//	shop + kind of step + commission + chance,
//
// each normal: step times are lognormal, and what a shop, a kind of step or a
// commission has in common does not average out over its steps. Both are what was
// found in the field (Trietsch, Mazmanyan, Gevorgyan, Baker: Modeling activity times
// by the Parkinson distribution with a lognormal core, European Journal of
// Operational Research 216, 2012). Each level is drawn towards the one above it by
// how few steps speak for it; a shop without a book has the figures below.
type pace struct {
	shop        normal
	kind        normal               // of a kind that the book does not know, beside the shop
	kinds       map[string]kindPace  // beside the shop's
	commission  normal               // of one without finished steps
	commissions map[models.ID]normal // of those with some
	spread      float64              // of a single step, where its kind says nothing
	freedom     float64              // how many steps the spread rests on

	stop  float64 // chance that a step stands still for trouble
	stops []int   // minutes that steps stood
	spoil float64 // chance that parts are spoiled in a step
	again float64 // minutes of work to make them again, on average

	away       float64 // share of days on which a person is away without notice
	awaySpells float64 // how many spells of it that rests on
}

// normal is a normal distribution.
type normal struct{ mean, sd float64 }

func (n normal) draw(rng *rand.Rand) float64 { return n.mean + n.sd*rng.NormFloat64() }

// kindPace is what the finished steps of one kind say.
type kindPace struct {
	mean    float64 // of the logarithms, the shop's included
	weight  float64 // of that mean: its variance is 1 / weight
	spread  float64
	freedom float64
}

// Before the book says otherwise. Common practice, no source: people guess short by
// a tenth; one step in three is off by more than a third; most shops know their own
// pace to a fifth, and kinds of steps and commissions differ by less. The counts say
// how many steps, kinds or commissions outweigh such a figure.
const (
	priorShop, priorShopSD = 0.095, 0.20
	priorSpread            = 0.35
	priorKindSD            = 0.15
	priorCommissionSD      = 0.10
	spreadCounts           = 20.0
	kindSpreadCounts       = 10.0
	kindsCount             = 5.0
	commissionsCount       = 5.0

	// Common practice, no source: one step in a hundred waits a working day for
	// something, one in a hundred has parts spoiled that take an hour to make again.
	priorStop, priorSpoil = 0.01, 0.01
	priorStopMin          = 24 * 60
	priorAgainMin         = 60.0
	troubleCounts         = 100.0 // steps
	againCounts           = 3.0   // spoilings
	mostOff               = 10.0  // a step that took ten times its estimate was forgotten, not done
)

// sample is some steps of one kind and commission whose time is known.
type sample struct {
	kind       string
	commission models.ID
	y          float64 // logarithm of actual by estimated
	alone      bool    // it says something of the spread
}

// samples reads the book. What was done in a run is one sample for each kind: its
// steps share their time by their estimates, and say nothing of their spread.
func samples(turned []models.Outcome) []sample {
	var all []sample
	type group struct{ run, kind string }
	at := map[group]int{}
	var estimated, actual []int
	for _, t := range turned {
		g := group{t.Run, t.Kind}
		i, known := at[g]
		if !known || t.Run == "" {
			i = len(all)
			at[g] = i
			all = append(all, sample{kind: t.Kind, commission: t.CommissionID, alone: t.Run == ""})
			estimated, actual = append(estimated, 0), append(actual, 0)
		}
		estimated[i] += t.Estimated
		actual[i] += t.Actual
	}
	for i := range all {
		ratio := float64(actual[i]) / 60 / float64(max(1, estimated[i]))
		all[i].y = math.Log(min(max(ratio, 1/mostOff), mostOff))
	}
	return all
}

// learnPace reads the shop's pace off how its steps turned out.
func learnPace(turned *models.Outcomes) *pace {
	all := samples(turned.Steps)
	p := &pace{kinds: map[string]kindPace{}, commissions: map[models.ID]normal{}}
	p.learnKinds(all)
	p.learnCommissions(all)
	p.learnShop()
	p.learnTroubles(turned)
	return p
}

// tally is a count, a sum and a sum of squares.
type tally struct{ n, sum, squares float64 }

func (t *tally) add(x float64) { t.n, t.sum, t.squares = t.n+1, t.sum+x, t.squares+x*x }

func (t *tally) mean() float64 { return t.sum / max(1, t.n) }

// about is the sum of squares about the mean.
func (t *tally) about() float64 { return max(0, t.squares-t.sum*t.mean()) }

// learnKinds finds the mean and the spread of each kind.
func (p *pace) learnKinds(all []sample) {
	total, alone := map[string]*tally{}, map[string]*tally{}
	for _, s := range all {
		if total[s.kind] == nil {
			total[s.kind], alone[s.kind] = &tally{}, &tally{}
		}
		total[s.kind].add(s.y)
		if s.alone {
			alone[s.kind].add(s.y)
		}
	}
	squares, freedom := spreadCounts*priorSpread*priorSpread, spreadCounts
	for _, kind := range slices.Sorted(maps.Keys(alone)) {
		squares += alone[kind].about()
		freedom += max(0, alone[kind].n-1)
	}
	p.spread, p.freedom = math.Sqrt(squares/freedom), freedom
	for kind, t := range total {
		free := kindSpreadCounts + max(0, alone[kind].n-1)
		spread := math.Sqrt((kindSpreadCounts*p.spread*p.spread + alone[kind].about()) / free)
		p.kinds[kind] = kindPace{mean: t.mean(), weight: t.n / (spread * spread), spread: spread, freedom: free}
	}
}

// learnCommissions finds how far commissions as a whole are from what their kinds of
// steps say.
func (p *pace) learnCommissions(all []sample) {
	beside := map[models.ID]*tally{}
	for _, s := range all {
		if beside[s.commission] == nil {
			beside[s.commission] = &tally{}
		}
		beside[s.commission].add(s.y - p.kinds[s.kind].mean)
	}
	noise := p.spread * p.spread
	variance := commissionsCount * priorCommissionSD * priorCommissionSD
	for _, id := range slices.Sorted(maps.Keys(beside)) {
		t := beside[id]
		variance += t.mean()*t.mean() - noise/t.n
	}
	variance = max(variance/(commissionsCount+float64(len(beside))), 0.001)
	p.commission = normal{0, math.Sqrt(variance)}
	for id, t := range beside {
		weight := t.n / noise
		p.commissions[id] = normal{t.mean() * weight / (weight + 1/variance), math.Sqrt(1 / (weight + 1/variance))}
	}
}

// learnShop finds what all kinds have in common, and by how much they differ.
func (p *pace) learnShop() {
	middle := &tally{}
	for _, kind := range slices.Sorted(maps.Keys(p.kinds)) {
		middle.add(p.kinds[kind].mean)
	}
	variance := kindsCount * priorKindSD * priorKindSD
	for _, kind := range slices.Sorted(maps.Keys(p.kinds)) {
		off := p.kinds[kind].mean - middle.mean()
		variance += off*off - 1/p.kinds[kind].weight
	}
	variance = max(variance/(kindsCount+middle.n), 0.001)
	p.kind = normal{0, math.Sqrt(variance)}

	weight, sum := 0.0, 0.0
	for _, kind := range slices.Sorted(maps.Keys(p.kinds)) {
		w := 1 / (variance + 1/p.kinds[kind].weight)
		weight, sum = weight+w, sum+w*p.kinds[kind].mean
	}
	prior := 1 / (priorShopSD * priorShopSD)
	if weight > 0 {
		// All of it comes from few commissions, each with a pace of its own.
		data := 1 / (1/weight + p.commission.sd*p.commission.sd/float64(len(p.commissions)))
		sum, weight = sum/weight*data, data
	}
	p.shop = normal{(priorShop*prior + sum) / (prior + weight), math.Sqrt(1 / (prior + weight))}
}

// learnTroubles finds how often work stands still or is spoiled, and for how long.
func (p *pace) learnTroubles(turned *models.Outcomes) {
	steps := float64(len(turned.Steps))
	p.stop = (troubleCounts*priorStop + float64(len(turned.Stops))) / (troubleCounts + steps)
	p.stops = turned.Stops
	p.spoil = (troubleCounts*priorSpoil + float64(turned.Spoiled)) / (troubleCounts + steps)
	p.again = (againCounts*priorAgainMin + float64(turned.Again)) / (againCounts + float64(turned.Spoiled))
	p.learnAway(turned)
}
