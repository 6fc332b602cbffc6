package handlers

import (
	"fmt"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"faceside/models"
	"faceside/models/phrase"
	"faceside/models/wood"
	"faceside/views/tongues"
)

// words says times, spans and sizes the way the shop does: in its language, its
// time zone, its units and its fraction.
type words struct {
	now     time.Time // in the shop's time zone
	shop    models.Shop
	speaker *tongues.Speaker
	names   map[string]bool // what people gave a name: it is said as it is
}

type namesKey struct{}

// named has the names that people gave to each other, to commissions and tablets stay as
// they are, also where one of them is a word of the shipped data: Ash is a person too.
func (w words) named(snap *models.Snapshot) words {
	w.names = snap.Keep(namesKey{}, func() any {
		names := map[string]bool{}
		for _, p := range snap.People {
			names[p.Name] = true
		}
		for _, c := range snap.Commissions {
			names[c.Name], names[c.Client] = true, true
		}
		for _, t := range snap.Tablets {
			names[t.Name] = true
		}
		return names
	}).(map[string]bool)
	return w
}

// wordsOf fails when the shop's time zone is not known on this machine.
func wordsOf(shop models.Shop, now time.Time, speaker *tongues.Speaker) (words, error) {
	zone, err := time.LoadLocation(shop.TimeZone)
	if err != nil {
		return words{}, fmt.Errorf("the shop's time zone %q: %w", shop.TimeZone, err)
	}
	return words{now: now.In(zone), shop: shop, speaker: speaker}, nil
}

// say says a message of the catalogue with what fills its blanks.
func (w words) say(key string, args ...any) string {
	for i, arg := range args {
		switch arg := arg.(type) {
		case wood.Length:
			args[i] = w.length(arg)
		case phrase.Phrase:
			args[i] = w.inUnits(arg)
		}
	}
	return w.speaker.Say(key, args...)
}

// shipped says a text of the shipped data in the shop's language.
func (w words) shipped(text string) string { return w.speaker.Shipped(text) }

// shippedAll says several.
func (w words) shippedAll(texts []string) []string {
	said := make([]string, len(texts))
	for i, text := range texts {
		said[i] = w.shipped(text)
	}
	return said
}

// tell says a phrase, its lengths as the shop reads them and the names of steps and
// parts as the screens show them.
func (w words) tell(p phrase.Phrase) string { return w.speaker.Phrase(w.inUnits(p)) }

// tellAll says several.
func (w words) tellAll(all []phrase.Phrase) []string {
	var said []string
	for _, p := range all {
		said = append(said, w.tell(p))
	}
	return said
}

func (w words) blank(arg any) any {
	switch arg := arg.(type) {
	case wood.Length:
		return w.length(arg)
	case phrase.Phrase:
		return w.inUnits(arg)
	case error:
		return w.shipped(arg.Error())
	case string:
		if !w.names[arg] {
			return w.shipped(arg)
		}
	}
	return arg
}

func (w words) inUnits(p phrase.Phrase) phrase.Phrase {
	if len(p.Args()) == 0 {
		return p
	}
	args := make([]any, len(p.Args()))
	for i, arg := range p.Args() {
		if args[i] = arg; !phrase.Verbatim(p.Format(), i) {
			args[i] = w.blank(arg)
		}
	}
	return phrase.Of(p.Format(), args...)
}

// at says a moment: "14:30" or "8:05" today, "tomorrow 8:00", "Thu 8:00" within a week,
// else "Thu 3 Dec 8:00".
func (w words) at(t time.Time) string {
	t = t.In(w.now.Location())
	clock := phrase.Clock(t)
	switch days := daysBetween(w.now, t); {
	case days == 0:
		return clock
	case days == 1:
		return w.say("tomorrow %s", clock)
	case days == -1:
		return w.say("yesterday %s", clock)
	case days > 0 && days < 7:
		return w.tell(phrase.ShortWeekday(t.Weekday())) + " " + clock
	default:
		return w.tell(phrase.ShortDate(t)) + " " + clock
	}
}

// date says a YYYY-MM-DD as "Thu 3 Dec", with the year when it is another; text
// that is no date is said as it is.
func (w words) date(text string) string {
	t, err := time.ParseInLocation(time.DateOnly, text, w.now.Location())
	if err != nil {
		return text
	}
	date := w.tell(phrase.ShortDate(t))
	if t.Year() != w.now.Year() {
		return date + " " + strconv.Itoa(t.Year())
	}
	return date
}

// daysBetween counts midnights from one moment to another of the same zone.
func daysBetween(from, to time.Time) int {
	day := func(t time.Time) time.Time { return time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, time.UTC) }
	return int(day(to).Sub(day(from)).Hours() / 24)
}

// span says minutes: "25 min", "1 h", "4 h 10". Its spaces are such as no line breaks at.
func span(minutes int) string {
	h, m := minutes/60, minutes%60
	switch {
	case h == 0:
		return fmt.Sprintf("%d\u00a0min", m)
	case m == 0:
		return fmt.Sprintf("%d\u00a0h", h)
	default:
		return fmt.Sprintf("%d\u00a0h\u00a0%02d", h, m)
	}
}

// clockSpan says minutes around the clock, in days from two days on: "45 min",
// "24 h", "7 days", "2 days 12 h".
func (w words) clockSpan(minutes int) string {
	const day = 24 * 60
	switch {
	case minutes < 2*day:
		return span(minutes)
	case minutes%day < 60:
		return w.say("%d days", minutes/day)
	default:
		return w.say("%d days", minutes/day) + " " + span(minutes%day/60*60)
	}
}

// size says length × width × thickness, in millimetres with the unit once.
func (w words) size(l, width, thickness wood.Length) string {
	all := []string{w.length(l), w.length(width), w.length(thickness)}
	if w.shop.Units != wood.Inches {
		for i := range all[:2] {
			all[i] = strings.TrimSuffix(all[i], " mm")
		}
	}
	return strings.Join(all, " × ")
}

func (w words) length(l wood.Length) string { return w.figure(l.Format(w.shop.Units, w.shop.Fraction)) }

// figure writes a number with the decimal sign of the language.
func (w words) figure(text string) string {
	if !strings.Contains(text, ".") {
		return text
	}
	return strings.Replace(text, ".", w.say(". ## the decimal sign"), 1)
}

// standings are where a step can stand, as a screen says it.
var standings = map[models.Standing]phrase.Key{
	models.StandsWaiting: "waiting", models.StandsReady: "ready", models.StandsInHand: "in hand",
	models.StandsPutDown: "put down", models.StandsInClamps: "in clamps", models.StandsDrying: "drying",
	models.StandsResting: "resting", models.StandsDone: "done", models.StandsInTrouble: "in trouble",
}

func (w words) standing(s models.Standing) string { return w.tell(standings[s].Of()) }

// rest says what a step's unattended time is: "in clamps", "drying", "resting".
func (w words) rest(rest string) string { return w.standing(models.Standing(rest)) }

// phaseNames are the phases a step can belong to; a shop's own is said as it is.
var phaseNames = map[string]phrase.Key{
	"milling": "milling", "joinery": "joinery", "glue-up": "glue-up", "shaping": "shaping",
	"sanding": "sanding", "finishing": "finishing", "fitting": "fitting",
}

func (w words) phase(phase string) string {
	if name, ok := phaseNames[phase]; ok {
		return w.tell(name.Of())
	}
	return phase
}

// mark is a standing as the name of a class.
func mark(s models.Standing) string { return strings.ReplaceAll(string(s), " ", "-") }

// capital makes the first letter large.
func capital(s string) string {
	if s == "" {
		return s
	}
	first, size := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(first)) + s[size:]
}
