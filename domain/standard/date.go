package standard

import (
	"time"

	"pullbook/domain/message"
)

// Date is a calendar day as ISO 8601 text (2026-06-14), so that dates in force
// carry no time zone. The zero value means "not stated".
type Date string

// Said is the day in a sentence.
func (d Date) Said() message.Date { return message.Date(d) }

// ParseDate reads YYYY-MM-DD.
func ParseDate(text string) (Date, error) {
	if _, err := time.Parse(time.DateOnly, text); err != nil {
		return "", message.Errorf("%s is not a date; write it like 2026-06-14", message.Quoted(text))
	}
	return Date(text), nil
}

// UnmarshalText reads YYYY-MM-DD, or nothing for "not stated".
func (d *Date) UnmarshalText(text []byte) error {
	if len(text) == 0 {
		*d = ""
		return nil
	}
	parsed, err := ParseDate(string(text))
	if err != nil {
		return err
	}
	*d = parsed
	return nil
}
