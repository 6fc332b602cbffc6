package tongues

import (
	"cmp"
	"embed"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"github.com/goccy/go-yaml"
)

//go:embed shipped/*.yaml
var shippedFiles embed.FS

// shipped says in one language the texts that the program ships as data: those of
// the step catalogue, the patterns and the materials. A shop keeps them in English.
type shipped struct {
	whole map[string]string
	forms map[string][]form // that a text with a first word may have, the surest first; "" for any other word
	said  sync.Map          // what was looked up before
	kept  sync.Mutex
	count int
}

// form is a text with blanks, such as "Plane to {thickness}: {what}".
type form struct {
	text   *regexp.Regexp
	blanks []string
	said   string
	plain  int // how much of it is no blank: the more, the surer it is meant
	commas bool
}

// typed is the blank of what a person typed, which no language changes.
const typed = "{typed}"

// within is the blank of what something is a part of, which German puts in brackets:
// a second pair inside them is a comma.
const within = "{here}"

var inner = strings.NewReplacer(" (", ", ", ")", "")

var blankOfForm = regexp.MustCompile(`\{[^{}]*\}`)

// readShipped reads the texts in a language; there are none for English.
func readShipped(code string) (*shipped, error) {
	text, err := shippedFiles.ReadFile("shipped/" + code + ".yaml")
	if err != nil {
		return nil, err
	}
	entries := map[string]string{}
	if err := yaml.Unmarshal(text, &entries); err != nil {
		return nil, fmt.Errorf("shipped/%s.yaml: %w", code, err)
	}
	s := &shipped{whole: map[string]string{}, forms: map[string][]form{}}
	for english, said := range entries {
		if !blankOfForm.MatchString(english) {
			s.whole[english] = said
			continue
		}
		f, err := formOf(english, said)
		if err != nil {
			return nil, fmt.Errorf("shipped/%s.yaml: %q: %w", code, english, err)
		}
		first := firstWord(english)
		s.forms[first] = append(s.forms[first], f)
	}
	for first, all := range s.forms {
		if first != "" {
			s.forms[first] = append(all, s.forms[""]...)
		}
	}
	for _, all := range s.forms {
		slices.SortFunc(all, func(a, b form) int { return cmp.Or(b.plain-a.plain, cmp.Compare(a.said, b.said)) })
	}
	return s, nil
}

func formOf(english, said string) (form, error) {
	f := form{said: said, blanks: blankOfForm.FindAllString(english, -1), commas: strings.Contains(english, ", ")}
	var pattern strings.Builder
	for i, plain := range blankOfForm.Split(english, -1) {
		if i > 0 {
			pattern.WriteString("(.+?)")
		}
		pattern.WriteString(regexp.QuoteMeta(plain))
		f.plain += len(plain)
	}
	for _, blank := range blankOfForm.FindAllString(said, -1) {
		if !slices.Contains(f.blanks, blank) {
			return f, fmt.Errorf("%s is no blank of it", blank)
		}
	}
	var err error
	f.text, err = regexp.Compile("^" + pattern.String() + "$")
	return f, err
}

// firstWord is what forms are found by; "" where the text begins with a blank.
func firstWord(text string) string {
	word, _, _ := strings.Cut(text, " ")
	if strings.Contains(word, "{") {
		return ""
	}
	return strings.ToLower(word)
}

// rememberMost keeps what is remembered within what a shop's own texts need.
const rememberMost = 20_000

// say says a text; one that is not known is said as it is.
func (s *shipped) say(text string) string {
	if said, ok := s.said.Load(text); ok {
		return said.(string)
	}
	said, _ := s.find(text, 0)
	s.kept.Lock()
	defer s.kept.Unlock()
	if s.count < rememberMost {
		s.count++
		s.said.Store(strings.Clone(text), said)
	}
	return said
}

// deepest keeps texts that a person typed from being taken apart without end.
const deepest = 6

func (s *shipped) find(text string, depth int) (string, bool) {
	if text == "" || depth > deepest {
		return text, false
	}
	for _, try := range []func(string, int) (string, bool){s.exactly, s.measured, s.commaed, s.listed, s.formed, s.sentences} {
		if said, ok := try(text, depth); ok {
			return said, true
		}
	}
	return text, false
}

// exactly says a text as it stands, or begun with the other size of letter.
func (s *shipped) exactly(text string, _ int) (string, bool) {
	if said, ok := s.whole[text]; ok {
		return said, true
	}
	if first, _ := utf8.DecodeRuneInString(text); unicode.IsUpper(first) {
		if said, ok := s.whole[lower(text)]; ok {
			return upper(said), true
		}
		return "", false
	}
	said, ok := s.whole[upper(text)]
	return said, ok
}

func upper(text string) string {
	first, size := utf8.DecodeRuneInString(text)
	return string(unicode.ToUpper(first)) + text[size:]
}

func lower(text string) string {
	first, size := utf8.DecodeRuneInString(text)
	return string(unicode.ToLower(first)) + text[size:]
}

var (
	counted = regexp.MustCompile(`^(.+?)( × \d+)$`)
	between = regexp.MustCompile(`, | and `)
)

// listed says a list of texts that are all known: "leg × 4, long rail × 2".
func (s *shipped) listed(text string, depth int) (string, bool) {
	// A name may hold " and " itself: "foot and cap of the left trestle × 2".
	if counted.MatchString(text) && !strings.Contains(text, ", ") && strings.Count(text, " × ") == 1 {
		if said, ok := s.item(text, depth); ok {
			return said, true
		}
	}
	if depth > deepest {
		return "", false
	}
	for _, cut := range between.FindAllStringIndex(text, -1) {
		item, ok := s.item(text[:cut[0]], depth)
		if !ok {
			continue
		}
		rest, ok := s.item(text[cut[1]:], depth)
		if !ok {
			rest, ok = s.listed(text[cut[1]:], depth+1)
		}
		if ok {
			return item + strings.Replace(text[cut[0]:cut[1]], " and ", " und ", 1) + rest, true
		}
	}
	return "", false
}

// item says one of a list, with its count.
func (s *shipped) item(text string, depth int) (string, bool) {
	count := ""
	if m := counted.FindStringSubmatch(text); m != nil {
		text, count = m[1], m[2]
	}
	said, ok := s.exactly(text, depth)
	if !ok {
		said, ok = s.formed(text, depth+1)
	}
	return said + count, ok
}

// commaed says a text of a form that has commas itself, which is no list though its
// pieces be known.
func (s *shipped) commaed(text string, depth int) (string, bool) {
	if !strings.Contains(text, ", ") {
		return "", false
	}
	return s.inForm(text, depth, func(f form) bool { return f.commas })
}

// formed says a text that has the form of a known one.
func (s *shipped) formed(text string, depth int) (string, bool) {
	return s.inForm(text, depth, func(form) bool { return true })
}

func (s *shipped) inForm(text string, depth int, wanted func(form) bool) (string, bool) {
	forms, known := s.forms[firstWord(text)]
	if !known {
		forms = s.forms[""]
	}
	for _, f := range forms {
		if !wanted(f) {
			continue
		}
		if said, ok := s.fill(f, text, depth); ok {
			return said, true
		}
		if said, ok := s.fill(f, upper(text), depth); ok {
			return said, true
		}
		if said, ok := s.fill(f, lower(text), depth); ok {
			return upper(said), true
		}
	}
	return "", false
}

// decimals are what is measured, with a decimal point: a length or several, as the
// names of steps have them, or a temperature.
var decimals = regexp.MustCompile(`^-?[0-9]+(\.[0-9]+)?( mm| °[CF])( × [0-9]+(\.[0-9]+)? mm)*$`)

// measured writes what is measured with the decimal sign of the language.
func (s *shipped) measured(text string, _ int) (string, bool) {
	if !decimals.MatchString(text) {
		return "", false
	}
	return strings.ReplaceAll(text, ".", s.whole["."]), true
}

func (s *shipped) fill(f form, text string, depth int) (string, bool) {
	m := f.text.FindStringSubmatch(text)
	if m == nil {
		return "", false
	}
	values := map[string]string{}
	for i, blank := range f.blanks {
		if values[blank] = m[i+1]; blank != typed {
			values[blank], _ = s.find(m[i+1], depth+1)
		} else if strings.Contains(m[i+1], ": ") {
			return "", false // a sentence, and what is wrong with it
		}
		if blank == within {
			values[blank] = inner.Replace(values[blank])
		}
	}
	return blankOfForm.ReplaceAllStringFunc(f.said, func(blank string) string { return values[blank] }), true
}

// sentences says sentence after sentence, where one text was put behind another.
func (s *shipped) sentences(text string, depth int) (string, bool) {
	for at := 0; ; {
		end := strings.Index(text[at:], ". ")
		if end < 0 {
			return "", false
		}
		at += end + 2
		first, ok := s.find(text[:at-1], deepest)
		if !ok {
			continue
		}
		if rest, ok := s.find(text[at:], depth); ok {
			return first + " " + rest, true
		}
	}
}
