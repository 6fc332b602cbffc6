package views

import (
	"fmt"
	"strconv"
	"strings"
	"time"
)

// By the day each row has one bar a day: how much of the shop's hours is taken, by
// which commission. What is too little to be read is put together at the bar's foot.

// dayBar is one day of a row.
type dayBar struct {
	day    int // its place on the axis
	open   time.Duration
	shares []share // setups first, then by letter
}

// shareLeast is the height in pixels from which a commission's share has a letter.
const shareLeast = 14

// share is the time of one commission on a day, or of setups.
type share struct {
	commission int // setups: below 0
	time       time.Duration
}

// dayBars adds blocks up, day by day and commission by commission.
func (l *weekLayout) dayBars(blocks []ChartBlock) []dayBar {
	var all []dayBar
	for i, day := range l.axis.days {
		bar := dayBar{day: i}
		for _, w := range day.Open {
			bar.open += w.To.Sub(w.From)
		}
		var spent []time.Duration
		for _, b := range blocks {
			k := b.Commission + 1
			if b.Kind == SetupWork {
				k = 0
			}
			for len(spent) <= k {
				spent = append(spent, 0)
			}
			for _, part := range l.axis.openParts(b.At.Overlap(dayStretch(day.Day))) {
				spent[k] += part.To.Sub(part.From)
			}
		}
		for k, t := range spent {
			if t > 0 {
				bar.shares = append(bar.shares, share{k - 1, t})
			}
		}
		if len(bar.shares) > 0 {
			all = append(all, bar)
		}
	}
	return all
}

// total is all that is taken of a day.
func (b dayBar) total() time.Duration {
	sum := time.Duration(0)
	for _, s := range b.shares {
		sum += s.time
	}
	return sum
}

// drawBars draws a row day by day. A bar as high as the row is all hours of the shop,
// or more where several work at once.
func (l *weekLayout) drawBars(d *svg, row placedRow) {
	for _, bar := range row.bars {
		day := l.axis.days[bar.day]
		x, width := day.x+l.axis.night+1, day.end-day.x-2*l.axis.night-2
		full, bottom := max(bar.open, bar.total()), row.y+row.height
		height := func(t time.Duration) int { return max(int(t*time.Duration(row.height-2)/full), 3) }
		d.link(day.Href, "wk-bar")
		d.title(row.Name + ", " + day.Name + ": " + l.barSaid(bar))
		d.rect("wk-hit", x, row.y, width, row.height, 0)
		little, read := bar.split(func(s share) bool { return height(s.time) < shareLeast })
		if len(little.shares) > 1 {
			top := bottom - height(little.total())
			d.rect("wk-several", x, top, width, bottom-top, 0)
			if bottom-top >= shareLeast {
				d.text("wk-letter-bare", x+width/2, (top+bottom)/2+5, little.of())
			}
			bottom = top
		} else {
			read = bar
		}
		for _, s := range read.shares {
			top := bottom - height(s.time)
			drawShare(d, s, x, top, width, bottom)
			bottom = top
		}
		d.end()
	}
}

// split takes a bar's shares apart.
func (b dayBar) split(first func(share) bool) (little, read dayBar) {
	for _, s := range b.shares {
		if first(s) {
			little.shares = append(little.shares, s)
		} else {
			read.shares = append(read.shares, s)
		}
	}
	return little, read
}

// of says whose shares a bar has: a letter or, of several commissions, "+3".
func (b dayBar) of() string {
	n := len(b.shares)
	if b.shares[0].commission < 0 {
		n-- // setups
	}
	if n > 1 {
		return "+" + strconv.Itoa(n)
	}
	return Letter(b.shares[len(b.shares)-1].commission)
}

// drawShare draws one part of a bar, down to a height.
func drawShare(d *svg, s share, x, y, width, bottom int) {
	if s.commission < 0 {
		d.rect("wk-setup-body", x, y, width, bottom-y, 0)
		for at := x + 2; at < x+width-1; at += 4 {
			d.line("wk-setup-hatch", at, y, at, bottom)
		}
		return
	}
	d.group(Look(s.commission))
	d.rect("wk-share", x, y, width, bottom-y, 0)
	if bottom-y >= shareLeast && width >= shareLeast {
		d.text("wk-letter-bare", x+width/2, (y+bottom)/2+5, Letter(s.commission))
	}
	d.end()
}

// barSaid says a bar: "A 2 h 10, C 1 h, setting a station 20 min".
func (l *weekLayout) barSaid(b dayBar) string {
	var said []string
	for _, s := range b.shares {
		name := l.chart.Say.Say("setting a station")
		if s.commission >= 0 {
			name = Letter(s.commission)
		}
		minutes := int(s.time.Minutes())
		switch {
		case minutes < 60:
			said = append(said, fmt.Sprintf("%s %d min", name, minutes))
		case minutes%60 == 0:
			said = append(said, fmt.Sprintf("%s %d h", name, minutes/60))
		default:
			said = append(said, fmt.Sprintf("%s %d h %02d", name, minutes/60, minutes%60))
		}
	}
	return strings.Join(said, ", ")
}

// drawDate writes weekday and number of a day among many, and the month where it begins.
func (l *weekLayout) drawDate(d *svg, i int) {
	day := l.axis.days[i]
	if len(day.Open) == 0 {
		d.title(closedSentence(l.chart.Say, day.ChartDay))
		return
	}
	middle := (day.x + day.end) / 2
	if i == 0 || day.Month != l.axis.days[i-1].Month {
		d.text("wk-hour wk-month", middle, 13, day.Month)
	}
	d.text("wk-hour", middle, 27, day.Short)
	d.text("wk-hour wk-month", middle, 42, strconv.Itoa(day.Day.Day()))
}
