package wood

import (
	"fmt"
	"slices"
	"strings"
)

// Size is a size in the three directions of the grain.
type Size struct{ Length, Width, Thickness Length }

// Work is a step of milling that takes something off a part.
type Work string

// The works that take something off, in the order in which they are usually done.
const (
	Crosscut   Work = "crosscut"    // rough length to length, both ends
	Flatten    Work = "flatten"     // the first face
	Plane      Work = "plane"       // the second face, to thickness
	JointEdge  Work = "joint edge"  // the first edge
	RipEdge    Work = "rip"         // the second edge, to width, with the saw's kerf
	FlushGlued Work = "flush glued" // a glued-up face, by drum sander or hand
	TrimGlued  Work = "trim glued"  // a glued-up panel, to length and width, after its glue-up
)

// allowances are what each work takes off. Common practice, no source; only the sum of
// flattening and planing is held to something printed: from 1 in rough they leave the
// 13/16 in of surfaced 4/4.
var allowances = map[Work]Size{
	Crosscut:   {Length: Inch},
	Flatten:    {Thickness: Inch / 8},
	Plane:      {Thickness: Inch / 16},
	JointEdge:  {Width: Inch / 8},
	RipEdge:    {Width: Inch / 8},
	FlushGlued: {Thickness: Inch / 16},
	TrimGlued:  {Length: Inch, Width: Inch / 2},
}

// A long board bows and a wide one cups, so flattening takes more. Common practice, no
// source.
const (
	bowFree = 4 * Foot // flattening takes bowMore more for each further 4 ft begun
	bowMore = Inch / 16
	cupFree = 8 * Inch // and cupMore more for each further 8 in of width begun
	cupMore = Inch / 16
)

// Rough is the size to cut a part at so that the works of a chain, in any order and
// some perhaps more than once, leave its finished size. least is the shortest length
// the shop's machines may take, 0 for none: machines differ, their manuals say (12 in
// is common: Popular Woodworking no. 165, page 55), and a part that is shorter is left
// long until it has passed them.
func Rough(finished Size, least Length, chain ...Work) (Size, error) {
	err := firstOf(sound("length", finished.Length), sound("width", finished.Width), sound("thickness", finished.Thickness))
	if err == nil && (least < 0 || least > Greatest) {
		err = &Error{Field: "least length", Value: least.Exactly(Millimetres), Limit: "0 to 100 m",
			Message: fmt.Sprintf("The least length, %s, must lie between 0 and 100 m.", least.Exactly(Millimetres))}
	}
	if err != nil {
		return Size{}, err
	}
	rough, flattened := finished, 0
	for _, w := range chain {
		a, known := allowances[w]
		if !known {
			return Size{}, unknownWork(w)
		}
		if w == Flatten {
			flattened++
		}
		rough = Size{rough.Length + a.Length, rough.Width + a.Width, rough.Thickness + a.Thickness}
	}
	rough.Length = max(rough.Length, least)
	more := further(rough.Length, bowFree)*bowMore + further(rough.Width, cupFree)*cupMore
	rough.Thickness += Length(flattened) * more
	return rough, nil
}

// further is how many times a length goes beyond a first free stretch, begun ones too.
func further(l, free Length) Length { return max(0, (l-1)/free) }

func unknownWork(w Work) error {
	var names []string
	for name := range allowances {
		names = append(names, string(name))
	}
	slices.Sort(names)
	known := strings.Join(names, ", ")
	return &Error{Field: "work", Value: string(w), Limit: "one of " + known,
		Message: fmt.Sprintf("The work %q is not known; known are %s.", string(w), known)}
}
