package pattern

import (
	"math"

	"faceside/models/wood"
)

// play is the expression function movement: the room a flat-sawn board of a width
// and species needs across the grain over the year. Sheet goods, and whatever
// else the tables of woods do not know, need none.
func play(width, species any) any {
	key, _ := species.(string)
	room, err := wood.SeasonalMovement(wood.Length(math.Abs(size(width))), key)
	if err != nil {
		return length{}
	}
	return fromWood(room)
}
