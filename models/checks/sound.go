package checks

import "faceside/models/phrase"

var soundChecks = []Check{
	{
		Key: "circle", Title: "Steps wait for each other", Severity: Stops, Source: practice,
		Why:  "Steps that each wait for the other can never start.",
		find: circle,
	}, {
		Key: "unknown", Title: "Something is named that is not there", Severity: Stops, Source: practice,
		Why:  "A step can only work on parts that are made and at stations the shop has.",
		find: unknown,
	},
}

func circle(o *order) []Finding {
	if len(o.circle) == 0 {
		return nil
	}
	var names []phrase.Phrase
	for _, key := range o.circle {
		names = append(names, o.called(o.place[key]))
	}
	return []Finding{{Steps: o.circle, Reason: phrase.Of("These steps wait for each other, or for one that does: %s.", phrase.Commas(names))}}
}

func unknown(o *order) []Finding {
	var out []Finding
	for n, sentence := range o.missing {
		if n == 0 || !sentence.Equal(o.missing[n-1]) {
			out = append(out, Finding{Reason: sentence})
		}
	}
	return out
}
