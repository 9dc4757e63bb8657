package importing

import (
	"cmp"
	"math"
	"slices"
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// logs collects what loggers wrote, by place: their rows become one entry for each
// day and place.
type logs struct {
	places []ledger.Place
	points map[ledger.Place][]loggedPoint
	// parts are those of the rows of a wide sheet.
	parts []*span
	// had is what the book has of a place already, by microsecond.
	had map[ledger.Place]map[int64]float64
	// last is the instant of the row before, by place.
	last map[ledger.Place]time.Time
}

// loggedPoint is a point of a log, of which there may be a million.
type loggedPoint struct {
	at      int64 // in microseconds
	celsius float64
	rh      float64 // relative humidity in per cent; NaN where the row has none
	row     int32
	part    int32 // of a wide sheet, among the parts of the logs; -1 where the row is whole
}

// keep keeps the part of a row of a wide sheet, and gives its place.
func (l *logs) keep(part *span) int32 {
	if part == nil {
		return -1
	}
	l.parts = append(l.parts, part)
	return int32(len(l.parts) - 1)
}

func (l *logs) partOf(p loggedPoint) *span {
	if p.part < 0 {
		return nil
	}
	return l.parts[p.part]
}

// point is the point as an entry has it.
func (p loggedPoint) point() ledger.TemperaturePoint {
	out := ledger.TemperaturePoint{At: time.UnixMicro(p.at).UTC(), TemperatureC: p.celsius}
	if !math.IsNaN(p.rh) {
		out.HumidityPct = &p.rh
	}
	return out
}

// The temperatures that the book takes of a log, in degrees Celsius.
const (
	coldestLogged = -40
	warmestLogged = 95
)

func (k *taking) point() error {
	at, ok := k.when()
	if !ok {
		return nil
	}
	var on ledger.Place
	for _, place := range [...]struct {
		field Field
		kind  ledger.PlaceKind
	}{{FieldTank, ledger.PlaceTank}, {FieldRoom, ledger.PlaceRoom}} {
		id, given, err := k.name(place.field, at)
		if err != nil {
			return err
		}
		if given && on.Kind != "" {
			k.problemOnce(TwoValues, k.columns[place.field], message.F("The row names a tank and a room, and the logger was in one of them: say which column is not to be read."))
			return nil
		}
		if given {
			on = ledger.Place{Kind: place.kind, ID: id}
		}
	}
	if on.Kind == "" && !k.bad {
		k.problem(MissingField, nil, message.F("The row names no tank or room: fill one in, or give one for all rows%s.", message.Option("fixed")))
	}
	celsius, given := k.celsius(FieldTemperature, "", coldestLogged, warmestLogged)
	if !given && !k.bad {
		k.LeftOut++ // loggers write a line also where the sensor gave nothing
		return nil
	}
	p := loggedPoint{k.onward(on, at).UnixMicro(), celsius, math.NaN(), int32(k.row), k.logs.keep(k.part())}
	rh, given := k.plain(FieldHumidity, 0, 100)
	switch {
	case given && 0 < rh && rh <= 1: // drier than any air that bees or people breathe; common practice
		k.problem(OutOfRange, k.columns[FieldHumidity], message.F("This is %s %% of humidity, as where a percentage was saved as a part of one: type it in per cent.", message.Figure(rh)), asText(math.Round(rh*1e4)/100))
	case given:
		p.rh = rh
	}
	if !k.bad {
		k.logPoint(on, p)
	}
	return nil
}

// onward is the instant of a row of a log. An hour that the clocks show twice, when
// they are put back, is the second one where the row before was in the first.
func (k *taking) onward(on ledger.Place, at time.Time) time.Time {
	before := k.logs.last[on]
	_, end := at.ZoneBounds()
	if !k.zoned && !end.IsZero() && !at.After(before) {
		_, now := at.Zone()
		_, then := end.Zone()
		again := at.Add(time.Duration(now-then) * time.Second)
		if now > then && !again.Before(end) && again.After(before) {
			at = again
		}
	}
	if k.logs.last == nil {
		k.logs.last = map[ledger.Place]time.Time{}
	}
	k.logs.last[on] = at
	return at
}

func (k *taking) logPoint(on ledger.Place, p loggedPoint) {
	l := &k.logs
	if l.points == nil {
		l.points, l.had = map[ledger.Place][]loggedPoint{}, map[ledger.Place]map[int64]float64{}
	}
	if l.had[on] == nil {
		l.places = append(l.places, on)
		l.had[on] = map[int64]float64{}
		for _, had := range k.book.Logged(on.ID) {
			l.had[on][had.At.UnixMicro()] = had.TemperatureC
		}
	}
	had, known := l.had[on][p.at]
	k.showPoint(on, p.point(), known && had == p.celsius)
	switch {
	case known && had == p.celsius:
		k.HadRows++
		return
	case known:
		k.problem(TwoValues, k.columns[FieldTemperature], message.F("The book already has %s for this very time: leave out the row that is wrong.", message.Celsius(had)))
		return
	}
	l.had[on][p.at] = p.celsius
	l.points[on] = append(l.points[on], p)
}

// finishLogs makes entries of what was logged, one for each place and day of the
// outfit.
func (k *taking) finishLogs() error {
	k.logs.had, k.logs.last = nil, nil // no row comes any more
	for _, on := range k.logs.places {
		points := k.logs.points[on]
		slices.SortStableFunc(points, func(a, b loggedPoint) int { return cmp.Compare(a.at, b.at) })
		for from := 0; from < len(points); {
			to := from + 1
			for to < len(points) && k.sameDay(points[from].at, points[to].at) && to-from < mostPoints {
				to++
			}
			log := &ledger.TemperatureLog{On: on}
			for _, p := range points[from:to] {
				log.Points = append(log.Points, p.point())
			}
			k.row, k.cells, k.bad, k.typed = int(points[from].row), nil, false, nil
			k.goTo(k.logs.partOf(points[from]))
			if _, err := k.put(log.Points[0].At, log, "", nil); err != nil {
				return err
			}
			from = to
		}
	}
	return nil
}

// mostPoints is how many points one entry may have.
const mostPoints = 20_000

// sameDay reports whether two instants, in microseconds, are of one day of the outfit.
func (k *taking) sameDay(a, b int64) bool {
	loc := k.book.Location()
	return time.UnixMicro(a).In(loc).Format(time.DateOnly) == time.UnixMicro(b).In(loc).Format(time.DateOnly)
}
