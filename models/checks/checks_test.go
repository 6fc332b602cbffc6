package checks

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models/pattern"
	"faceside/models/wood"
)

// spoiled is an order of work with one thing put wrong, and the check that must
// object; as it was built, the same check has nothing to say.
type spoiled struct {
	check   string
	name    string
	in      pattern.Input
	shop    func(*pattern.Shop) // of both the good and the spoiled one
	spoil   func(*work)
	colder  func(*pattern.Shop) // of the spoiled one only
	plan    Plan
	means   string // a step or part that the finding must name
	nothing bool   // no single change mends it
}

var bench = pattern.Input{Pattern: "hall-bench"}

func choose(piece string, choices ...string) pattern.Input {
	in := pattern.Input{Pattern: piece, Choices: map[string]string{}}
	for i := 0; i < len(choices); i += 2 {
		in.Choices[choices[i]] = choices[i+1]
	}
	return in
}

func inches(s *pattern.Shop) { s.Units = wood.Inches }

var spoilings = []spoiled{
	{check: "circle", in: bench, nothing: true, means: "posts.face", spoil: func(w *work) {
		w.b.Links = append(w.b.Links, pattern.Link{Before: "fastening.fit", After: "posts.face", From: pattern.FromEnd})
	}},
	{check: "unknown", name: "station", in: bench, nothing: true, spoil: func(w *work) { w.step("clean").Station = "lathe" }},
	{check: "unknown", name: "part", in: bench, nothing: true, spoil: func(w *work) { w.step("clean").Parts = []pattern.PartUse{{Part: "handle", Quantity: 1}} }},
	{check: "unknown", name: "maker", in: bench, nothing: true, spoil: func(w *work) { w.step("glue-base").Makes = "" }},

	{check: "unknown", name: "two makers", in: bench, nothing: true, spoil: func(w *work) { w.step("clean").Makes = "base" }},
	{check: "unknown", name: "two steps of one key", in: bench, nothing: true, spoil: func(w *work) { w.b.Steps = append(w.b.Steps, *w.step("clean")) }},
	{check: "unknown", name: "a part of an assembly", in: bench, nothing: true, spoil: func(w *work) {
		a := w.assembly("base")
		a.Parts = append([]pattern.PartUse{{Part: "handle", Quantity: 1}}, a.Parts...)
	}},
	{check: "unknown", name: "holds itself", in: bench, nothing: true, spoil: func(w *work) { w.assembly("left-end.frame").Assemblies = []string{"base"} }},
	{check: "unknown", name: "link", in: bench, nothing: true, spoil: func(w *work) { w.b.Links = append(w.b.Links, pattern.Link{Before: "clean", After: "polish"}) }},

	// milling
	{check: "face-first", name: "left out", in: bench, means: "posts.plane", spoil: func(w *work) { w.drop("posts.face") }},
	{check: "face-first", name: "too late", in: bench, means: "posts.plane", spoil: func(w *work) { w.move(Move{Step: "posts.face", After: "posts.plane"}) }},
	{check: "edge-after-face", in: bench, means: "posts.edge", spoil: func(w *work) { w.move(Move{Step: "posts.face", After: "posts.edge"}) }},
	{check: "two-faces", name: "one face jointed", in: bench, means: "posts.plane", spoil: func(w *work) { w.drop("posts.edge") }},
	{check: "edge-before-rip", in: bench, means: "rails.rip", spoil: func(w *work) { w.drop("rails.edge") }},
	{check: "edge-before-rip", name: "bevel", in: pattern.Input{Pattern: "wall-shelf-unit"}, means: "cleat-rip", spoil: func(w *work) { w.drop("cleat-edge") }},
	{check: "crosscut-last", in: bench, means: "rails.cut", spoil: func(w *work) { w.move(Move{Step: "rails.cut", Before: "rails.plane"}) }},
	{check: "resawn-rest", in: bench, means: "seat.plane", spoil: func(w *work) { w.step("seat.rough-cut").Kind = "resaw" }},
	{check: "two-settings", in: bench, means: "posts.leg", spoil: func(w *work) {
		w.add("posts.plane", "posts.plane-2", "posts.plane", "posts.cut", func(s *pattern.Step) {
			s.Setup = &pattern.Setup{Family: "thickness", State: "thickness 44 mm"}
		})
	}},
	{check: "near-settings", in: bench, nothing: true, means: "rails.plane", spoil: func(w *work) {
		w.with("rails.plane", "thickness", value(w.step("seat.plane"), "thickness", 0)+mm/2)
	}},

	// machines
	{check: "planed-two-grains", name: "built-up rail", in: bench, means: "left-end.arch.flush", spoil: func(w *work) { w.step("left-end.arch.flush").Station = "planer" }},
	{check: "planed-two-grains", name: "frame", in: bench, means: "left-end.clean", spoil: func(w *work) { w.step("left-end.clean").Station = "planer" }},
	{check: "planed-end-grain", in: pattern.Input{Pattern: "end-grain-board"}, means: "flatten", spoil: func(w *work) { w.step("flatten").Station = "planer" }},
	{check: "wider-than-jointer", in: bench, means: "seat.face", spoil: func(w *work) {}, colder: func(s *pattern.Shop) { s.Stations[0].MaxWidth = 115 * mm }},
	{check: "two-drum-passes", in: bench, nothing: true, means: "seat.flatten-drum", spoil: func(w *work) {}, colder: func(s *pattern.Shop) { s.Stations[5].MaxWidth = 300 * mm }},
	{check: "beyond-station", name: "drum", in: bench, means: "seat.flatten-drum", spoil: func(w *work) {}, colder: func(s *pattern.Shop) { s.Stations[5].MaxWidth = 180 * mm }},
	{check: "beyond-station", name: "a second planer", in: bench, means: "seat.plane", spoil: func(w *work) {}, colder: func(s *pattern.Shop) {
		wide := s.Stations[1]
		wide.Key, wide.Name = "planer-2", "Wide planer"
		s.Stations = append(s.Stations, wide)
		s.Stations[1].MaxWidth = 118 * mm
	}},
	{check: "beyond-station", name: "too thick", in: bench, nothing: true, means: "posts.plane", spoil: func(w *work) { w.part("posts.leg").Rough.Thickness = 250 * mm }},
	{check: "too-short", name: "cut before", in: bench, means: "posts.face", spoil: func(w *work) {
		w.with("posts.cut", "length", 280*mm)
		w.move(Move{Step: "posts.cut", Before: "posts.face"})
	}},
	{check: "too-short", name: "short stock", in: bench, nothing: true, means: "rails.plane", spoil: func(w *work) { w.part("rails.rail").Rough.Length = 200 * mm }},
	{check: "too-thin", name: "planer", in: bench, nothing: true, means: "rails.plane", spoil: func(w *work) { w.part("rails.rail").Finished.Thickness = 4 * mm }},
	{check: "too-thin", name: "jointer", in: bench, nothing: true, means: "rails.face", spoil: func(w *work) { w.part("rails.rail").Rough.Thickness = 9 * mm }},
	{check: "short-at-router", in: bench, nothing: true, means: "slots", spoil: func(w *work) { w.with("rails.cut", "length", 250*mm) }},
	{check: "too-big-for-table", in: bench, nothing: true, means: "clean", spoil: func(w *work) { w.step("clean").Station = "router" }},

	// stock
	{check: "square-from-stock", in: bench, shop: inches, means: "posts.leg", spoil: func(w *work) {
		p := w.part("posts.leg")
		p.Rough.Thickness, p.Finished.Width, p.Finished.Thickness = 2*wood.Inch, 46*mm, 46*mm
	}},
	{check: "thickness-from-stock", name: "mm", in: bench, means: "rails.rail", spoil: func(w *work) {
		p := w.part("rails.rail")
		p.Rough.Thickness = p.Finished.Thickness + 3*mm
	}},
	{check: "thickness-from-stock", name: "inch", in: bench, shop: inches, means: "rails.rail", spoil: func(w *work) {
		p := w.part("rails.rail")
		p.Rough.Thickness, p.Finished.Thickness = wood.Inch, wood.Inch*7/8 // 4/4 leaves 13/16
	}},

	// joints
	{check: "joint-after-shaping", in: choose("table", "shape", "tapered"), means: "base.legs.taper", spoil: func(w *work) {
		w.step("base.legs.taper").KeepsFaces = false
		w.move(Move{Step: "base.legs.taper", Before: "base.legs.mortise"})
	}},
	{check: "trim-after-joint", in: bench, means: "left-end.arch.tenon", spoil: func(w *work) { w.move(Move{Step: "left-end.arch.tenon", Before: "left-end.arch.trim"}) }},
	{check: "dowel-exposed", name: "dowel", in: bench, means: "seat.drill", spoil: func(w *work) { w.with("seat.drill", "inset", 20*mm) }},
	{check: "dowel-exposed", name: "loose tenon", in: choose("hall-bench", "align", "loose-tenon"), means: "seat.slot", spoil: func(w *work) { w.with("seat.slot", "inset", 28*mm) }},
	{check: "dowel-exposed", name: "screw", in: bench, means: "seat.screw", spoil: func(w *work) {
		w.add("seat.drill", "seat.screw", "seat.drill", "seat.dry-fit", func(s *pattern.Step) {
			s.Kind, s.With = "pocket-holes", []pattern.MeasureValue{{Key: "inset", IsLength: true, Length: 18 * mm}}
		})
	}},
	{check: "mortise-walls", in: bench, nothing: true, means: "posts.mortise", spoil: func(w *work) { w.with("posts.mortise", "width", 30*mm) }},
	{check: "mortise-walls", name: "dowel", in: choose("hall-bench", "joint", "dowel"), nothing: true, means: "posts.drill", spoil: func(w *work) { w.with("posts.drill", "diameter", 24*mm) }},
	{check: "tenons-meet", name: "one rail's ends left square", in: bench, means: "left-end.arch.tenon", spoil: func(w *work) { w.drop("left-end.arch.mitre") }},
	{check: "tenons-meet", name: "all ends left square", in: bench, means: "rails.rail", spoil: func(w *work) {
		w.drop("left-end.arch.mitre")
		w.drop("right-end.arch.mitre")
		w.drop("rails.mitre")
	}},
	{check: "tenons-meet", name: "mitred too late", in: bench, means: "rails.tenon", spoil: func(w *work) { w.move(Move{Step: "rails.mitre", After: "glue-base"}) }},
	{check: "tenons-meet", name: "loose tenons", in: choose("hall-bench", "joint", "loose-tenon"), means: "rails.slot", spoil: func(w *work) { w.drop("rails.mitre-loose") }},
	{check: "tenons-meet", name: "dowels at one height", in: choose("hall-bench", "joint", "dowel"), means: "posts.drill", spoil: func(w *work) {
		s := w.step("posts.drill")
		s.With = slices.DeleteFunc(slices.Clone(s.With), func(v pattern.MeasureValue) bool { return v.Key == "apart" })
	}},
	{check: "tenons-meet", name: "rails in the middle of the legs", in: pattern.Input{Pattern: "table"}, means: "base.legs.leg", spoil: func(w *work) { w.with("base.legs.mortise", "middle", 0) }},
	{check: "dado-depth", in: pattern.Input{Pattern: "wall-shelf-unit"}, means: "carcase.dados", spoil: func(w *work) { w.with("carcase.dados", "depth", 12*mm) }},

	// glue
	{check: "open-time", name: "in stages", in: bench, means: "glue-base", spoil: func(w *work) { s := w.step("glue-base"); s.Attended, s.OpenTime = 30, 25 }},
	{check: "open-time", name: "a slower glue", in: bench, means: "left-end.glue-end", spoil: func(w *work) {
		s := w.step("left-end.glue-end")
		s.Attended, s.OpenTime = 30, 28 // three pieces do not make three stages
	}},
	{check: "glue-cold", in: choose("hall-bench", "glue", "hide"), means: "glue-base", spoil: func(w *work) {}, colder: func(s *pattern.Shop) { s.TemperatureC = 14 }},
	{check: "glue-cold", name: "every glue", in: bench, nothing: true, means: "glue-base", spoil: func(w *work) {}, colder: func(s *pattern.Shop) { s.TemperatureC = 8 }},
	{check: "clamp-time", in: bench, means: "glue-base", spoil: func(w *work) { w.step("glue-base").Unattended = 10 }},
	{check: "clamp-time", name: "in the cold", in: bench, means: "glue-base", spoil: func(w *work) {}, colder: func(s *pattern.Shop) { s.TemperatureC = 14 }},
	{check: "in-clamps", in: bench, means: "clean", spoil: func(w *work) { w.links("glue-base", "", atOnce) }},
	{check: "glue-clamps", name: "none", in: bench, means: "glue-base", spoil: func(w *work) { w.step("glue-base").Clamps = nil }},
	{check: "glue-clamps", name: "too many", in: bench, means: "left-end.glue-end", spoil: func(w *work) { w.step("left-end.glue-end").Clamps = []pattern.ClampUse{{Class: "f-300", Count: 16}} }},
	{check: "glue-clamps", name: "not in the shop", in: bench, means: "glue-base", spoil: func(w *work) { w.step("glue-base").Clamps = []pattern.ClampUse{{Class: "rope", Count: 2}} }},
	{check: "clamp-spacing", in: bench, means: "seat.glue", spoil: func(w *work) { w.step("seat.glue").Clamps = []pattern.ClampUse{{Class: "bar-600", Count: 2}} }},
	{check: "hands", in: bench, nothing: true, means: "clean", spoil: func(w *work) { w.step("clean").Hands = 5 }},
	{check: "glue-alone", in: bench, means: "glue-base", spoil: func(w *work) { w.assembly("base").Size.Length, w.step("glue-base").Hands = 2300*mm, 1 }},
	{check: "sunken-joints", in: bench, means: "seat.flatten-drum", spoil: func(w *work) {
		w.links("seat.glue", "seat.flatten-drum", func(l *pattern.Link) { l.Min = 0 })
	}},
	{check: "no-dry-fit", in: bench, means: "glue-base", spoil: func(w *work) { w.drop("dry-fit") }},
	{check: "glue-left-on", in: bench, means: "seat.flatten-drum", spoil: func(w *work) { w.drop("seat.clean") }},
	{check: "glue-left-on", name: "under the plane", in: pattern.Input{Pattern: "bookcase"}, means: "plinth.flush", spoil: func(w *work) { w.drop("plinth.clean") }},
	{check: "interrupted", in: bench, means: "glue-base", spoil: func(w *work) { w.step("glue-base").Interruptible = true }},
	{check: "interrupted", name: "coat", in: bench, means: "seat-finish.coat-2", spoil: func(w *work) { w.step("seat-finish.coat-2").Interruptible = true }},
	{check: "glue-on-finish", in: bench, means: "early-coat", spoil: func(w *work) {
		w.add("base-finish.coat-1", "early-coat", "sand-rails", "glue-base", func(s *pattern.Step) {
			s.Parts, s.Assemblies = []pattern.PartUse{{Part: "rails.rail", Quantity: 2}}, nil
		})
	}},

	// movement
	{check: "panel-fixed", in: pattern.Input{Pattern: "cupboard"}, means: "left-door.frame.panel.panel", spoil: func(w *work) { w.assembly("left-door.frame.frame").Loose = nil }},
	{check: "top-fixed", in: bench, means: "fastening.fit", spoil: func(w *work) { w.drop("slots") }},
	{check: "cross-grain-glue", in: bench, nothing: true, means: "left-end.arch.glue", spoil: func(w *work) { w.assembly("left-end.arch.rail").Size.Width = 260 * mm }},
	{check: "panel-play", in: pattern.Input{Pattern: "cupboard"}, means: "left-door.frame.panel.panel", spoil: func(w *work) {
		w.with("left-door.frame.panel.trim", "width", value(w.step("left-door.frame.panel.trim"), "width", 0)+4*mm)
	}},
	{check: "one-sided-finish", in: bench, means: "seat-finish.coat-4", spoil: func(w *work) {
		s := w.step("seat-finish.coat-4")
		s.With = []pattern.MeasureValue{{Key: "faces", Number: 1}}
	}},

	// access
	{check: "not-together-yet", in: bench, means: "clean", spoil: func(w *work) { w.move(Move{Step: "clean", Before: "glue-base"}) }},
	{check: "closed-in", in: bench, means: "slots", spoil: func(w *work) { w.move(Move{Step: "slots", After: "glue-base"}) }},
	{check: "inside-unsanded", in: bench, means: "rails.rail", spoil: func(w *work) { w.drop("sand-rails") }},

	// doors
	{check: "cut-after-coat", name: "hinges", in: pattern.Input{Pattern: "cupboard"}, means: "left-door.hinges", spoil: func(w *work) {
		w.move(Move{Step: "left-door.hinges", After: "left-door.finish.coat-3", Before: "left-door.hang"})
	}},
	{check: "cut-after-coat", name: "a drawer", in: pattern.Input{Pattern: "desk"}, means: "fit-opening", spoil: func(w *work) {
		w.move(Move{Step: "fit-opening", After: "drawer-coats.coat-1"})
	}},
	{check: "no-trial-hang", name: "left out", in: pattern.Input{Pattern: "cupboard"}, means: "right-door.hang", spoil: func(w *work) { w.drop("right-door.trial") }},
	{check: "no-trial-hang", name: "too late", in: choose("bedside-cabinet", "front", "door"), means: "door.hang", spoil: func(w *work) {
		w.move(Move{Step: "door.trial", After: "door.hang"})
	}},

	// shaping
	{check: "trim-before-glue-up", name: "panel", in: bench, means: "seat.trim", spoil: func(w *work) { w.move(Move{Step: "seat.trim", Before: "seat.glue"}) }},
	{check: "trim-before-glue-up", name: "loose boards", in: bench, means: "seat.trim", spoil: func(w *work) {
		s := w.step("seat.trim")
		s.Assemblies, s.Parts = nil, []pattern.PartUse{{Part: "seat.board", Quantity: w.part("seat.board").Quantity}}
		w.move(Move{Step: "seat.trim", Before: "seat.glue"})
	}},
	{check: "trim-before-flat", in: bench, means: "seat.trim", spoil: func(w *work) { w.move(Move{Step: "seat.trim", Before: "seat.flatten-drum"}) }},
	{check: "shaped-before-clamps", in: bench, means: "shape-posts", spoil: func(w *work) {
		w.step("shape-posts").Assemblies = []string{"left-end.frame", "right-end.frame"}
		w.move(Move{Step: "shape-posts", Before: "glue-base"})
	}},
	{check: "saw-before-router", in: bench, means: "left-end.rout-arch", spoil: func(w *work) { w.drop("left-end.saw-arch") }},
	{check: "template-first", in: bench, means: "template", spoil: func(w *work) { w.move(Move{Step: "template", After: "left-end.rout-arch"}) }},

	// sanding
	{check: "coat-before-sanding", name: "left out", in: bench, means: "seat-finish.coat-1", spoil: func(w *work) { w.drop("seat-finish.sand-coarse"); w.drop("seat-finish.sand-fine") }},
	{check: "coat-before-sanding", name: "too early", in: bench, means: "seat-finish.coat-1", spoil: func(w *work) {
		w.drop("seat-finish.sand-coarse")
		w.move(Move{Step: "seat-finish.coat-1", Before: "seat-finish.sand-fine"})
	}},
	{check: "sanding-after-coat", in: bench, means: "seat-finish.sand-fine", spoil: func(w *work) { w.move(Move{Step: "seat-finish.sand-fine", After: "seat-finish.coat-1"}) }},
	{check: "dust-off-first", in: bench, means: "seat-finish.coat-1", spoil: func(w *work) { w.drop("seat-finish.dust-off") }},
	{check: "rub-between", in: bench, means: "seat-finish.coat-3", spoil: func(w *work) { w.drop("seat-finish.rub-2") }},
	{check: "grit-jump", in: bench, means: "seat-finish.sand-fine", spoil: func(w *work) { w.drop("seat-finish.sand-coarse") }},
	{check: "grit-jump", name: "two grades", in: bench, means: "seat-finish.sand-coarse", spoil: func(w *work) {
		w.step("seat-finish.sand-coarse").With = []pattern.MeasureValue{{Key: "grit", Number: 240}}
	}},
	{check: "grit-back", in: bench, means: "seat-finish.sand-fine", spoil: func(w *work) {
		w.step("seat-finish.sand-fine").With = []pattern.MeasureValue{{Key: "grit", Number: 100}}
	}},

	// finish
	{check: "coat-too-soon", in: bench, means: "seat-finish.coat-2", spoil: func(w *work) {
		w.links("seat-finish.coat-1", "", atOnce)
	}},
	{check: "coat-too-late", in: bench, means: "seat-finish.coat-2", spoil: func(w *work) {
		w.drop("seat-finish.rub-1")
		w.links("seat-finish.coat-1", "seat-finish.coat-2", func(l *pattern.Link) { l.Max = nil })
	}},
	{check: "coat-too-late", name: "in the plan", in: bench, means: "seat-finish.coat-2", spoil: func(w *work) { w.drop("seat-finish.rub-1") },
		plan: Plan{"seat-finish.coat-1": {Ends: 260, AttendedEnds: 20}, "seat-finish.coat-2": {Starts: 20 + 1500, AttendedEnds: 1540, Ends: 1800}}},
	{check: "drying-time", in: bench, means: "seat-finish.coat-1", spoil: func(w *work) { w.step("seat-finish.coat-1").Unattended = 10 }},
	{check: "drying-time", name: "in the cold", in: bench, means: "seat-finish.coat-1", spoil: func(w *work) {}, colder: func(s *pattern.Shop) { s.TemperatureC = 15 }},
	{check: "touched-wet", in: bench, means: "seat-finish.rub-1", spoil: func(w *work) { w.links("seat-finish.coat-1", "seat-finish.rub-1", atOnce) }},
	{check: "finish-cold", in: bench, nothing: true, means: "seat-finish.coat-1", spoil: func(w *work) {}, colder: func(s *pattern.Shop) { s.TemperatureC = 12 }},
	{check: "two-finishes", in: bench, means: "seat-finish.coat-4", spoil: func(w *work) { w.step("seat-finish.coat-4").Finish = "waterborne" }},
	{check: "coat-on-wax", in: bench, means: "wax", spoil: func(w *work) {
		w.add("seat-finish.dust-off", "wax", "seat-finish.coat-1", "seat-finish.coat-2", func(s *pattern.Step) { s.Kind = "wax" })
	}},
	{check: "fit-before-last-coat", in: bench, means: "fastening.fit", spoil: func(w *work) { w.move(Move{Step: "fastening.fit", Before: "seat-finish.coat-4"}) }},
	{check: "metal-before-finish", in: pattern.Input{Pattern: "desk"}, means: "pull", spoil: func(w *work) { w.move(Move{Step: "pull", Before: "drawer-coats.coat-1"}) }},

	// times
	{check: "milled-long-ago", in: bench, nothing: true, means: "rails.tenon", spoil: func(w *work) {
		w.links("rails.plane", "rails.rip", func(l *pattern.Link) { l.Min = 6 * 1440 })
	}},
	{check: "milled-long-ago", name: "in the plan", in: bench, means: "rails.tenon", spoil: func(w *work) {},
		plan: Plan{"rails.plane": {AttendedEnds: 15, Ends: 15}, "rails.tenon": {Starts: 8 * 1440, AttendedEnds: 8*1440 + 20, Ends: 8*1440 + 20}}},
	{check: "dust-while-wet", in: bench, means: "rails.plane", spoil: func(w *work) {},
		plan: Plan{"seat-finish.coat-1": {Starts: 100, AttendedEnds: 120, Ends: 360}, "rails.plane": {Starts: 200, AttendedEnds: 215, Ends: 215}, "rails.rip": {Starts: 400, AttendedEnds: 410, Ends: 410}}},

	// care
	{check: "heavy-alone", in: bench, means: "seat.trim", spoil: func(w *work) { w.part("seat.board").Finished.Thickness = 120 * mm }},
	{check: "long-alone", in: bench, means: "rails.face", spoil: func(w *work) { w.part("rails.rail").Rough.Length = 3000 * mm }},
	{check: "no-caution", name: "dust", in: bench, means: "rails.plane", spoil: func(w *work) { w.step("rails.plane").Cautions = nil }},
	{check: "no-caution", name: "glue", in: bench, means: "glue-base", spoil: func(w *work) { w.step("glue-base").Cautions = nil }},
	{check: "rags", in: bench, means: "seat-finish.coat-1", spoil: func(w *work) { w.step("seat-finish.coat-1").Cautions = []string{"Wear gloves."} }},
	{check: "harmful-dust", in: choose("hall-bench", "species", "oak"), means: "rails.plane", spoil: func(w *work) { w.step("rails.plane").Cautions = []string{"Mind your fingers."} }},
}

// Each check has nothing to say of the order of work as it was built, objects when
// one thing is put wrong, and where it has a remedy the remedy mends it without
// stopping anything else.
func TestEveryCheck(t *testing.T) {
	for _, c := range spoilings {
		t.Run(c.check+" "+c.name, func(t *testing.T) {
			s := shop(t)
			if c.shop != nil {
				c.shop(&s)
			}
			w := workOn(t, c.in)
			good := of(Run(w.b, s), c.check)
			require.Empty(t, good, "as it was built:\n%s", list(good))

			c.spoil(w)
			if c.colder != nil {
				c.colder(&s)
			}
			var plan []Plan
			if c.plan != nil {
				plan = append(plan, c.plan)
			}
			all := Run(w.b, s, plan...)
			found := of(all, c.check)
			require.NotEmpty(t, found, "all there is:\n%s", list(all))
			f := found[0]
			for _, x := range found {
				if c.means != "" && len(x.Steps) > 0 && x.Steps[0] == c.means {
					f = x
				}
			}
			if c.means != "" {
				assert.Contains(t, append(append([]string{}, f.Steps...), f.Parts...), c.means)
			}
			assert.NotEmpty(t, f.Reason.String())
			assert.NotEmpty(t, f.Source)
			require.Equal(t, c.nothing, f.Remedy == nil, "a remedy: %s", f.Reason)
			if f.Remedy != nil {
				mends(t, w.b, s, plan, f, all)
			}
		})
	}
}

// mends requires that a remedy takes its finding away and stops nothing new.
func mends(t require.TestingT, b *pattern.Built, s pattern.Shop, plan []Plan, f Finding, before []Finding) {
	require.NotEmpty(t, f.Remedy.Say.String())
	after, err := Apply(b, f.Remedy)
	require.NoError(t, err)
	was := map[string]bool{}
	for _, x := range before {
		was[x.ID()] = true
	}
	for _, x := range Run(after, s, plan...) {
		require.NotEqual(t, f.ID(), x.ID(), "%s\nstill: %s", f.Remedy.Say, x.Reason)
		if x.Severity == Stops {
			require.True(t, was[x.ID()], "%s\nbut now %s: %s", f.Remedy.Say, x.Check, x.Reason)
		}
	}
}

func TestChecksAreWhole(t *testing.T) {
	tested := map[string]bool{}
	for _, c := range spoilings {
		tested[c.check] = true
	}
	seen := map[string]bool{}
	for _, c := range All() {
		assert.False(t, seen[c.Key], "%s stands twice", c.Key)
		seen[c.Key] = true
		assert.True(t, tested[c.Key], "%s has no test", c.Key)
		assert.NotEmpty(t, c.Title, c.Key)
		assert.NotEmpty(t, c.Why, c.Key)
		assert.NotEmpty(t, c.Source, c.Key)
		assert.Contains(t, []Severity{Stops, Warns, Tells}, c.Severity, c.Key)
	}
	assert.GreaterOrEqual(t, len(seen), 35)
	for key := range tested {
		assert.True(t, seen[key], "no check is called %s", key)
	}
}

// A kind of step that is added to the catalogue must be told apart here too, or the
// checks would not see it.
func TestEveryKindOfStepIsKnown(t *testing.T) {
	for _, kind := range library(t).Catalogue().Kinds() {
		assert.NotZero(t, trades[kind], "trades.go does not say what %s does", kind)
	}
	for kind := range trades {
		assert.Contains(t, library(t).Catalogue().Kinds(), kind)
	}
}
