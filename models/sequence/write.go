package sequence

import (
	"fmt"
	"io"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"
)

// WritePlan writes the plan as the file contract says, indented, with a line
// break at its end. Lists that are empty are written as [].
func WritePlan(w io.Writer, plan *Plan) error {
	if err := write(w, plan); err != nil {
		return fmt.Errorf("writing the plan: %w", err)
	}
	return nil
}

// WriteProblem writes the problem as Read reads it.
func WriteProblem(w io.Writer, p *Problem) error {
	if err := write(w, p); err != nil {
		return fmt.Errorf("writing the problem: %w", err)
	}
	return nil
}

// WriteWhy writes why each task of a plan is where it is, and its floats: an object
// with the version of the contract and two lists, "whys" and "rooms", in the order of
// the problem's tasks.
func WriteWhy(w io.Writer, p *Problem, plan *Plan) error {
	whys, err := Explain(p, plan)
	if err != nil {
		return err
	}
	rooms, err := Floats(p, plan)
	if err != nil {
		return err
	}
	if err := write(w, struct {
		Version int    `json:"version"`
		Whys    []Why  `json:"whys"`
		Rooms   []Room `json:"rooms"`
	}{Version, whys, rooms}); err != nil {
		return fmt.Errorf("writing why: %w", err)
	}
	return nil
}

func write(w io.Writer, value any) error {
	text, err := json.Marshal(value, json.Deterministic(true), jsontext.WithIndent(" "))
	if err != nil {
		return err
	}
	_, err = w.Write(append(text, '\n'))
	return err
}
