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

func write(w io.Writer, value any) error {
	text, err := json.Marshal(value, json.Deterministic(true), jsontext.WithIndent(" "))
	if err != nil {
		return err
	}
	_, err = w.Write(append(text, '\n'))
	return err
}
