package models

import (
	"database/sql/driver"
	"encoding/json"
	"fmt"
	"strings"

	"faceside/models/phrase"
)

// Notes are sentences that are stored so that they can be said in any language.
type Notes []phrase.Phrase

// String says them in English, one a line.
func (n Notes) String() string {
	said := make([]string, len(n))
	for i, p := range n {
		said[i] = p.String()
	}
	return strings.Join(said, "\n")
}

// Value writes them for the database; none are "".
func (n Notes) Value() (driver.Value, error) {
	if len(n) == 0 {
		return "", nil
	}
	text, err := json.Marshal([]phrase.Phrase(n))
	if err != nil {
		return nil, fmt.Errorf("write the notes: %w", err)
	}
	return string(text), nil
}

// Scan reads what Value wrote, and the plain lines of before notes were phrases.
func (n *Notes) Scan(value any) error {
	var text string
	switch value := value.(type) {
	case nil:
	case string:
		text = value
	case []byte:
		text = string(value)
	default:
		return fmt.Errorf("read the notes: %T is no text", value)
	}
	*n = nil
	if strings.HasPrefix(text, "[{") {
		var all []phrase.Phrase
		if err := json.Unmarshal([]byte(text), &all); err != nil {
			return fmt.Errorf("read the notes: %w", err)
		}
		*n = all
		return nil
	}
	for line := range strings.Lines(text) {
		if line = strings.TrimRight(line, "\n"); line != "" {
			*n = append(*n, phrase.Name(line))
		}
	}
	return nil
}
