package db

import (
	"slices"
	"strings"
	"time"
)

// common reports whether a code of digits is among the first that anybody tries:
// people choose repetitions, sequences, dates, years and ways over the keys far more
// often than chance would, and whoever guesses begins with those.
func common(code string) bool {
	return repeats(code) || steps(code) || mirrored(code) || isDate(code) || isYear(code) || walksKeys(code) || slices.Contains(wellKnown, code)
}

// repeats: one piece over and over, as 7777, 1212, 123123; or each digit twice or
// more, as 1122.
func repeats(code string) bool {
	for n := 1; n <= len(code)/2; n++ {
		if strings.HasPrefix(strings.Repeat(code[:n], len(code)/n+1), code) {
			return true
		}
	}
	runs := 0
	for i := range code {
		if i == 0 || code[i] != code[i-1] {
			runs++
		}
	}
	return runs <= len(code)/2
}

// steps: the digits go up or down by the same number, as 1234, 9753 and, past the
// nine, 7890.
func steps(code string) bool {
	by := (code[1] - code[0] + 10) % 10
	for i := 2; i < len(code); i++ {
		if (code[i]-code[i-1]+10)%10 != by {
			return false
		}
	}
	return true
}

// mirrored: the same read backwards, as 1221.
func mirrored(code string) bool {
	digits := []byte(code)
	slices.Reverse(digits)
	return string(digits) == code
}

// isDate: a day and month, with or without a year, in whatever order.
func isDate(code string) bool {
	forms := map[int][]string{
		4: {"0102", "0201"}, 6: {"010206", "020106", "060102", "012006", "200601"}, 8: {"01022006", "02012006", "20060102"},
	}[len(code)]
	return slices.ContainsFunc(forms, func(form string) bool {
		day := code
		if len(code) == 4 { // in a leap year, so that there is a 29 February
			day, form = day+"2000", form+"2006"
		}
		_, err := time.Parse(form, day)
		return err == nil
	})
}

// isYear: one that somebody alive was born in, or will see.
func isYear(code string) bool {
	return len(code) == 4 && (strings.HasPrefix(code, "19") || strings.HasPrefix(code, "20"))
}

// walksKeys: each digit is beside the one before on the keys of a telephone, in a line
// straight or bent once, as 2580, 1478, 7896.
func walksKeys(code string) bool {
	x, y := key(code[0])
	var turns, dx, dy int
	for i := 1; i < len(code); i++ {
		nx, ny := key(code[i])
		if nx == x && ny == y || nx-x < -1 || nx-x > 1 || ny-y < -1 || ny-y > 1 {
			return false
		}
		if i > 1 && (nx-x != dx || ny-y != dy) {
			turns++
		}
		x, y, dx, dy = nx, ny, nx-x, ny-y
	}
	return turns <= 1
}

// key is where a digit is on the keys, by column and row.
func key(digit byte) (column, row int) {
	if digit == '0' {
		return 1, 3
	}
	return int(digit-'1') % 3, int(digit-'1') / 3
}

// wellKnown are codes that are chosen often for other reasons: corners of the keys,
// words on the keys, numbers from stories and from mathematics.
var wellKnown = []string{
	"0007", "0070", "0420", "0911", "1004", "1010", "1123", "1133", "1230", "1236", "1245", "1337", "1342", "1379", "1397", "1478",
	"1590", "1593", "1598", "1793", "2112", "2229", "2369", "2486", "2589", "2684", "3141", "3146", "3579", "3691", "3719", "3971",
	"4077", "4200", "4862", "5050", "5150", "5201", "5683", "6248", "6275", "6842", "7193", "7391", "7410", "7531", "7931", "8426",
	"8520", "8624", "8675", "9137", "9510", "9517", "9630", "9731", "0852", "0258", "1470", "3690", "0963", "0741", "2580",
	"12340", "12345", "13579", "24680", "11235", "31415", "90210", "01234", "54320",
	"112358", "142536", "147258", "147852", "159357", "159753", "258369", "271828", "314159", "357159", "369258", "456852",
	"520520", "521521", "696969", "741852", "753159", "753951", "789456", "852456", "951357", "951753", "963852", "123654", "123789",
	"321654", "987321", "123456", "654321", "147963", "741963",
	"1234560", "1234567", "5201314", "8675309", "3141592", "1472583", "7418529", "1597530",
	"12344321", "11235813", "14725836", "12341234", "31415926", "27182818", "74185296", "78945612", "12369874", "14789632", "98741236",
}
