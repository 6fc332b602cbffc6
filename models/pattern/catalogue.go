package pattern

import (
	"fmt"
	"maps"
	"slices"

	"faceside/models/wood"
)

// Catalogue is the step catalogue: every kind of step the shop's patterns may use.
type Catalogue struct {
	file  string
	kinds map[string]*kind
}

// Kinds lists the keys of the step kinds, sorted.
func (c *Catalogue) Kinds() []string {
	keys := make([]string, 0, len(c.kinds))
	for k := range c.kinds {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

// kind is what a step kind knows.
type kind struct {
	key, name     string
	phase         Phase
	verb          string
	says          *template // the step's name where the pattern gives none
	station       string    // kind of station
	parameters    []parameter
	handles       *handling // nil: no limit of the station matters
	instead       string    // the kind to take where no station takes the work, or ""
	setup         *kindSetup
	time          timing
	interruptible bool
	takesOff      []wood.Work // what milling takes off a part
	dusty, wet    bool
	glued, coated bool // must be given a glue, a finish
	jig           bool // makes a template or jig: works on no part
	hands         *formula
	clamps        *kindClamps
	open          *timing // from first glue to last clamp; nil: no glue
	rest          Rest
	restMinutes   *formula
	cautions      []string
}

// parameter is a value a pattern gives to a step; optional where it has a fallback.
type parameter struct {
	key      string
	sort     sort
	fallback *formula
}

// handling says how a part meets the station's limits.
type handling struct {
	rough  bool // by its rough size, else by its finished size
	onEdge bool // its thickness meets the width limit and its width the thickness limit
}

type kindSetup struct {
	family     string
	state, say *template
}

type kindClamps struct{ count, reach *formula }

// timing is minutes of attended time: fixed, and for each piece, metre and
// square metre worked. Any of the four may be nil.
type timing struct{ fixed, perPiece, perMetre, perSquareMetre *formula }

// materialReach are the times in minutes of a step's glue and finish, 0 where
// it has none. Step kinds and the lags of links may use them.
var materialReach = names{
	"glue_open": isNumber, "glue_clamp": isNumber, "glue_cure": isNumber,
	"finish_dry": isNumber, "recoat_least": isNumber, "recoat_greatest": isNumber, "finish_cure": isNumber,
}

// workReach is how much a step works: pieces, metres and square metres of them,
// and the greatest size of one piece. Step kinds may use it.
var workReach = names{
	"pieces": isNumber, "run": isNumber, "surface": isNumber, "long": isLength, "wide": isLength, "thick": isLength,
}

type catalogueDoc struct {
	Cautions pairs     `yaml:"cautions"`
	Kinds    []kindDoc `yaml:"kinds"`
}

type kindDoc struct {
	Key           scalar         `yaml:"key"`
	Name          scalar         `yaml:"name"`
	Phase         scalar         `yaml:"phase"`
	Verb          scalar         `yaml:"verb"`
	Says          scalar         `yaml:"says"`
	Station       scalar         `yaml:"station"`
	Parameters    []parameterDoc `yaml:"parameters"`
	Handles       *handlesDoc    `yaml:"handles"`
	Instead       scalar         `yaml:"instead"`
	Setup         *setupDoc      `yaml:"setup"`
	Time          timeDoc        `yaml:"time"`
	Interruptible scalar         `yaml:"interruptible"`
	TakesOff      list           `yaml:"takes_off"`
	Dusty         scalar         `yaml:"dusty"`
	Wet           scalar         `yaml:"wet"`
	Glued         scalar         `yaml:"glued"`
	Coated        scalar         `yaml:"coated"`
	Jig           scalar         `yaml:"jig"`
	Hands         scalar         `yaml:"hands"`
	Clamps        *clampsDoc     `yaml:"clamps"`
	Open          *timeDoc       `yaml:"open"`
	Rest          *restDoc       `yaml:"rest"`
	Cautions      list           `yaml:"cautions"`
}

type parameterDoc struct {
	Key      scalar `yaml:"key"`
	Is       scalar `yaml:"is"`
	Fallback scalar `yaml:"fallback"`
}

type handlesDoc struct {
	Size scalar `yaml:"size"`
	Lies scalar `yaml:"lies"`
}

type setupDoc struct {
	Family scalar `yaml:"family"`
	State  scalar `yaml:"state"`
	Say    scalar `yaml:"say"`
}

type timeDoc struct {
	Fixed          scalar `yaml:"fixed"`
	PerPiece       scalar `yaml:"per_piece"`
	PerMetre       scalar `yaml:"per_metre"`
	PerSquareMetre scalar `yaml:"per_square_metre"`
}

type clampsDoc struct {
	Count scalar `yaml:"count"`
	Reach scalar `yaml:"reach"`
}

type restDoc struct {
	Is      scalar `yaml:"is"`
	Minutes scalar `yaml:"minutes"`
}

// ReadCatalogue reads a step catalogue; name is the file's name for errors,
// which are *FileError.
func ReadCatalogue(name string, data []byte) (*Catalogue, error) {
	var doc catalogueDoc
	if err := decode(name, data, &doc); err != nil {
		return nil, err
	}
	r := &reader{file: name}
	if len(doc.Kinds) == 0 {
		r.fail(scalar{}, "kinds", "no step kind stands in the file")
	}
	cautions := map[string]string{}
	for _, c := range doc.Cautions {
		cautions[c.key.text] = c.value.text
	}
	c := &Catalogue{file: name, kinds: map[string]*kind{}}
	taken := map[string]bool{}
	for i, d := range doc.Kinds {
		key := r.key(d.Key, d.Name, fmt.Sprintf("kinds[%d].key", i), taken)
		c.kinds[key] = r.kind(d, "kinds."+key, cautions)
	}
	for _, d := range doc.Kinds {
		if other := c.kinds[d.Instead.text]; r.err == nil && d.Instead.set && (other == nil || len(other.parameters) > 0 || other.instead != "") {
			r.fail(d.Instead, "kinds."+d.Key.text+".instead", "%q must be a kind without parameters that has no kind in its own stead", d.Instead.text)
		}
	}
	if r.err != nil {
		return nil, r.err
	}
	return c, nil
}

// kind checks one step kind.
func (r *reader) kind(d kindDoc, at string, cautions map[string]string) *kind {
	k := &kind{key: d.Key.text}
	k.name = r.need(d.Name, d.Key, at+".name")
	k.phase = Phase(r.oneOf(d.Phase, d.Key, at+".phase", phaseNames...))
	k.verb = r.need(d.Verb, d.Key, at+".verb")
	k.station = r.need(d.Station, d.Key, at+".station")
	reach := maps.Clone(workReach)
	maps.Copy(reach, materialReach)
	for i, p := range d.Parameters {
		k.parameters = append(k.parameters, r.parameter(p, d.Key, fmt.Sprintf("%s.parameters[%d]", at, i), reach))
	}
	if r.need(d.Says, d.Key, at+".says"); r.err == nil {
		k.says = r.template(d.Says, at+".says", reach)
	}
	k.handles, k.instead = r.handles(d.Handles, at+".handles"), d.Instead.text
	k.setup = r.setup(d.Setup, d.Key, at+".setup", reach)
	k.time = r.timing(d.Time, at+".time", reach)
	if k.time == (timing{}) {
		r.fail(d.Key, at+".time", "it is missing")
	}
	k.interruptible = r.truth(d.Interruptible, at+".interruptible", true)
	for _, w := range d.TakesOff {
		k.takesOff = append(k.takesOff, wood.Work(r.oneOf(w, d.Key, at+".takes_off", millingWorks...)))
	}
	k.dusty, k.wet = r.truth(d.Dusty, at+".dusty", false), r.truth(d.Wet, at+".wet", false)
	k.glued, k.coated = r.truth(d.Glued, at+".glued", false), r.truth(d.Coated, at+".coated", false)
	k.jig = r.truth(d.Jig, at+".jig", false)
	k.hands = r.formula(d.Hands, at+".hands", isNumber, reach)
	r.kindClamps(k, d, at, reach)
	for _, c := range d.Cautions {
		if cautions[c.text] == "" {
			r.fail(c, at+".cautions", "no caution is called %q", c.text)
		}
		k.cautions = append(k.cautions, cautions[c.text])
	}
	return k
}

var phaseNames = []string{
	string(Milling), string(Joinery), string(GlueUp), string(Shaping), string(Sanding), string(Finishing), string(Fitting),
}

// parameter checks one parameter and puts its name in reach.
func (r *reader) parameter(d parameterDoc, near scalar, at string, reach names) parameter {
	p := parameter{key: r.name(d.Key, near, at+".key", reach)}
	p.sort = r.sort(d.Is, d.Key, at+".is")
	p.fallback = r.formula(d.Fallback, at+".fallback", p.sort, reach)
	reach[p.key] = p.sort
	return p
}

// sort reads what sort of value something is.
func (r *reader) sort(s, near scalar, at string) sort {
	switch r.oneOf(s, near, at, "length", "number", "text") {
	case "length":
		return isLength
	case "number":
		return isNumber
	}
	return isText
}

func (r *reader) handles(d *handlesDoc, at string) *handling {
	if d == nil {
		return nil
	}
	h := &handling{}
	h.rough = d.Size.set && r.oneOf(d.Size, d.Size, at+".size", "rough", "finished") == "rough"
	h.onEdge = d.Lies.set && r.oneOf(d.Lies, d.Lies, at+".lies", "face", "edge") == "edge"
	return h
}

func (r *reader) setup(d *setupDoc, near scalar, at string, reach names) *kindSetup {
	if d == nil {
		return nil
	}
	s := &kindSetup{family: r.need(d.Family, near, at+".family")}
	r.need(d.State, near, at+".state")
	r.need(d.Say, near, at+".say")
	s.state = r.template(d.State, at+".state", reach)
	s.say = r.template(d.Say, at+".say", reach)
	return s
}

func (r *reader) timing(d timeDoc, at string, reach names) timing {
	return timing{
		fixed:          r.formula(d.Fixed, at+".fixed", isNumber, reach),
		perPiece:       r.formula(d.PerPiece, at+".per_piece", isNumber, reach),
		perMetre:       r.formula(d.PerMetre, at+".per_metre", isNumber, reach),
		perSquareMetre: r.formula(d.PerSquareMetre, at+".per_square_metre", isNumber, reach),
	}
}

// kindClamps checks what holds the work and for how long: clamps, open time, rest.
func (r *reader) kindClamps(k *kind, d kindDoc, at string, reach names) {
	if d.Clamps != nil {
		k.clamps = &kindClamps{
			count: r.needFormula(d.Clamps.Count, d.Key, at+".clamps.count", isNumber, reach),
			reach: r.needFormula(d.Clamps.Reach, d.Key, at+".clamps.reach", isLength, reach),
		}
	}
	if d.Open != nil {
		open := r.timing(*d.Open, at+".open", reach)
		k.open = &open
	}
	if d.Rest != nil {
		k.rest = Rest(r.oneOf(d.Rest.Is, d.Key, at+".rest.is", string(InClamps), string(Drying), string(Resting)))
		k.restMinutes = r.needFormula(d.Rest.Minutes, d.Key, at+".rest.minutes", isNumber, reach)
	}
	if k.glued != (k.open != nil) {
		r.fail(d.Key, at+".open", "a kind that takes glue says how long the glue must stay open, and only such a kind does")
	}
}
