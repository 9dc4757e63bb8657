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
	// had is what the book, or a row above, has of a place already, by microsecond.
	had map[ledger.Place]map[int64]hadPoint
	// last is the row before, by place.
	last map[ledger.Place]lastPoint
}

// lastPoint is the instant of a row of a log, and whether rows go back in time (-1) or on (1); 0
// where that is not known yet.
type lastPoint struct {
	at   time.Time
	goes int
}

// hadPoint is what is known of an instant, in hundred-thousandths of a degree and of a per cent:
// there may be a million.
type hadPoint struct{ celsius, rh int32 }

// noHumidity stands for a humidity that nobody wrote down.
const noHumidity = math.MinInt32

const hadDigits = 1e5

func hadOf(celsius float64, rh *float64) hadPoint {
	out := hadPoint{int32(math.Round(celsius * hadDigits)), noHumidity}
	if rh != nil {
		out.rh = int32(math.Round(*rh * hadDigits))
	}
	return out
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
	k.goesRoundTwelve(on, at)
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
// they are put back, is the second one where the row before was in the first; where the newest row
// stands first, it is the second one until the hour comes again.
func (k *taking) onward(on ledger.Place, at time.Time) time.Time {
	last := k.logs.last[on]
	if again, twice := secondTime(at); twice && !k.zoned && !last.at.IsZero() {
		switch back := again.Before(last.at); {
		case last.goes <= 0 && back, last.goes >= 0 && !at.After(last.at) && again.After(last.at):
			at = again
		}
	}
	goes := last.goes
	switch {
	case last.at.IsZero() || at.Equal(last.at):
	case at.After(last.at):
		goes = 1
	default:
		goes = -1
	}
	if k.logs.last == nil {
		k.logs.last = map[ledger.Place]lastPoint{}
	}
	k.logs.last[on] = lastPoint{at, goes}
	return at
}

// goesRoundTwelve asks about a log whose hours go on until 12 and begin again at 1 on the same day: its
// clock shows twelve hours, and does not say which half of the day it is.
func (k *taking) goesRoundTwelve(on ledger.Place, at time.Time) {
	const (
		half    = 12
		longest = 3 * time.Hour // between two rows; common practice
	)
	last := k.logs.last[on]
	if k.zoned || k.bad || last.goes < 0 || !at.Before(last.at) || k.dayOf(last.at) != k.dayOf(at) {
		return
	}
	loc := k.book.Location()
	before, now := last.at.In(loc), at.In(loc)
	if before.Hour() > half || now.Hour() < 1 {
		return
	}
	if ahead := now.Add(half * time.Hour).Sub(before); ahead <= 0 || ahead > longest {
		return
	}
	c := k.columns[FieldTime]
	if c == nil {
		c = k.columns[FieldDate]
	}
	k.problemOnce(NoDate, c, message.F("The hours go on until 12 and then begin again on the same day. Does the clock show twelve hours? Write am or pm behind each time, or type it as 14:30."))
}

// secondTime is the instant at which the clocks show the same once more, after they were put back.
func secondTime(at time.Time) (again time.Time, twice bool) {
	_, end := at.ZoneBounds()
	if end.IsZero() {
		return again, false
	}
	_, now := at.Zone()
	_, then := end.Zone()
	again = at.Add(time.Duration(now-then) * time.Second)
	return again, now > then && !again.Before(end)
}

func (k *taking) logPoint(on ledger.Place, p loggedPoint) {
	l := &k.logs
	if l.points == nil {
		l.points, l.had = map[ledger.Place][]loggedPoint{}, map[ledger.Place]map[int64]hadPoint{}
	}
	if l.had[on] == nil {
		l.places = append(l.places, on)
		l.had[on] = map[int64]hadPoint{}
		k.lookUpLogged(on, l.had[on])
	}
	point := p.point()
	had, known := l.had[on][p.at]
	now := hadOf(p.celsius, point.HumidityPct)
	same := known && had.celsius == now.celsius && (now.rh == noHumidity || now.rh == had.rh)
	k.showPoint(on, point, same)
	switch {
	case same:
		k.HadRows++
		return
	case known && had.celsius != now.celsius:
		k.problem(TwoValues, k.columns[FieldTemperature], message.F("The book already has %s for this very time: leave out the row that is wrong.", message.Celsius(float64(had.celsius)/hadDigits)))
		return
	case known && had.rh == noHumidity:
		k.problemOnce(TwoValues, k.columns[FieldHumidity], message.F("The book already has the temperature of this time, without its humidity. Say that this column is not to be read; or withdraw the import that brought the temperatures, and bring this sheet in."))
		return
	case known:
		k.problem(TwoValues, k.columns[FieldHumidity], message.F("The book already has a humidity of %s %% for this very time: leave out the row that is wrong.", message.Figure(float64(had.rh)/hadDigits)))
		return
	}
	l.had[on][p.at] = now
	l.points[on] = append(l.points[on], p)
}

// lookUpLogged notes what the book has of a place.
func (k *taking) lookUpLogged(on ledger.Place, had map[int64]hadPoint) {
	for _, p := range k.book.Logged(on.ID) {
		had[p.At.UnixMicro()] = hadOf(p.TemperatureC, nil)
	}
	k.book.InForceOf(ledger.KindTemperatureLog, func(_ ledger.ID, e *ledger.Entry) bool {
		if log := e.Body.(*ledger.TemperatureLog); k.book.Root(log.On.ID) == k.book.Root(on.ID) {
			for _, p := range log.Points {
				at := p.At.UnixMicro()
				if now := hadOf(p.TemperatureC, p.HumidityPct); had[at].celsius == now.celsius {
					had[at] = now
				}
			}
		}
		return true
	})
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
	yearA, monthA, dayA := time.UnixMicro(a).In(loc).Date()
	yearB, monthB, dayB := time.UnixMicro(b).In(loc).Date()
	return dayA == dayB && monthA == monthB && yearA == yearB
}
