package wood

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// PSI is a pressure in pounds-force per square inch; 145 PSI are about 1 MPa.
type PSI float64

// Pounds is a force in pounds-force; 1 lbf is 4.448 N.
type Pounds float64

// Exact by definition (pound-force and inch; NIST SP 811, Appendix B, from memory).
const (
	newtonPerPound  = 4.4482216152605
	megapascalPerPS = newtonPerPound / (25.4 * 25.4)
)

// Megapascals is the pressure in MPa (N/mm²).
func (p PSI) Megapascals() float64 { return float64(p) * megapascalPerPS }

// Newtons is the force in N.
func (p Pounds) Newtons() float64 { return float64(p) * newtonPerPound }

// Pressure is the range of pressure on a glue line that one source gives for a glue and
// a class of wood.
type Pressure struct {
	Glue        string // key of a GlueClass
	Density     Density
	Least, Most PSI
	Mark        Mark
	Source      string
}

// Pressures lists what is printed. The sources conflict: the last rows give less for
// PVA than the first. The first row of a glue and a class is the one that Clamping
// plans with, and the glue's own sheet overrides it.
var Pressures = []Pressure{
	{"pva", Light, 100, 150, Read, "WOOD magazine, September 2021"},
	{"pva", Medium, 125, 175, Memory, "between the two that WOOD magazine prints"},
	{"pva", Dense, 175, 250, Read, "WOOD magazine, September 2021"},
	{"polyurethane", Light, 14, 100, Read, "boatcraft.com.au, 1 to 7 kg/cm²"},
	{"polyurethane", Medium, 14, 213, Read, "boatcraft.com.au, both of its ranges"},
	{"polyurethane", Dense, 71, 213, Read, "boatcraft.com.au, 5 to 15 kg/cm²"},
	{"epoxy", Light, 25, 50, Quoted, "craftedwoodcreations.com"},
	{"epoxy", Medium, 25, 50, Quoted, "craftedwoodcreations.com"},
	{"epoxy", Dense, 25, 50, Quoted, "craftedwoodcreations.com"},
	{"hide", Light, 75, 125, Quoted, "craftedwoodcreations.com"},
	{"hide", Medium, 75, 125, Quoted, "craftedwoodcreations.com"},
	{"hide", Dense, 75, 125, Quoted, "craftedwoodcreations.com"},
	{"pva", Light, 100, 100, Memory, "Wood Handbook, FPL-GTR-282 (2021), chapter 10"},
	{"pva", Dense, 247, 247, Memory, "Wood Handbook, FPL-GTR-282 (2021), chapter 10: up to"},
	{"pva", Light, 60, 100, Quoted, "timbecon.com.au"},
	{"pva", Dense, 175, 250, Quoted, "timbecon.com.au"},
	{"pva", Light, 50, 75, Quoted, "craftedwoodcreations.com"},
	{"pva", Dense, 100, 150, Quoted, "craftedwoodcreations.com"},
}

// PressureFor is the pressure planned with for a glue (its GlueClass key) on a class of
// wood: the first row of Pressures for the two.
func PressureFor(glue string, density Density) (Pressure, error) {
	if glue == "pva-slow" {
		glue = "pva" // it differs in its open time only
	}
	i := slices.IndexFunc(Pressures, func(p Pressure) bool { return p.Glue == glue && p.Density == density })
	if i >= 0 {
		return Pressures[i], nil
	}
	if !slices.Contains([]Density{Light, Medium, Dense}, density) {
		return Pressure{}, &Error{Field: "density", Value: string(density), Limit: "light, medium or dense",
			Message: fmt.Sprintf("The density %q is none of light, medium and dense.", string(density))}
	}
	var glues []string
	for _, p := range Pressures {
		if !slices.Contains(glues, p.Glue) {
			glues = append(glues, p.Glue)
		}
	}
	known := strings.Join(glues, ", ")
	return Pressure{}, &Error{Field: "glue", Value: glue, Limit: "one of " + known,
		Message: fmt.Sprintf("No clamping pressure is known for the glue %q; known are %s.", glue, known)}
}

// JointForce is the force that brings a glue line of a length and a width, both 0 or
// more, to a pressure: area times pressure.
func JointForce(length, width Length, pressure PSI) Pounds {
	return Pounds(inches(length) * inches(width) * float64(pressure))
}

// ClampsByForce is the least number of clamps that give a force, each giving each:
// ceil(force / each). Source: WOOD magazine, September 2021, whose joint of 1 in by
// 25 in at 150 psi takes 3750 lb: 9 clamps of 417 lb or 8 of 469 lb.
func ClampsByForce(force, each Pounds) (int, error) {
	if err := firstOf(span{"force", 0, 1e7, "lb"}.check(float64(force)), span{"force of a clamp", 1, 1e5, "lb"}.check(float64(each))); err != nil {
		return 0, err
	}
	return int(math.Ceil(float64(force/each) - 1e-9)), nil
}

// ClampSpacing is how far apart clamps may stand along a glue line: force spreads at
// about 45 degrees to each side, so twice the width of wood between jaw and joint, the
// caul's thickness included; the first clamp stands half a spacing from the end. The
// rule is from memory.
func ClampSpacing(jawToJoint, caul Length) Length { return 2 * (jawToJoint + caul) }

// Joint is a glue line to be clamped.
type Joint struct {
	Length     Length // along the glue line
	Width      Length // of the glue line: for an edge joint the boards' thickness
	JawToJoint Length // width of wood between jaw and glue line, the narrower side
	Caul       Length // thickness of the caul under the jaw; 0 for none
}

// Clamping is how a joint is clamped.
type Clamping struct {
	Count             int
	BySpread, ByForce int    // what each rule asks; Count is the greater, 2 at least
	Spacing, FromEnd  Length // between clamps, and from the joint's end to the first
	Each              Pounds // to be given by each of Count clamps
}

// Clamp is how many clamps a joint needs, and where, when each can give a force: by
// the spread of force and by the least of the pressure range, and 2 at least.
func (j Joint) Clamp(p Pressure, strongest Pounds) (Clamping, error) {
	err := firstOf(sound("length of the joint", j.Length), sound("width of the joint", j.Width), sound("wood between jaw and joint", j.JawToJoint))
	if err == nil && j.Caul != 0 {
		err = sound("caul", j.Caul)
	}
	if err != nil {
		return Clamping{}, err
	}
	force := JointForce(j.Length, j.Width, p.Least)
	byForce, err := ClampsByForce(force, strongest)
	if err != nil {
		return Clamping{}, err
	}
	bySpread := int(up(j.Length, ClampSpacing(j.JawToJoint, j.Caul)))
	n := max(2, byForce, bySpread)
	spacing := j.Length / Length(n)
	return Clamping{Count: n, BySpread: bySpread, ByForce: byForce, Spacing: spacing, FromEnd: spacing / 2, Each: force / Pounds(n)}, nil
}
