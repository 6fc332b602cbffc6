package wood

import (
	"fmt"
	"maps"
	"slices"
	"strings"
)

// Density is a class of wood by how hard a joint in it must be clamped. Which wood is
// in which class is common practice, no source.
type Density string

// The classes of density.
const (
	Light  Density = "light"
	Medium Density = "medium"
	Dense  Density = "dense"
)

// Mark says how a figure of a table came here.
type Mark string

// The marks.
const (
	Read   Mark = "read"        // seen in the table named as the source
	Quoted Mark = "quoted"      // seen only where somebody quotes the table
	Memory Mark = "from memory" // not seen in print; check it before relying on it
)

// Species is one wood and how it moves with its moisture.
type Species struct {
	Key, Name string
	Density   Density
	// Shrinkage across the rings and along them, in per cent, from green to ovendry.
	Radial, Tangential float64
	ShrinkageMark      Mark
	// Change of size for each per cent of moisture content between 6 and 14 %, as a
	// fraction of the size.
	CR, CT         float64
	CRMark, CTMark Mark
}

// species is the table of woods.
//
// Sources: shrinkage from the Wood Handbook, USDA Forest Products Laboratory
// FPL-GTR-190 (2010), Table 4-3 (domestic) and Table 4-4 (imported), coefficients from
// Table 13-5. Quoted: "Dimensional change coefficients" as flooringartists.com and
// highwayflooring.com print them from the same Handbook. For the oaks, hickory,
// southern pine and Douglas-fir the coefficients are those of the commercial group or
// the coast type; the shrinkage of red oak is that of the northern one, which is less
// than its group's coefficient would tell. The tangential coefficient of mahogany does not fit its shrinkage
// (4.1 % would give about .0014) and a trade page prints the same .00238 for another
// wood: it is kept as the safer of the two and must be checked.
var species = []Species{
	{"red-alder", "Red alder", Light, 4.4, 7.3, Read, .00151, .00256, Read, Read},
	{"white-ash", "White ash", Dense, 4.9, 7.8, Read, .00169, .00274, Read, Read},
	{"black-ash", "Black ash", Medium, 5.0, 7.8, Read, .00172, .00274, Read, Read},
	{"basswood", "Basswood", Light, 6.6, 9.3, Read, .00230, .00330, Read, Read},
	{"american-beech", "American beech", Dense, 5.5, 11.9, Read, .00190, .00431, Read, Read},
	{"yellow-birch", "Yellow birch", Medium, 7.3, 9.5, Read, .00256, .00338, Read, Read},
	{"sweet-birch", "Sweet birch", Dense, 6.5, 9.0, Read, .00256, .00338, Read, Read},
	{"paper-birch", "Paper birch", Medium, 6.3, 8.6, Read, .00219, .00304, Read, Read},
	{"butternut", "Butternut", Light, 3.4, 6.4, Read, .00116, .00223, Read, Read},
	{"black-cherry", "Black cherry", Medium, 3.7, 7.1, Read, .00126, .00248, Read, Read},
	{"american-elm", "American elm", Medium, 4.2, 9.5, Read, .00144, .00338, Read, Read},
	{"hackberry", "Hackberry", Medium, 4.8, 8.9, Read, .00165, .00315, Read, Read},
	{"mockernut-hickory", "Mockernut hickory", Dense, 7.7, 11.0, Read, .00259, .00411, Memory, Quoted},
	{"pignut-hickory", "Pignut hickory", Dense, 7.2, 11.5, Read, .00259, .00411, Memory, Quoted},
	{"shagbark-hickory", "Shagbark hickory", Dense, 7.0, 10.5, Memory, .00259, .00411, Memory, Quoted},
	{"pecan-hickory", "Pecan hickory", Dense, 4.9, 8.9, Read, .00169, .00315, Read, Read},
	{"mahogany", "Mahogany (Swietenia)", Medium, 3.0, 4.1, Read, .00172, .00238, Memory, Memory},
	{"sugar-maple", "Hard maple", Dense, 4.8, 9.9, Memory, .00165, .00353, Read, Read},
	{"red-maple", "Red maple", Medium, 4.0, 8.2, Memory, .00137, .00289, Read, Read},
	{"silver-maple", "Silver maple", Medium, 3.0, 7.2, Memory, .00102, .00252, Read, Read},
	{"red-oak", "Red oak", Dense, 4.0, 8.6, Memory, .00158, .00369, Read, Read},
	{"white-oak", "White oak", Dense, 5.6, 10.5, Read, .00180, .00365, Read, Read},
	{"sassafras", "Sassafras", Light, 4.0, 6.2, Read, .00137, .00216, Read, Read},
	{"sweetgum", "Sweetgum", Medium, 5.3, 10.2, Read, .00183, .00365, Read, Read},
	{"sycamore", "American sycamore", Medium, 5.0, 8.4, Read, .00172, .00296, Read, Read},
	{"black-walnut", "Black walnut", Medium, 5.5, 7.8, Read, .00190, .00274, Read, Read},
	{"yellow-poplar", "Yellow-poplar", Light, 4.6, 8.2, Read, .00158, .00289, Memory, Memory},
	{"douglas-fir", "Douglas-fir", Light, 4.8, 7.6, Read, .00165, .00267, Memory, Quoted},
	{"eastern-white-pine", "Eastern white pine", Light, 2.1, 6.1, Memory, .00071, .00212, Memory, Memory},
	{"southern-yellow-pine", "Southern yellow pine", Medium, 4.8, 7.4, Memory, .00165, .00265, Memory, Quoted},
}

// tradeNames are other names of one wood.
var tradeNames = map[string]string{
	"alder": "red-alder", "beech": "american-beech", "cherry": "black-cherry", "walnut": "black-walnut",
	"hard-maple": "sugar-maple", "poplar": "yellow-poplar", "tulipwood": "yellow-poplar", "pecan": "pecan-hickory",
	"northern-red-oak": "red-oak", "white-pine": "eastern-white-pine",
}

// groups are names of several woods that move differently.
var groups = map[string][]string{
	"oak": {"red-oak", "white-oak"}, "ash": {"white-ash", "black-ash"},
	"hickory":    {"mockernut-hickory", "pignut-hickory", "shagbark-hickory", "pecan-hickory"},
	"maple":      {"sugar-maple", "red-maple", "silver-maple"},
	"soft-maple": {"red-maple", "silver-maple"},
	"birch":      {"yellow-birch", "sweet-birch", "paper-birch"},
	"pine":       {"eastern-white-pine", "southern-yellow-pine"},
}

// AllSpecies lists the woods of the table by key.
func AllSpecies() []Species {
	return slices.SortedFunc(slices.Values(species), func(a, b Species) int { return strings.Compare(a.Key, b.Key) })
}

// SpeciesOf is one wood by its key or trade name: "white-oak", "White Oak", "cherry".
// A name that covers several woods, such as "oak" or "hickory", is refused with their
// keys, as is a wood that is not in the table.
func SpeciesOf(name string) (Species, error) {
	key := keyOf(name)
	if of := groups[key]; of != nil {
		return Species{}, unknownSpecies(name, "one of "+strings.Join(of, ", "),
			fmt.Sprintf("%q is more than one wood, and they move differently; say which: %s.", name, strings.Join(of, ", ")))
	}
	i := slices.IndexFunc(species, func(s Species) bool { return s.Key == key })
	if i < 0 {
		known := strings.Join(slices.Sorted(maps.Keys(byKey())), ", ")
		return Species{}, unknownSpecies(name, "one of "+known, fmt.Sprintf("The species %q is not in the table of woods, which holds %s.", name, known))
	}
	return species[i], nil
}

// SafeSpeciesOf is SpeciesOf, but for a name that covers several woods it answers with
// the greatest of each of their figures: play that is enough whichever of them is
// bought. The marks are the weakest among them.
func SafeSpeciesOf(name string) (Species, error) {
	of := groups[keyOf(name)]
	if of == nil {
		return SpeciesOf(name)
	}
	all := byKey()
	safe := all[of[0]]
	for _, key := range of[1:] {
		s := all[key]
		safe.Radial, safe.Tangential = max(safe.Radial, s.Radial), max(safe.Tangential, s.Tangential)
		safe.CR, safe.CT = max(safe.CR, s.CR), max(safe.CT, s.CT)
		safe.ShrinkageMark = weaker(safe.ShrinkageMark, s.ShrinkageMark)
		safe.CRMark, safe.CTMark = weaker(safe.CRMark, s.CRMark), weaker(safe.CTMark, s.CTMark)
		safe.Density = harder(safe.Density, s.Density)
	}
	safe.Key, safe.Name = keyOf(name), "Any "+strings.ReplaceAll(keyOf(name), "-", " ")
	return safe, nil
}

// keyOf is the key a name is looked up by.
func keyOf(name string) string {
	key := strings.Join(strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return r == ' ' || r == '-' || r == '_' }), "-")
	if one := tradeNames[key]; one != "" {
		return one
	}
	return key
}

func byKey() map[string]Species {
	out := make(map[string]Species, len(species))
	for _, s := range species {
		out[s.Key] = s
	}
	return out
}

func unknownSpecies(name, limit, message string) error {
	return &Error{Field: "species", Value: name, Limit: limit, Message: message}
}

func weaker(a, b Mark) Mark {
	order := []Mark{Read, Quoted, Memory}
	return order[max(slices.Index(order, a), slices.Index(order, b))]
}

func harder(a, b Density) Density {
	order := []Density{Light, Medium, Dense}
	return order[max(slices.Index(order, a), slices.Index(order, b))]
}
