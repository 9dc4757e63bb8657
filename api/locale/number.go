package locale

import (
	"cmp"
	"math"
	"regexp"
	"strconv"
	"strings"

	"pullbook/domain/fault"
	"pullbook/domain/message"
)

// DecimalMark is what stands before the decimals in the reader's region.
func (t Language) DecimalMark() string {
	return strings.Trim(t.Region.FmtNumber(0.5, 1), "05")
}

// Parse reads a number as people type it on a page: with the decimal mark of the
// reader's region or the other one, with or without marks between thousands.
// Where a mark may be either it is refused and never guessed at: where decimals
// come after a comma, 1.234 is one and a bit to some and a thousand to others.
func (t Language) Parse(typed string) (float64, error) {
	plain, err := t.Decimal(typed)
	if err != nil {
		return 0, err
	}
	return strconv.ParseFloat(plain, 64)
}

// Decimal reads a number as Parse does, and keeps each digit that was typed: a limit of
// 20.0 is held otherwise than one of 20. It returns plain text with a decimal point.
func (t Language) Decimal(typed string) (string, error) {
	mark := t.DecimalMark()
	other := map[string]string{".": ",", ",": "."}[mark]
	plain := typedSpaces.Replace(strings.TrimSpace(typed))
	switch {
	case mixedMarks.MatchString(plain):
		last := strings.LastIndexAny(plain, ".,")
		plain = strings.NewReplacer(".", "", ",", "").Replace(plain[:last]) + "." + plain[last+1:]
	case repeatedMarks.MatchString(plain):
		plain = strings.NewReplacer(".", "", ",", "").Replace(plain)
	case thousandsOrNot.MatchString(plain) && strings.Contains(plain, other):
		return "", fault.New(fault.Invalid, "Is that %s or %s? Write it without a mark between thousands.",
			strings.Replace(plain, other, "", 1), strings.Replace(plain, other, mark, 1))
	default:
		plain = strings.Replace(plain, ",", ".", 1)
	}
	if _, err := strconv.ParseFloat(plain, 64); err != nil || !plainNumber.MatchString(plain) {
		return "", fault.New(fault.Invalid, "%s is not a number. Write it like %s.", message.Quoted(typed), "17"+mark+"4")
	}
	digits := strings.TrimPrefix(plain, "-")
	whole, fraction, _ := strings.Cut(digits, ".")
	return strings.TrimSuffix(strings.TrimSuffix(plain, digits)+cmp.Or(whole, "0")+"."+fraction, "."), nil
}

var (
	// typedSpaces leaves out what some write between thousands, and takes a
	// typeset minus for one.
	typedSpaces = strings.NewReplacer(" ", "", "\u00a0", "", "\u202f", "", "\u2019", "", minus, "-")
	// mixedMarks is 1.234,5 or 1,234.5; repeatedMarks 1.234.567 or 1,234,567.
	mixedMarks    = regexp.MustCompile(`^-?\d{1,3}(?:(?:\.\d{3})+,|(?:,\d{3})+\.)\d+$`)
	repeatedMarks = regexp.MustCompile(`^-?\d{1,3}(?:(?:\.\d{3}){2,}|(?:,\d{3}){2,})$`)
	// thousandsOrNot is a number whose one mark may part thousands.
	thousandsOrNot = regexp.MustCompile(`^-?[1-9]\d{0,2}[.,]\d{3}$`)
	plainNumber    = regexp.MustCompile(`^-?(?:\d+\.?\d*|\.\d+)$`)
)

// Typed is a figure as a reader would type it: the region's decimal mark, and no
// mark between thousands.
func (t Language) Typed(v float64, places int) string {
	return strings.Replace(message.Plain(v, -places), ".", t.DecimalMark(), 1)
}

// RoundTo rounds to so many places.
func RoundTo(v float64, places int) float64 {
	scale := math.Pow(10, float64(places))
	return math.Round(v*scale) / scale
}
