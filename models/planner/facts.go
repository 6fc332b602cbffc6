package planner

import (
	"encoding/json"
	"fmt"

	"faceside/models"
	"faceside/models/pattern"
)

// facts is what the checks must know of a piece beyond its rows: it is kept
// with the piece, as JSON, so that its order of work can be read back.
type facts struct {
	Title      string                   `json:"title,omitempty"`
	Measures   []pattern.MeasureValue   `json:"measures,omitempty"`
	Choices    []pattern.ChoiceValue    `json:"choices,omitempty"`
	Assemblies map[string]assemblyFacts `json:"assemblies,omitempty"` // by key
	Steps      map[string]stepFacts     `json:"steps,omitempty"`      // by key
}

type assemblyFacts struct {
	Size  pattern.Size      `json:"size"`
	Loose []string          `json:"loose,omitempty"`
	Parts []pattern.PartUse `json:"parts,omitempty"` // in the pattern's order
}

// stepFacts hold while the step is of the same kind, at the same station and
// under the same setup: a maker who changes those says something else.
type stepFacts struct {
	Of         string                 `json:"of"`
	With       []pattern.MeasureValue `json:"with,omitempty"`
	KeepsFaces bool                   `json:"keeps_faces,omitempty"`
	Setup      *pattern.Setup         `json:"setup,omitempty"` // where the station is not set up as a whole
	Parts      []pattern.PartUse      `json:"parts,omitempty"` // in the pattern's order
}

// ofWords names what a step's facts hang on.
func ofWords(kind, station string, setup *pattern.Setup) string {
	if setup == nil {
		return kind + " at " + station
	}
	return kind + " at " + station + ", " + setup.State
}

// factsOf writes the facts of what a pattern made.
func factsOf(built *pattern.Built, k *keys) (string, error) {
	f := facts{Title: built.Title, Measures: built.Measures, Choices: built.Choices,
		Assemblies: map[string]assemblyFacts{}, Steps: map[string]stepFacts{}}
	for _, a := range built.Assemblies {
		f.Assemblies[a.Key] = assemblyFacts{Size: a.Size, Loose: a.Loose, Parts: a.Parts}
	}
	for i := range built.Steps {
		st := &built.Steps[i]
		one := stepFacts{With: st.With, KeepsFaces: st.KeepsFaces, Parts: st.Parts}
		setup := st.Setup
		if at := k.stations[st.Station]; at != nil && at.Places > 1 {
			one.Setup, setup = setup, nil
		}
		one.Of = ofWords(st.Kind, st.Station, setup)
		f.Steps[st.Key] = one
	}
	text, err := json.Marshal(f)
	if err != nil {
		return "", fmt.Errorf("writing the facts of %s: %w", built.Title, err)
	}
	return string(text), nil
}

// readFacts reads the facts of a piece; those from before there were any are none.
func readFacts(p *models.Piece) (facts, error) {
	var f facts
	if p.Facts == "" {
		return f, nil
	}
	if err := json.Unmarshal([]byte(p.Facts), &f); err != nil {
		return f, fmt.Errorf("reading the facts of the piece %q: %w", p.Name, err)
	}
	return f, nil
}

// step finds the facts that still hold of a recorded step. A step that was split
// from another has those of that one.
func (f *facts) step(st *models.Step, station string, setup *pattern.Setup) stepFacts {
	one, ok := f.Steps[st.Key]
	if !ok {
		one, ok = f.Steps[st.FirstKey()]
	}
	if !ok || one.Of != ofWords(st.Kind, station, setup) {
		return stepFacts{}
	}
	return one
}
