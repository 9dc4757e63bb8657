package feeds

import (
	"testing"
	"time"

	"pullbook/api/locale"
	"pullbook/domain/demo"
	"pullbook/domain/ledger"
)

// notedSeason is the workbook of an invented season, as far as it is worked out before it is written.
func notedSeason(t *testing.T, language locale.Language, us bool) *seasonBook {
	t.Helper()
	loc := time.FixedZone("UTC-6", -6*3600)
	book, err := ledger.Open(loc, demo.Example(loc).Recorded())
	if err != nil {
		t.Fatal(err)
	}
	w := &seasonBook{view: view{us: us}}
	w.Voice = locale.NewVoice(language, map[bool]string{true: "us"}[us], loc)
	book.InForceOf(ledger.KindSeason, func(root ledger.ID, e *ledger.Entry) bool {
		w.query = query{seasonID: root, season: e.Body.(*ledger.Season), on: lastDay(book)}
		return true
	})
	t.Cleanup(w.closeRows)
	if same, err := w.takeBySheet(func(f func(*ledger.Book) error) error { return f(book) }); err != nil || !same {
		t.Fatal(same, err)
	}
	w.name()
	return w
}

// On paper a sheet of the season has letters of 9 points and more, and no figure that does not fit its column.
// Calibri's figures are 0.507 of its size wide, and 277 mm lie between the margins of a lying A4.
func TestASeasonPrintsInLegibleLetters(t *testing.T) {
	t.Parallel()
	const least, own, millimetresAPoint = 9.0, 11.0, 25.4 / 72
	for _, us := range []bool{false, true} {
		for _, language := range []string{"en", "es"} {
			for _, s := range notedSeason(t, locale.LanguageFor(language), us).order {
				used, first := 0.0, s.widths[0]+s.widths[1]
				pages := 1
				for i, width := range s.widths {
					if used+width > pageWidth {
						pages, used = pages+1, first
					}
					used += width
					if letters := own * 277 / (used * 0.507 * own * millimetresAPoint); letters < least {
						t.Errorf("%s: with %s a page has letters of %.1f points", s.sheet, s.metric[i], letters)
					}
					if s.forms[i] != formText && s.noted.columns[i].filled && width < float64(s.noted.columns[i].longest)+1 {
						t.Errorf("%s: %s is %v wide and has %d figures", s.sheet, s.metric[i], width, s.noted.columns[i].longest)
					}
				}
				if pages != s.across {
					t.Errorf("%s is printed on %d pages beside each other, and needs %d", s.sheet, s.across, pages)
				}
			}
		}
	}
}

// The legend says of every sheet and column what it is.
func TestTheLegendSaysWhatEachColumnIs(t *testing.T) {
	t.Parallel()
	used := map[string]bool{}
	for _, one := range seasonTables() {
		if sheetSays[one.sheet].IsEmpty() {
			t.Errorf("nothing is said of the sheet %s", one.sheet)
		}
		for i, name := range one.table.columnNames(false) {
			word := columnWord(name, one.table.columnForms()[i])
			if used[word] = true; columnSays[word].IsEmpty() {
				t.Errorf("%s: nothing is said of %s", one.sheet, word)
			}
		}
	}
	for word := range columnSays {
		if !used[word] {
			t.Errorf("%q is explained, and no sheet has it", word)
		}
	}
}

// Every formula names columns that there are.
func TestEachFormulaFindsItsColumns(t *testing.T) {
	t.Parallel()
	w := notedSeason(t, locale.English, false)
	for sheet, columns := range reckonedBy {
		for name, of := range columns {
			w.sheets[sheet].columnOf(name)
			if of.where != "" {
				w.sheets[sheet].columnOf(of.where)
			}
			if text := w.formula(of.formula, sheet, 7); inFormula.MatchString(text) {
				t.Errorf("%s, %s: %s", sheet, name, text)
			}
		}
	}
}

// Where somebody records between two sheets, the sheets are of two books, and are not taken.
func TestSheetsOfTwoBooksAreNotTaken(t *testing.T) {
	t.Parallel()
	loc := time.FixedZone("UTC-6", -6*3600)
	entries := demo.Example(loc).Recorded()
	for _, recorded := range []bool{false, true} {
		before, err := ledger.Open(loc, entries[:len(entries)-1])
		if err != nil {
			t.Fatal(err)
		}
		after, err := ledger.Open(loc, entries)
		if err != nil {
			t.Fatal(err)
		}
		w, steps := notedSeason(t, locale.English, false), 0
		same, err := w.takeBySheet(func(f func(*ledger.Book) error) error {
			if steps++; recorded && steps > 3 {
				return f(after)
			}
			return f(before)
		})
		if err != nil || same == recorded {
			t.Errorf("recorded between: %t; taken: %t, %v", recorded, same, err)
		}
	}
}
