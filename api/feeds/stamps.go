package feeds

import (
	"time"
)

// stamps writes instants as clocks in a time zone show them. It remembers the
// zone's offset and the day that it wrote last, for most rows follow the one
// before closely.
type stamps struct {
	loc        *time.Location
	from, to   int64 // the span, in Unix seconds, in which offset holds
	offset     int64
	day        int64
	dayWritten [len(time.DateOnly)]byte
}

const secondsADay = 24 * 60 * 60

// append writes 2026-08-21, between, 14:30:00; nothing for the zero time.
func (s *stamps) append(buf []byte, t time.Time, between byte) []byte {
	if t.IsZero() {
		return buf
	}
	unix := t.Unix()
	if unix < s.from || unix >= s.to {
		s.zone(t)
	}
	local := unix + s.offset
	day, second := local/secondsADay, local%secondsADay
	if second < 0 {
		day, second = day-1, second+secondsADay
	}
	if day != s.day || s.dayWritten[0] == 0 {
		s.day = day
		time.Unix(day*secondsADay, 0).UTC().AppendFormat(s.dayWritten[:0], time.DateOnly)
	}
	two := func(n int64) { buf = append(buf, byte('0'+n/10), byte('0'+n%10)) }
	buf = append(append(buf, s.dayWritten[:]...), between)
	two(second / 3600)
	buf = append(buf, ':')
	two(second / 60 % 60)
	buf = append(buf, ':')
	two(second % 60)
	return buf
}

// appendZone writes the offset from UTC of the instant written last, -05:00.
func (s *stamps) appendZone(buf []byte) []byte {
	minutes := s.offset / 60
	sign := byte('+')
	if minutes < 0 {
		sign, minutes = '-', -minutes
	}
	return append(buf, sign, byte('0'+minutes/600), byte('0'+minutes/60%10), ':', byte('0'+minutes%60/10), byte('0'+minutes%10))
}

// zone finds the offset that holds at an instant, and for how long.
func (s *stamps) zone(t time.Time) {
	in := t.In(s.loc)
	_, offset := in.Zone()
	from, to := in.ZoneBounds()
	s.offset, s.from, s.to = int64(offset), -1<<62, 1<<62
	if !from.IsZero() {
		s.from = from.Unix()
	}
	if !to.IsZero() {
		s.to = to.Unix()
	}
}
