package demo

import "fmt"

// yardNames are invented; some are alike, as they are in life.
var yardNames = []string{
	"Alder Bend", "Alder Bend North", "Birch Slough", "Carrick East", "Carrick West", "Dry Ford",
	"Dunmoor", "Fen Road", "Fen Road South", "Goose Hollow", "Hale Quarter", "Hale Half Section",
	"Ironwood", "Jackpine Ridge", "Kettle Hole", "Long Ditch", "Marsh End", "Mill Race",
	"Narrow Lake", "Old School", "Old School Annex", "Pike Landing", "Quarry", "Redwillow",
	"Redwillow Lower", "Sandhill", "Thistle Bank", "Upper Ferry", "Wether Creek", "Yellow Barn",
}

// wetYard is the place in yardNames of the yard whose honey is always wet.
const wetYard = 16

func yardName(house, i int) string {
	name := yardNames[i%len(yardNames)]
	if again := i / len(yardNames); again > 0 {
		name = fmt.Sprintf("%s %d", name, again+1)
	}
	return prefixed(house, name)
}

// prefixed marks the things of the second house and later ones.
func prefixed(house int, name string) string {
	if house == 0 {
		return name
	}
	return fmt.Sprintf("House %d %s", house+1, name)
}

// code is a house's part of a lot or container number; the first has none.
func houseCode(house int) string {
	if house == 0 {
		return ""
	}
	return fmt.Sprintf("H%d-", house+1)
}

// The crew: those who pull, who extract, who pack, and the logger.
const (
	driver    = "Wren"
	extractor = "Odell"
	packer    = "Imke"
	owner     = "Tamsin"
	logger    = "logger"
)
