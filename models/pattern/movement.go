package pattern

import (
	"math"

	"faceside/models/wood"
)

// standsFor tells which woods of the tables a general name may mean; the one that
// moves most counts. A name that is not here stands for itself.
var standsFor = map[string][]string{
	"oak": {"white-oak", "red-oak"},
}

// play is the expression function movement: the room a flat-sawn board of a width
// and species needs across the grain over the year. Sheet goods, and whatever
// else the tables do not know, need none.
func play(width, species any) any {
	key, _ := species.(string)
	woods := standsFor[key]
	if woods == nil {
		woods = []string{key}
	}
	most := wood.Length(0)
	for _, w := range woods {
		if room, err := wood.SeasonalMovement(wood.Length(math.Abs(size(width))), w); err == nil {
			most = max(most, room)
		}
	}
	return fromWood(most)
}
