package ledger

import (
	"fmt"
	"regexp"
	"strconv"
	"time"
)

// SeasonLike gives a season for an instant that none holds. It has the first and the last day of the
// year that the outfit's latest season before it has, or its first one after it; where the outfit has
// none, it is the calendar year. fits is false where such a season does not hold the instant, or would
// overlap one that there is: then s is the season that it should have been like.
func (b *Book) SeasonLike(at time.Time) (s Season, fits bool) {
	day := Date(at.In(b.loc).Format(time.DateOnly))
	like := b.nearestSeason(day)
	if like == nil {
		year := string(day[:4])
		return Season{Name: year, First: Date(year + "-01-01"), Last: Date(year + "-12-31")}, true
	}
	year, _, _ := day.parts()
	first, _, _ := like.First.parts()
	last, _, _ := like.Last.parts()
	for years := year - last; years <= year-first; years++ {
		s = like.yearsOn(years)
		if s.First <= day && day <= s.Last && !b.meetsSeason(&s) {
			if _, taken := b.Names(KindSeason, s.Name); taken {
				s.Name = string(s.First)
			}
			return s, true
		}
	}
	return *like, false
}

// nearestSeason is the last season before a day, else the first one after it; nil where there is none.
func (b *Book) nearestSeason(day Date) (nearest *Season) {
	for _, s := range b.seasons() {
		if nearest == nil || s.First <= day {
			nearest = s
		}
	}
	return nearest
}

// meetsSeason reports whether a season has a day with one in common that there is.
func (b *Book) meetsSeason(s *Season) bool {
	for _, had := range b.seasons() {
		if s.First <= had.Last && had.First <= s.Last {
			return true
		}
	}
	return false
}

// yearsOn is the season so many years later, or before where years is below 0.
func (s *Season) yearsOn(years int) Season {
	return Season{Name: s.nameYearsOn(years), First: s.First.yearsOn(years, false), Last: s.Last.yearsOn(years, true)}
}

var yearsInNames = regexp.MustCompile(`\d+`)

// nameYearsOn is the name with its years put on: 2025/26 becomes 2018/19. A name without them becomes
// the years alone.
func (s *Season) nameYearsOn(years int) string {
	first, _, _ := s.First.parts()
	last, _, _ := s.Last.parts()
	const century = 100
	says := false
	name := yearsInNames.ReplaceAllStringFunc(s.Name, func(text string) string {
		for _, year := range [...]int{first, last} {
			switch {
			case text == strconv.Itoa(year):
				says = true
				return strconv.Itoa(year + years)
			case text == fmt.Sprintf("%02d", year%century):
				return fmt.Sprintf("%02d", (year+years)%century)
			}
		}
		return text
	})
	switch {
	case says:
		return name
	case first == last:
		return strconv.Itoa(first + years)
	}
	return fmt.Sprintf("%d/%02d", first+years, (last+years)%century)
}

// yearsOn is the same day of another year. The end of February stays the end of February, as the last
// day of a season; else 29 February is 1 March in years that have none.
func (d Date) yearsOn(years int, last bool) Date {
	year, month, day := d.parts()
	if last && month == time.February && time.Date(year, month, day+1, 0, 0, 0, 0, time.UTC).Month() != month {
		return Date(time.Date(year+years, month+1, 0, 0, 0, 0, 0, time.UTC).Format(time.DateOnly))
	}
	return Date(time.Date(year+years, month, day, 0, 0, 0, 0, time.UTC).Format(time.DateOnly))
}

// parts are the year, month and day of a date that was held against the rules.
func (d Date) parts() (year int, month time.Month, day int) {
	at, _ := d.On(time.UTC)
	return at.Date()
}
