package views

import (
	"bytes"
	"slices"
	"unicode"
	"unicode/utf8"
)

// units are what may be said of a number in a few letters,
var units = bytes.Fields([]byte("mm cm m m² m³ kg ft h min % °C °F"))

// and months begin what may follow the day.
var months = bytes.Fields([]byte("Jan Feb Mar Mär Apr May Mai Jun Jul Aug Sep Oct Okt Nov Dec Dez"))

// unbroken keeps what stays with a number on its line, in all that is read of a page.
// Attributes stay as they are, and with them what a field holds, which is read back as it
// was typed. So does the text of a field of several lines, and what is to be copied.
func unbroken(page []byte) []byte {
	out := make([]byte, 0, len(page)+len(page)/64)
	for len(page) > 0 {
		text := bytes.IndexByte(page, '<')
		if text < 0 {
			text = len(page)
		}
		out, page = bind(out, page[:text]), page[text:]
		tag := asItIs(page)
		out, page = append(out, page[:tag]...), page[tag:]
	}
	return out
}

// asItIs is how long the tag is that a page begins with, and with it the text it encloses
// where that stays as it is.
func asItIs(page []byte) int {
	end := []byte(">")
	switch {
	case bytes.HasPrefix(page, []byte("<textarea")):
		end = []byte("</textarea>")
	case bytes.HasPrefix(page, []byte("<code")):
		end = []byte("</code>")
	}
	if at := bytes.Index(page, end); at >= 0 {
		return at + len(end)
	}
	return len(page)
}

// bind appends a text in which no line is broken where two things are bound.
func bind(out, text []byte) []byte {
	from := 0
	for i, c := range text {
		if c == ' ' && bound(text[:i], text[i+1:]) {
			out = append(append(out, text[from:i]...), "\u00a0"...)
			from = i + 1
		}
	}
	return append(out, text[from:]...)
}

// longWord is how many letters a word has that is not bound to the count behind it: on a
// phone the two would find no line that holds them, and the word would be torn.
const longWord = 20

// shortWord is how many letters the name of a day has at most (Thu, Do).
const shortWord = 3

// bound says whether what is after a space stays on a line with what is before it: with a
// number its fraction (2 3/8 must not be read as 3/8), its unit, its month and the times
// sign of a count; with a times sign its number; with a name its count (carcase × 5); with
// hours their minutes (4 h 10); with a day or a short word, not a month, the time of day
// (Thu 13:20).
func bound(before, after []byte) bool {
	last, _ := utf8.DecodeLastRune(before)
	switch {
	case bytes.HasPrefix(after, []byte("× ")) && numbered(after[len("× "):]):
		return endsInName(before)
	case unicode.IsLetter(last) && timeOfDay(after):
		word := lastWord(before)
		return utf8.RuneCount(word) <= shortWord && !begins(word, months)
	case digit(last):
		return fraction(after) || begins(after, months) || slices.ContainsFunc(units, func(unit []byte) bool {
			return bytes.HasPrefix(after, unit) && !goesOn(after[len(unit):])
		}) || bytes.HasPrefix(after, []byte("× "))
	case last == '×':
		return numbered(after)
	case last == 'h':
		hours := before[:len(before)-1]
		count := bytes.TrimRightFunc(hours, unicode.IsSpace)
		return len(count) < len(hours) && counted(count) && len(after) > 1 && numbered(after) && numbered(after[1:]) && !numbered(after[2:])
	case last == '.': // 2. Dezember
		return counted(before[:len(before)-1]) && begins(after, months)
	}
	return false
}

// endsInName says whether a text ends with a word that is neither a size nor too long.
func endsInName(text []byte) bool {
	word := lastWord(text)
	last, _ := utf8.DecodeLastRune(word)
	return (unicode.IsLetter(last) || last == ')') && utf8.RuneCount(word) < longWord &&
		!slices.ContainsFunc(units, func(unit []byte) bool { return bytes.Equal(word, unit) })
}

func lastWord(text []byte) []byte {
	return text[bytes.LastIndexFunc(text, unicode.IsSpace)+1:]
}

// timeOfDay says whether a text begins like 7:05 or 13:20.
func timeOfDay(text []byte) bool {
	minutes := bytes.TrimLeft(text, "0123456789")
	hours := len(text) - len(minutes)
	return (hours == 1 || hours == 2) && len(minutes) > 2 && minutes[0] == ':' && numbered(minutes[1:]) && numbered(minutes[2:])
}

func digit(r rune) bool { return '0' <= r && r <= '9' }

// numbered says whether a text begins with a digit, counted whether it ends with one.
func numbered(text []byte) bool { return len(text) > 0 && digit(rune(text[0])) }
func counted(text []byte) bool  { return len(text) > 0 && digit(rune(text[len(text)-1])) }

// goesOn says whether what a text follows is no whole word, or part of a formula.
func goesOn(text []byte) bool {
	next, _ := utf8.DecodeRune(text)
	return unicode.IsLetter(next) || unicode.IsNumber(next) || next == '&' || next == '*'
}

func fraction(text []byte) bool {
	over := bytes.TrimLeft(text, "0123456789")
	return len(over) < len(text) && len(over) > 1 && over[0] == '/' && numbered(over[1:])
}

func begins(text []byte, words [][]byte) bool {
	return slices.ContainsFunc(words, func(w []byte) bool { return bytes.HasPrefix(text, w) })
}
