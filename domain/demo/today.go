package demo

import (
	"fmt"
	"math"
	"reflect"
	"regexp"
	"strconv"
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/standard"
)

// The demonstration stands in the middle of its work whatever the date is: Example is told up to
// a noon at which boxes stand in the hot room, a run is open and tanks are part full, and is moved by whole
// days so that this noon is the last one before now. An outfit of the other half of the year would need
// another country with yards, buyers and a climate of its own, and twice as many figures that tests know.

// storyAt is that noon of the example.
func storyAt(location *time.Location) time.Time {
	return time.Date(2026, time.September, 12, 12, 40, 0, 0, location)
}

// ExampleAt is the example as its outfit would have it at an instant, with the same ids whatever the instant is. Nothing of it
// lies after the instant.
func ExampleAt(now time.Time, location *time.Location) *Book {
	b, until := Example(location), storyAt(location)
	b.tellUntil(until)
	b.holdLatest(until)
	b.MovedDays = int(math.Floor(now.Sub(until).Hours() / 24))
	m := moved{b.MovedDays, map[uintptr]bool{}}
	for _, e := range b.Entries {
		e.OccurredAt = m.at(e.OccurredAt)
		m.value(reflect.ValueOf(e.Body))
	}
	m.rename(b.Entries)
	return b
}

// OutOfSeason reports whether the outfit's bees bring in no honey on the day of an instant: it pulls from late June to
// the middle of September.
func OutOfSeason(now time.Time) bool {
	day := int(now.Month())*100 + now.Day()
	return day < 620 || day > 920
}

// tellUntil leaves out what was written down later. What a buyer paid is told already: it shows how a sale ends.
func (b *Book) tellUntil(until time.Time) {
	n := 0
	for i, e := range b.Entries {
		if e.Kind == ledger.KindSettlement && e.OccurredAt.After(until) {
			e.OccurredAt, b.Delays[i] = until.Add(-2*time.Hour).UTC(), time.Minute
		}
		if e.OccurredAt.Add(b.Delays[i]).After(until) {
			continue
		}
		b.Entries[n], b.Delays[n] = e, b.Delays[i]
		n++
	}
	b.Entries, b.Delays = b.Entries[:n], b.Delays[:n]
}

// holdLatest keeps the latest lot back.
func (b *Book) holdLatest(until time.Time) {
	var lot ledger.ID
	for _, e := range b.Entries {
		if f, is := e.Body.(*ledger.Fill); is {
			lot = f.LotID
		}
	}
	w := newWriter(Options{Seed: holdSeed, Import: true})
	e := w.add(until.Add(-time.Hour), time.Minute, owner, &ledger.LotStatus{
		LotID: lot, Status: ledger.StatusHeld, Why: ledger.HeldForOther, Note: "the laboratory has a sample, and its answer is awaited",
	})
	b.Entries, b.Delays = append(b.Entries, e), append(b.Delays, time.Minute)
}

// holdSeed keeps the id of what is added apart from those of the example.
const holdSeed = 2609

// moved moves what a book says by days. What two entries share is moved once.
type moved struct {
	days int
	done map[uintptr]bool
}

func (m moved) at(t time.Time) time.Time {
	if t.IsZero() {
		return t
	}
	return t.Add(time.Duration(m.days) * 24 * time.Hour)
}

func (m moved) date(iso string) string {
	t, err := time.Parse(time.DateOnly, iso)
	if err != nil {
		return iso // it is left out
	}
	return t.AddDate(0, 0, m.days).Format(time.DateOnly)
}

// value moves each instant and each day within a value.
func (m moved) value(v reflect.Value) {
	switch x := v.Interface().(type) {
	case time.Time:
		v.Set(reflect.ValueOf(m.at(x)))
		return
	case ledger.Date:
		v.SetString(m.date(string(x)))
		return
	case standard.Date:
		v.SetString(m.date(string(x)))
		return
	}
	switch v.Kind() {
	case reflect.Pointer:
		if !v.IsNil() && m.first(v) {
			m.value(v.Elem())
		}
	case reflect.Slice:
		if v.Len() == 0 || !m.first(v) {
			return
		}
		for i := range v.Len() {
			m.value(v.Index(i))
		}
	case reflect.Struct:
		for i := range v.NumField() {
			if v.Type().Field(i).IsExported() {
				m.value(v.Field(i))
			}
		}
	}
}

// first reports whether what a pointer or a slice leads to was not moved yet.
func (m moved) first(v reflect.Value) bool {
	had := m.done[v.Pointer()]
	m.done[v.Pointer()] = true
	return !had
}

// yearInCode is the year in a lot's code, a run's name, a container's number or a waybill's: 26-014, 2026-31, D26-0007.
var yearInCode = regexp.MustCompile(`^([A-Z]*(?:20)?)(\d\d)-`)

// rename gives seasons, and what is numbered by season, the years in which they are now.
func (m moved) rename(entries []*ledger.Entry) {
	years := 0
	for _, e := range entries {
		if s, is := e.Body.(*ledger.Season); is {
			was, _ := strconv.Atoi(s.Name)
			first, _ := strconv.Atoi(string(s.First[:4]))
			years = first - was
			if s.Name = string(s.First[:4]); s.Last[:4] != s.First[:4] {
				s.Name += "/" + string(s.Last[2:4])
			}
		}
	}
	code := func(text *string) {
		if found := yearInCode.FindStringSubmatch(*text); found != nil {
			year, _ := strconv.Atoi(found[2])
			*text = fmt.Sprintf("%s%02d-%s", found[1], (year+years+100)%100, (*text)[len(found[0]):])
		}
	}
	for _, e := range entries {
		switch x := e.Body.(type) {
		case *ledger.Lot:
			code(&x.Code)
		case *ledger.Run:
			code(&x.Name)
		case *ledger.Fill:
			code(&x.Container)
		case *ledger.Dispatch:
			code(&x.Reference)
		case *ledger.Room:
			if x.WarmestMonth > 0 { // the store's year moves with the season
				const daysInMonth = 365.25 / 12
				x.WarmestMonth = 1 + mod(x.WarmestMonth-1+int(math.Round(float64(m.days)/daysInMonth)), 12)
			}
		}
	}
}

func mod(n, by int) int { return (n%by + by) % by }
