package pattern

import (
	"fmt"
	"strconv"

	"faceside/models/wood"
)

// Species is a kind of wood a pattern may be built in.
type Species struct {
	Key, Name string
	Density   string // "light", "medium" or "dense": how hard it must be clamped
	Caution   string
}

type speciesDoc struct {
	Species []struct {
		Key     scalar `yaml:"key"`
		Name    scalar `yaml:"name"`
		Density scalar `yaml:"density"`
		Caution scalar `yaml:"caution"`
	} `yaml:"species"`
}

// ReadSpecies reads the list of species; errors are *FileError.
func ReadSpecies(name string, data []byte) ([]Species, error) {
	var doc speciesDoc
	if err := decode(name, data, &doc); err != nil {
		return nil, err
	}
	r := &reader{file: name}
	taken := map[string]bool{}
	var out []Species
	for i, d := range doc.Species {
		at := fmt.Sprintf("species[%d]", i)
		out = append(out, Species{
			Key: r.key(d.Key, d.Name, at+".key", taken), Name: r.need(d.Name, d.Key, at+".name"),
			Density: r.oneOf(d.Density, d.Key, at+".density", "light", "medium", "dense"), Caution: d.Caution.text,
		})
	}
	if r.err != nil {
		return nil, r.err
	}
	return out, nil
}

type materialsDoc struct {
	Glues    []glueDoc   `yaml:"glues"`
	Finishes []finishDoc `yaml:"finishes"`
}

type glueDoc struct {
	Key       scalar `yaml:"key"`
	Name      scalar `yaml:"name"`
	Open      scalar `yaml:"open"`
	Clamp     scalar `yaml:"clamp"`
	Cure      scalar `yaml:"cure"`
	LeastTemp scalar `yaml:"least_temperature_c"`
	Caution   scalar `yaml:"caution"`
}

type finishDoc struct {
	Key            scalar `yaml:"key"`
	Name           scalar `yaml:"name"`
	Dry            scalar `yaml:"dry"`
	RecoatLeast    scalar `yaml:"recoat_least"`
	RecoatGreatest scalar `yaml:"recoat_greatest"`
	Cure           scalar `yaml:"cure"`
	LeastTemp      scalar `yaml:"least_temperature_c"`
	Caution        scalar `yaml:"caution"`
}

// ReadMaterials reads the generic classes of glue and finish, times in minutes;
// errors are *FileError.
func ReadMaterials(name string, data []byte) ([]Glue, []Finish, error) {
	var doc materialsDoc
	if err := decode(name, data, &doc); err != nil {
		return nil, nil, err
	}
	r := &reader{file: name}
	taken := map[string]bool{}
	var glues []Glue
	for i, d := range doc.Glues {
		at := fmt.Sprintf("glues[%d]", i)
		glues = append(glues, Glue{
			Key: r.key(d.Key, d.Name, at+".key", taken), Name: r.need(d.Name, d.Key, at+".name"),
			OpenMin: r.minutes(d.Open, d.Key, at+".open"), ClampMin: r.minutes(d.Clamp, d.Key, at+".clamp"),
			CureMin: r.minutes(d.Cure, d.Key, at+".cure"), LeastTempC: r.degrees(d.LeastTemp, d.Key, at+".least_temperature_c"),
			Caution: r.need(d.Caution, d.Key, at+".caution"),
		})
	}
	var finishes []Finish
	for i, d := range doc.Finishes {
		at := fmt.Sprintf("finishes[%d]", i)
		f := Finish{
			Key: r.key(d.Key, d.Name, at+".key", taken), Name: r.need(d.Name, d.Key, at+".name"),
			DryMin: r.minutes(d.Dry, d.Key, at+".dry"), RecoatLeastMin: r.minutes(d.RecoatLeast, d.Key, at+".recoat_least"),
			CureMin: r.minutes(d.Cure, d.Key, at+".cure"), LeastTempC: r.degrees(d.LeastTemp, d.Key, at+".least_temperature_c"),
			Caution: r.need(d.Caution, d.Key, at+".caution"),
		}
		if d.RecoatGreatest.set {
			f.RecoatGreatestMin = r.minutes(d.RecoatGreatest, d.Key, at+".recoat_greatest")
			if f.RecoatGreatestMin < f.RecoatLeastMin {
				r.fail(d.RecoatGreatest, at+".recoat_greatest", "%d is less than recoat_least, %d", f.RecoatGreatestMin, f.RecoatLeastMin)
			}
		}
		finishes = append(finishes, f)
	}
	if r.err != nil {
		return nil, nil, r.err
	}
	return glues, finishes, nil
}

// minutes is a whole number of minutes up to a year.
func (r *reader) minutes(s, near scalar, at string) int {
	text := r.need(s, near, at)
	n, err := strconv.Atoi(text)
	if err != nil || n < 1 || n > 525_600 {
		r.fail(s, at, "%q is not a whole number of minutes from 1 to 525600", text)
	}
	return n
}

func (r *reader) degrees(s, near scalar, at string) float64 {
	text := r.need(s, near, at)
	f, err := strconv.ParseFloat(text, 64)
	if err != nil || !(f > -40 && f < 60) {
		r.fail(s, at, "%q is not a temperature between -40 and 60 °C", text)
	}
	return f
}

// GenerousShop is a shop in which every pattern can be built: one unlimited
// station of each kind the catalogue names, and clamps of every reach. It is
// what patterns are checked against when they are read.
func (l *Library) GenerousShop() Shop {
	s := Shop{
		Glues: l.glues, Finishes: l.finishes, Units: wood.Millimetres, Fraction: 16,
		TemperatureC: 21, HumidityPct: 50, Hands: 4,
		Clamps: []ClampClass{
			{Key: "short", Name: "Short clamp", Reach: 300 * wood.Millimetre, Count: 200},
			{Key: "long", Name: "Long clamp", Reach: 4000 * wood.Millimetre, Count: 200},
		},
	}
	seen := map[string]bool{}
	for _, key := range l.catalogue.Kinds() {
		station := l.catalogue.kinds[key].station
		if !seen[station] {
			seen[station] = true
			s.Stations = append(s.Stations, Station{Key: station, Name: capital(station), Kind: station})
		}
	}
	return s
}
