// Package tongues owns every sentence of the screens in each language of the
// shop; it decides nothing and never touches records or HTTP.
//
// The words stand in the files of catalogue, one for each part of the program.
// The key of a message is its English, in the form of package fmt, as it stands
// in a template or in the source; beside it stand the other languages.
package tongues

import (
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"path"
	"regexp"
	"slices"
	"strings"

	"github.com/goccy/go-yaml"
	"golang.org/x/text/feature/plural"
	"golang.org/x/text/language"
	"golang.org/x/text/message"
	"golang.org/x/text/message/catalog"
	"golang.org/x/text/number"

	"faceside/models/phrase"
)

//go:embed catalogue/*.yaml
var files embed.FS

// English is the language that the keys of the catalogue are written in.
const English = "en"

// Language is one that the screens can be read in.
type Language struct {
	Code string // BCP 47, e.g. "de"
	Name string // in itself, e.g. "Deutsch"
}

// Languages are all that the catalogue is complete in; a test holds it to that.
func Languages() []Language {
	return []Language{{English, "English"}, {"de", "Deutsch"}}
}

// Catalogue is every message in every language. It is safe for concurrent use.
type Catalogue struct {
	messages map[string]Message
	built    *catalog.Builder
	whole    map[string]map[string]string // by language: messages without blanks, to be said at once
	shipped  map[string]*shipped          // by language; none for English
}

// Message is one entry: how it is said in each language, by code. English is
// missing where it is said as its key is written.
type Message map[string]Forms

// Forms are how a message is said in one language: Other always, and the rest
// where its first blank is a number that changes the words (CLDR plural forms).
type Forms struct {
	One   string `yaml:"one"`
	Other string `yaml:"other"`
}

// Load reads the catalogue that is built into the program.
func Load() (*Catalogue, error) {
	root, err := fs.Sub(files, "catalogue")
	if err != nil {
		return nil, fmt.Errorf("tongues: %w", err)
	}
	c, err := Read(root)
	if err != nil {
		return nil, err
	}
	for _, l := range Languages() {
		if l.Code == English {
			continue
		}
		if c.shipped[l.Code], err = readShipped(l.Code); err != nil {
			return nil, fmt.Errorf("tongues: %w", err)
		}
	}
	return c, nil
}

// Read reads the files of a catalogue. A message that stands twice, or in a
// language nobody knows, is an error that names the file and the message.
func Read(root fs.FS) (*Catalogue, error) {
	c := &Catalogue{messages: map[string]Message{}, built: catalog.NewBuilder(catalog.Fallback(language.English)), whole: map[string]map[string]string{}, shipped: map[string]*shipped{}}
	for _, l := range Languages() {
		c.whole[l.Code] = map[string]string{}
	}
	names, err := fs.Glob(root, "*.yaml")
	if err != nil {
		return nil, fmt.Errorf("tongues: list the catalogue: %w", err)
	}
	for _, name := range names {
		if err := c.read(root, name); err != nil {
			return nil, fmt.Errorf("tongues: %s: %w", name, err)
		}
	}
	return c, nil
}

func (c *Catalogue) read(root fs.FS, name string) error {
	text, err := fs.ReadFile(root, path.Clean(name))
	if err != nil {
		return err
	}
	entries := map[string]any{}
	if err := yaml.Unmarshal(text, &entries); err != nil {
		return err
	}
	for key, said := range entries {
		if _, twice := c.messages[key]; twice {
			return fmt.Errorf("%q stands in the catalogue twice", key)
		}
		m, err := messageOf(said)
		if err != nil {
			return fmt.Errorf("%q: %w", key, err)
		}
		c.messages[key] = m
		if err := c.set(key, m); err != nil {
			return fmt.Errorf("%q: %w", key, err)
		}
	}
	return nil
}

// messageOf reads an entry: German alone, or a map of languages.
func messageOf(said any) (Message, error) {
	if text, ok := said.(string); ok {
		return Message{"de": {Other: text}}, nil
	}
	by, ok := said.(map[string]any)
	if !ok {
		return nil, errors.New("neither a text nor a map of languages")
	}
	m := Message{}
	for code, of := range by {
		if !slices.ContainsFunc(Languages(), func(l Language) bool { return l.Code == code }) {
			return nil, fmt.Errorf("no language is called %q", code)
		}
		switch of := of.(type) {
		case string:
			m[code] = Forms{Other: of}
		case map[string]any:
			one, _ := of["one"].(string)
			other, _ := of["other"].(string)
			if one == "" || other == "" || len(of) != 2 {
				return nil, fmt.Errorf("%s: wants one and other", code)
			}
			m[code] = Forms{One: one, Other: other}
		default:
			return nil, fmt.Errorf("%s: neither a text nor one and other", code)
		}
	}
	return m, nil
}

func (c *Catalogue) set(key string, m Message) error {
	if _, ok := m[English]; !ok {
		m[English] = Forms{Other: phrase.Plain(key)}
	}
	for code, forms := range m {
		tag, err := language.Parse(code)
		if err != nil {
			return err
		}
		if !strings.Contains(forms.Other, "%") {
			c.whole[code][key] = forms.Other
		}
		said := catalog.Message(catalog.String(forms.Other))
		if forms.One != "" {
			said = plural.Selectf(1, "%d", plural.One, forms.One, plural.Other, forms.Other)
		}
		if err := c.built.Set(tag, key, said); err != nil {
			return err
		}
	}
	return nil
}

// Messages returns every message by its key; not to be changed.
func (c *Catalogue) Messages() map[string]Message { return c.messages }

// In returns who says messages in a language; English for one that is not known.
func (c *Catalogue) In(code string) *Speaker {
	tag, err := language.Parse(code)
	if err != nil {
		tag = language.English
	}
	return &Speaker{code: code, printer: message.NewPrinter(tag, message.Catalog(c.built)), whole: c.whole[code], shipped: c.shipped[code]}
}

// Speaker says messages in one language. It is safe for concurrent use.
type Speaker struct {
	code    string
	printer *message.Printer
	whole   map[string]string
	shipped *shipped
}

// Code returns the language's code.
func (s *Speaker) Code() string {
	if s == nil {
		return English
	}
	return s.code
}

// Say says a message with what fills its blanks. One that the catalogue lacks
// is said in English. Phrases among the blanks are said in the same language. No
// Speaker says English, as the key is written.
func (s *Speaker) Say(key string, args ...any) string {
	if s == nil {
		return phrase.Of(key, args...).String()
	}
	if len(args) == 0 {
		if text, ok := s.whole[key]; ok || key == "" {
			return text
		}
	}
	own := false
	for i, arg := range args {
		said, changed := s.blank(arg)
		if !changed {
			continue
		}
		if !own {
			args, own = slices.Clone(args), true
		}
		args[i] = said
	}
	return oneStop(s.printer.Sprintf(message.Key(key, phrase.Plain(key)), args...))
}

var twoStops = regexp.MustCompile(`(\pL)\.\.( |$)`)

// oneStop ends a sentence once where its last word is an abbreviation: "… 28. Nov."
func oneStop(said string) string {
	if !strings.Contains(said, "..") {
		return said
	}
	return twoStops.ReplaceAllString(said, "$1.$2")
}

// ungrouped writes a whole number as it stands on a board or in an address: 1234,
// never 1,234.
var ungrouped = number.NewFormat(number.Decimal, number.NoSeparator())

// blank says what fills a blank, where that is not said by itself. Numbers of records
// and of taps are 64 bits wide, and counts are not: only these have their thousands set
// apart.
func (s *Speaker) blank(arg any) (said any, changed bool) {
	switch arg := arg.(type) {
	case phrase.Phrase:
		return s.Phrase(arg), true
	case int64:
		return ungrouped(arg), true
	}
	return nil, false
}

// Shipped says a text of the data that the program ships, or of the form of one;
// any other is said as it is.
func (s *Speaker) Shipped(text string) string {
	if s == nil || s.shipped == nil {
		return text
	}
	return s.shipped.say(text)
}

// Phrase says a phrase.
func (s *Speaker) Phrase(p phrase.Phrase) string {
	if s == nil {
		return p.String()
	}
	if p.Format() != "%s" || len(p.Args()) != 1 {
		return s.Say(p.Format(), p.Args()...)
	}
	if inner, ok := p.Args()[0].(phrase.Phrase); ok {
		return s.Phrase(inner)
	}
	return fmt.Sprint(p.Args()...)
}
