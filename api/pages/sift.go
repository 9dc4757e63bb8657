package pages

import (
	"net/url"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/labstack/echo/v4"
	"golang.org/x/text/unicode/norm"

	"pullbook/api/locale"
	"pullbook/api/request"
	"pullbook/domain/message"
)

// sifting is what the address of a page asks for of a table: rows that hold each word of find,
// of the days from and to. Empty fields ask for all.
//
// Another table joins in three steps. Its handler calls siftingAsked before it looks at a book.
// Once its rows are in words, siftRows leaves those that are asked for, and sifting.view gives
// the siftView for the template. The template has {{template "sift" .Sift}} above the table.
type sifting struct {
	find     string
	words    []string
	from, to string
	query    url.Values
}

// The parameters by which every table is sifted.
const (
	siftFind = "find"
	siftFrom = "from_day"
	siftTo   = "to_day"
)

// longestFind is how many characters may be looked for.
const longestFind = 100

// siftedFrom is how many rows a table has before a page offers to sift it.
const siftedFrom = 30

// siftingAsked reads what a request asks for of a table. Its faults name the parameter.
func siftingAsked(ctx echo.Context) (s sifting, err error) {
	s.query = ctx.QueryParams()
	s.find = strings.TrimSpace(ctx.QueryParam(siftFind))
	if utf8.RuneCountInString(s.find) > longestFind {
		return s, request.ParameterFault(siftFind, message.Shortened(s.find, longestFind), "This is too long to look for: %s characters at most. A number, a name or a word of the row is enough.", longestFind)
	}
	if !utf8.ValidString(s.find) || strings.ContainsFunc(s.find, unicode.IsControl) {
		return s, request.ParameterFault(siftFind, strings.ToValidUTF8(s.find, "?"), "This holds a character that no row of a table has. Write the words again.")
	}
	s.words = strings.Fields(folded(s.find))
	if s.from, err = siftDay(ctx, siftFrom); err != nil {
		return s, err
	}
	if s.to, err = siftDay(ctx, siftTo); err != nil {
		return s, err
	}
	if s.from != "" && s.to != "" && s.to < s.from {
		return s, request.ParameterFault(siftTo, s.to, "The last day, %s, is before the first, %s. Send them the other way round.", s.to, s.from)
	}
	return s, nil
}

// siftDay is a day that a parameter names, as 2026-08-05; empty where it names none.
func siftDay(ctx echo.Context, name string) (string, error) {
	text := strings.TrimSpace(ctx.QueryParam(name))
	if text == "" {
		return "", nil
	}
	if _, err := time.Parse(time.DateOnly, text); err != nil {
		return "", request.ParameterFault(name, text, "%s is no day of the calendar. Write the year first, as in 2026-08-05, or leave it out to have all days.", text)
	}
	return text, nil
}

// on reports whether anything is asked for.
func (s sifting) on() bool { return len(s.words) > 0 || s.from != "" || s.to != "" }

// day reports whether a day is one of those asked for. at has to be in the outfit's time zone.
func (s sifting) day(at time.Time) bool { return s.days(at, at) }

// days reports whether some day of a stretch is one of those asked for.
func (s sifting) days(first, last time.Time) bool {
	return s.dates(first.Format(time.DateOnly), last.Format(time.DateOnly))
}

// dates is days of a stretch whose ends are written as 2026-08-05.
func (s sifting) dates(first, last string) bool {
	return (s.from == "" || last >= s.from) && (s.to == "" || first <= s.to)
}

// holds reports whether what a row says has each of the words, whatever their case and their accents.
func (s sifting) holds(says ...string) bool {
	if len(s.words) == 0 {
		return true
	}
	text := folded(strings.Join(says, " "))
	for _, word := range s.words {
		if !strings.Contains(text, word) {
			return false
		}
	}
	return true
}

// folded is a text as it is compared: small letters without accents, and one sort of space.
func folded(text string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case unicode.Is(unicode.Mn, r):
			return -1
		case unicode.IsSpace(r):
			return ' '
		}
		return unicode.ToLower(r)
	}, norm.NFD.String(text))
}

// siftRows returns the rows that kept reports to be asked for.
func siftRows[R any](s sifting, rows []R, kept func(R) bool) []R {
	if !s.on() {
		return rows
	}
	var out []R
	for _, row := range rows {
		if kept(row) {
			out = append(out, row)
		}
	}
	return out
}

// siftView is the form by which a table is sifted, and how many rows that leaves.
type siftView struct {
	// Offered: the table is long enough, or is sifted.
	Offered, On bool
	// Action is where the form leads to, All where all rows are.
	Action, All string
	Keep        []keptParameter
	// Part ends the ids of the form's fields where the page has two such forms.
	Part           string
	Find, From, To string
	// Shown of Of rows are on the page.
	Shown, Of string
}

// keptParameter is one of a page's other parameters, which the form sends again.
type keptParameter struct{ Name, Value string }

// view is the form for a table of so many rows at an address, whose fragment is where the table
// is on its page. keep are the page's other parameters.
func (s sifting) view(f locale.Voice, address string, shown, of int, keep ...string) siftView {
	v := siftView{
		Offered: of > siftedFrom || s.on(), On: s.on(), Action: address, Find: s.find, From: s.from, To: s.to, Shown: f.Count(shown), Of: f.Count(of),
	}
	all := url.Values{}
	for _, name := range keep {
		if value := s.query.Get(name); value != "" {
			v.Keep, all[name] = append(v.Keep, keptParameter{name, value}), []string{value}
		}
	}
	path, fragment, _ := strings.Cut(address, "#")
	v.All = path
	if len(all) > 0 {
		v.All += "?" + all.Encode()
	}
	if fragment != "" {
		v.All += "#" + fragment
	}
	return v
}

// with adds to an address what is asked for, and more parameters in pairs.
func (s sifting) with(address string, more ...string) string {
	query := url.Values{}
	for name, value := range map[string]string{siftFind: s.find, siftFrom: s.from, siftTo: s.to} {
		if value != "" {
			query.Set(name, value)
		}
	}
	for i := 0; i+1 < len(more); i += 2 {
		if more[i+1] != "" {
			query.Set(more[i], more[i+1])
		}
	}
	if len(query) == 0 {
		return address
	}
	return address + "?" + query.Encode()
}
