package checks

import "faceside/models/pattern"

// trade is what a step does to the wood; a step may do several things.
type trade uint64

const (
	facing        trade = 1 << iota // makes the first flat face
	edging                          // makes the first edge, square to the face
	planing                         // makes a face parallel to another
	ripping                         // makes the second edge
	crosscutting                    // cuts to final length
	resawing                        // opens thick stock
	marking                         // lines that joints are cut from
	jointing                        // cuts a joint from the reference faces
	mitring                         // lets the ends of two tenons pass in one post
	slotting                        // slots in which fasteners can move
	gluing                          // ends in clamps
	trying                          // dry fit
	scraping                        // takes squeezed-out glue off
	flattening                      // flattens what has been glued
	flushing                        // planes glued joints flush
	trimming                        // cuts what has been glued to its size
	shaping                         // takes away a flat face or a square edge
	sanding                         // through the grits
	easing                          // breaks sharp edges by hand
	rubbing                         // between coats
	dusting                         // takes the dust off before a coat
	masking                         // keeps finish off what will be glued
	coating                         // wet finish
	waxing                          // wax over the last coat
	assembling                      // puts together without glue, for good
	hinging                         // fits a door or drawer to its opening, or cuts its hinges in
	tryingHung                      // hangs a door on trial
	hanging                         // hangs a door for good
	fittingMetal                    // hinges, pulls, locks
	templating                      // makes a template
	fromTemplate                    // follows a template
	sawingCurve                     // leaves the router little to take
	turningStrips                   // stands strips on end grain
	other                           // nothing a check asks about
)

// trades tells what each kind of the step catalogue does. A step of a maker's own
// kind does what its glue and finish say.
var trades = map[string]trade{
	"rough-crosscut": other, "rough-rip": other, "resaw": resawing, "rest-stock": other,
	"joint-face": facing, "face-sled": facing, "joint-edge": edging,
	"plane-thickness": planing, "plane-square": planing,
	"rip-width": ripping, "rip-bevel": ripping, "crosscut": crosscutting, "cut-sheet": other,

	"mark-out": marking, "mortise": jointing, "tenon": jointing, "mitre-tenons": mitring, "slot-mortise": jointing, "dowel-holes": jointing,
	"through-mortise": jointing, "bolt-holes": jointing, "wedges": other, "pocket-holes": jointing, "bridle": jointing, "cope-ends": jointing, "profile-edges": jointing,
	"dado": jointing, "groove": jointing, "rabbet": other, "dovetails": jointing, "box-joints": jointing, "drawer-lock": jointing,
	"fastener-slots": slotting, "shelf-holes": other, "cut-template": templating,

	"dry-fit": trying, "glue-panel": gluing, "glue-blocks": gluing, "glue-frame": gluing, "glue-carcase": gluing,
	"glue-box": gluing, "glue-on": gluing,

	"clean-glue": scraping, "flush-drum": flattening, "flatten-drum": flattening, "flatten-hand": flattening,
	"flush-hand": flushing, "trim-panel": trimming, "saw-strips": turningStrips, "saw-curve": shaping | sawingCurve,
	"rout-template": shaping | fromTemplate, "taper": shaping, "chamfer": shaping, "round-over": shaping, "shape-hand": shaping,

	"sand-inside": sanding, "sand": sanding, "ease-edges": easing, "rub-down": rubbing,
	"dust-off": dusting, "mask": masking, "coat-thinned": coating, "coat": coating, "wax": waxing,

	"fit-top": assembling, "fit-back": assembling, "fit-drawer": hinging, "fit-door": hinging, "hang-on-trial": tryingHung, "cup-holes": hinging, "hang-door": assembling | hanging, "slide-bottom": assembling,
	"cut-hinges": hinging, "fit-hardware": fittingMetal, "put-together": assembling,
}

// does says whether a step does any of some things.
func does(s *pattern.Step, t trade) bool {
	is := trades[s.Kind]
	if s.Glue != "" {
		is |= gluing
	}
	if s.Finish != "" {
		is |= coating
	}
	return is&t != 0
}
