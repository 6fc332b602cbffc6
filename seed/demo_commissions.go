package seed

// demoCommissions are the orders of the demo shop. Names and clients are
// invented; so are the dates, which do not all hold without thought: what was
// promised first is not always what should be begun first.
func demoCommissions() []demoCommission {
	return []demoCommission{
		{name: "Shelf for the study", client: "Imre Valde", pattern: "wall-shelf-unit", weight: 2,
			takenAgo: 10, promisedIn: -4, delivered: true,
			measures: map[string]string{"width": "28", "height": "30", "shelves": "1"},
			choices:  map[string]string{"species": "ash"}},
		{name: "Bedside cabinet for the guest room", client: "Nadja Brook", pattern: "bedside-cabinet", weight: 2,
			takenAgo: 9, promisedIn: -2, delivered: true,
			choices: map[string]string{"species": "maple", "corners": "lock"}},
		{name: "Tea table in cherry", client: "Oduya family", pattern: "table", weight: 3,
			takenAgo: 6, promisedIn: 1, note: "Small children: no sharp corners.",
			measures: map[string]string{"length": "36", "width": "22", "height": "18", "leg": "1 7/8", "top": "7/8", "coats": "3"},
			choices:  map[string]string{"species": "cherry", "shape": "tapered", "finish": "waterborne"},
			upTo:     []string{"base-finish.coat-2", "top-finish.coat-2"}},
		{name: "Bedside cabinet in walnut", client: "Ruth Calloway", pattern: "bedside-cabinet", weight: 3,
			takenAgo: 4, promisedIn: 3,
			choices: map[string]string{"species": "walnut"},
			upTo:    []string{"drawer.dovetails", "top.glue"}},
		{name: "Shelves for the reading room", client: "Harrow Lane reading room", pattern: "wall-shelf-unit", weight: 5,
			takenAgo: 2, promisedIn: 2, note: "They open on the evening of the promised day.",
			measures: map[string]string{"width": "40", "height": "44 1/2", "depth": "7 1/4", "shelves": "3"},
			upTo:     []string{"carcase.mark"}},
		{name: "Trestle table for the loft", client: "T. Marchetti", pattern: "trestle-table", weight: 2,
			takenAgo: 1, promisedIn: 8, note: "Comes apart: the stairs turn twice.",
			measures: map[string]string{"length": "54", "coats": "3"},
			choices:  map[string]string{"species": "ash", "align": "plain", "finish": "wiping-varnish"},
			upTo:     []string{"left.face"}},
		{name: "Shelf over the sink", client: "Mina and Joss Terrel", pattern: "wall-shelf-unit", weight: 1,
			takenAgo: 0, promisedIn: 4,
			measures: map[string]string{"width": "24", "height": "20", "depth": "6", "shelves": "1"},
			choices:  map[string]string{"species": "cherry", "edge": "chamfer"}},
	}
}

// demoToday is the morning of the start: two coats on the tea table, which are
// drying still; a glue-up of the walnut cabinet, in clamps still; and one step
// in each maker's hands.
func demoToday() []demoEvent {
	const tea, walnut, shelves, trestle = "Tea table in cherry", "Bedside cabinet in walnut", "Shelves for the reading room", "Trestle table for the loft"
	return []demoEvent{
		{tea, "base-finish.coat-2", demoMaren, minute(8, 26), minute(8, 43)},
		{tea, "top-finish.coat-2", demoMaren, minute(8, 45), minute(9, 4)},
		{walnut, "drawer.dovetails", demoMaren, minute(9, 8), 0},
		{shelves, "carcase.mark", demoTobias, minute(8, 5), minute(8, 13)},
		{trestle, "left.face", demoTobias, minute(8, 18), minute(8, 29)},
		{trestle, "left.edge", demoTobias, minute(8, 30), minute(8, 38)},
		{trestle, "left.plane", demoTobias, minute(8, 52), minute(9, 11)},
		{trestle, "left.rip-post", demoTobias, minute(9, 15), minute(9, 25)},
		{trestle, "right.rough-cut", demoTobias, minute(9, 26), minute(9, 36)},
		{walnut, "top.glue", demoTobias, minute(9, 44), minute(9, 58)},
		{shelves, "carcase.dados", demoTobias, minute(10, 5), 0},
	}
}

// minute is a time of day in minutes from midnight.
func minute(hour, past int) int { return hour*60 + past }
