package phrase

import (
	"encoding/json"
	"fmt"
	"math"
)

// kept is a phrase as it is stored.
type kept struct {
	Say  string            `json:"say"`
	With []json.RawMessage `json:"with,omitempty"`
}

// MarshalJSON writes a phrase so that it can be said later, in any language.
func (p Phrase) MarshalJSON() ([]byte, error) {
	k := kept{Say: p.format}
	for _, arg := range p.args {
		switch arg.(type) {
		case Phrase, string, int, int64, float64:
		case fmt.Stringer:
			arg = fmt.Sprint(arg)
		}
		text, err := json.Marshal(arg)
		if err != nil {
			return nil, fmt.Errorf("write a blank of %q: %w", p.format, err)
		}
		k.With = append(k.With, text)
	}
	return json.Marshal(k)
}

// UnmarshalJSON reads what MarshalJSON wrote.
func (p *Phrase) UnmarshalJSON(text []byte) error {
	var k kept
	if err := json.Unmarshal(text, &k); err != nil {
		return err
	}
	*p = Phrase{format: k.Say}
	for _, raw := range k.With {
		arg, err := blankOf(raw)
		if err != nil {
			return fmt.Errorf("read a blank of %q: %w", k.Say, err)
		}
		p.args = append(p.args, arg)
	}
	return nil
}

func blankOf(raw json.RawMessage) (any, error) {
	if len(raw) > 0 && raw[0] == '{' {
		var inner Phrase
		err := json.Unmarshal(raw, &inner)
		return inner, err
	}
	var arg any
	if err := json.Unmarshal(raw, &arg); err != nil {
		return nil, err
	}
	if n, ok := arg.(float64); ok && n == math.Trunc(n) && math.Abs(n) < 1<<53 {
		return int(n), nil // %d wants a whole number
	}
	return arg, nil
}
