package pattern

// The shape of a pattern file. Every field that holds an expression is marked
// with the sort of value it gives. seed/patterns holds examples.

type patternDoc struct {
	Pattern    scalar        `yaml:"pattern"` // the key
	Title      scalar        `yaml:"title"`
	Blurb      scalar        `yaml:"blurb"`
	Is         scalar        `yaml:"is"` // piece or sub-assembly
	Choices    []choiceDoc   `yaml:"choices"`
	Measures   []measureDoc  `yaml:"measures"`
	Let        pairs         `yaml:"let"`   // name: expression, each may use those before
	Must       []ruleDoc     `yaml:"must"`  // what must hold between the values
	Takes      takesDoc      `yaml:"takes"` // parts and assemblies given by the pattern that uses this one
	Parts      []partDoc     `yaml:"parts"`
	Assemblies []assemblyDoc `yaml:"assemblies"`
	Uses       []useDoc      `yaml:"uses"`
	Steps      []stepDoc     `yaml:"steps"`
	Points     []pointDoc    `yaml:"points"`
	Chains     []chainDoc    `yaml:"chains"`
	Links      []linkDoc     `yaml:"links"`
	Drawing    *drawingDoc   `yaml:"drawing"`
	Changes    *changesDoc   `yaml:"changes"` // what a maker changed of all this by hand
}

type choiceDoc struct {
	Key     scalar      `yaml:"key"`
	Name    scalar      `yaml:"name"`
	Help    scalar      `yaml:"help"`
	From    scalar      `yaml:"from"` // species, glues or finishes; options are then keys of those
	Options []optionDoc `yaml:"options"`
	Default scalar      `yaml:"default"`
}

type optionDoc struct {
	Key  scalar `yaml:"key"`
	Name scalar `yaml:"name"`
}

type measureDoc struct {
	Key      scalar `yaml:"key"`
	Name     scalar `yaml:"name"`
	Help     scalar `yaml:"help"`
	Is       scalar `yaml:"is"`       // length, count or number
	Default  scalar `yaml:"default"`  // of choices and earlier measures
	Least    scalar `yaml:"least"`    // of choices and all measures
	Greatest scalar `yaml:"greatest"` // of choices and all measures
}

type ruleDoc struct {
	Hold    scalar `yaml:"hold"`    // truth
	Measure scalar `yaml:"measure"` // the measure to blame
	Say     scalar `yaml:"say"`     // template
}

type takesDoc struct {
	Parts      list `yaml:"parts"`
	Assemblies list `yaml:"assemblies"`
}

type partDoc struct {
	Key       scalar   `yaml:"key"`
	Name      scalar   `yaml:"name"` // template
	When      scalar   `yaml:"when"` // truth
	Quantity  scalar   `yaml:"quantity"`
	Length    scalar   `yaml:"length"` // along the grain
	Width     scalar   `yaml:"width"`
	Thickness scalar   `yaml:"thickness"`
	Rough     roughDoc `yaml:"rough"`
	Species   scalar   `yaml:"species"` // text: a species key
	Grain     scalar   `yaml:"grain"`   // length, width or none
	Note      scalar   `yaml:"note"`    // template
	Bought    scalar   `yaml:"bought"`  // true: comes finished, needs no milling
}

// roughDoc is what is added to the finished size. Nothing given: rough.go works it out.
type roughDoc struct {
	Length    scalar `yaml:"length"`
	Width     scalar `yaml:"width"`
	Thickness scalar `yaml:"thickness"`
}

type assemblyDoc struct {
	Key        scalar  `yaml:"key"`
	Name       scalar  `yaml:"name"` // template
	When       scalar  `yaml:"when"`
	Parts      uses    `yaml:"parts"`
	Assemblies list    `yaml:"assemblies"`
	Loose      list    `yaml:"loose"` // of its parts and assemblies, those held without glue
	Size       sizeDoc `yaml:"size"`
}

type sizeDoc struct {
	Length    scalar `yaml:"length"`
	Width     scalar `yaml:"width"`
	Thickness scalar `yaml:"thickness"`
}

type useDoc struct {
	Pattern    scalar `yaml:"pattern"`
	As         scalar `yaml:"as"`   // the prefix of its keys
	Here       scalar `yaml:"here"` // template: what it is called, e.g. "left end"
	When       scalar `yaml:"when"`
	Measures   pairs  `yaml:"measures"`
	Choices    pairs  `yaml:"choices"`
	Parts      pairs  `yaml:"parts"`      // taken part: part of ours
	Assemblies pairs  `yaml:"assemblies"` // taken assembly: assembly of ours
}

type stepDoc struct {
	Key        scalar `yaml:"key"`
	Kind       scalar `yaml:"kind"`
	Name       scalar `yaml:"name"` // template
	When       scalar `yaml:"when"`
	Parts      uses   `yaml:"parts"`
	Assemblies list   `yaml:"assemblies"`
	Makes      scalar `yaml:"makes"`
	With       pairs  `yaml:"with"` // parameters of the kind
	Glue       scalar `yaml:"glue"` // text: a glue key
	Finish     scalar `yaml:"finish"`
	Pieces     scalar `yaml:"pieces"`      // number: instead of the parts' quantity
	Run        scalar `yaml:"run"`         // length: instead of the parts' length
	Surface    scalar `yaml:"surface"`     // number of square metres: instead of the parts' faces
	KeepsFaces scalar `yaml:"keeps_faces"` // truth: shaping that leaves flat the faces that later clamps bear on
	Note       scalar `yaml:"note"`        // template
}

type pointDoc struct {
	Key   scalar `yaml:"key"`
	Steps list   `yaml:"steps"`
}

type chainDoc struct {
	Steps []list `yaml:"steps"`
	Why   scalar `yaml:"why"`
}

type linkDoc struct {
	Before   list   `yaml:"before"`
	After    list   `yaml:"after"`
	When     scalar `yaml:"when"`
	From     scalar `yaml:"from"`     // end, start or attended
	Least    scalar `yaml:"least"`    // number of minutes
	Greatest scalar `yaml:"greatest"` // number of minutes; 0: no greatest
	Why      scalar `yaml:"why"`
}
