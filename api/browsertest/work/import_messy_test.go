package work_test

import (
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"github.com/chromedp/chromedp/kb"
	"github.com/xuri/excelize/v2"

	"pullbook/api/apitest"
	"pullbook/api/browsertest"
	"pullbook/db"
	"pullbook/domain/ledger"
)

// messyWorkbook is an old workbook as people keep one: a title above the headings, a kind of box
// that the book never heard of, a row that nobody can read, a row of totals, a column that the
// book has no place for, and runs that do not say into which tank their honey went. Weights are
// in a unit.
func messyWorkbook(t *testing.T, unit string) (path string) {
	t.Helper()
	f := excelize.NewFile()
	defer f.Close()
	day := func(d int) time.Time { return time.Date(2026, 7, d, 0, 0, 0, 0, time.UTC) }
	sheets := []struct {
		name string
		rows [][]any
	}{
		{"Pulls", [][]any{
			{"Our pulls, by hand"},
			{"Date", "Yard", "Supers", "Kind", "Gross " + unit, "Weather"},
			{day(3), "Alder Bend", 10, "deep", 410, "dry"},
			{day(5), "Alder Bend", 8, "jumbo", 300, ""},
			{day(6), "Alder Bend", "ten or so", "deep", 400, "rain"},
			{"Total", nil, 28, nil, 1110, nil},
		}},
		{"Runs", [][]any{{"Date", "Run", "Honey " + unit}, {day(8), "first", 250}, {day(9), "second", 180}}},
	}
	for i, s := range sheets {
		if i == 0 {
			if err := f.SetSheetName("Sheet1", s.name); err != nil {
				t.Fatal(err)
			}
		} else if _, err := f.NewSheet(s.name); err != nil {
			t.Fatal(err)
		}
		for n, row := range s.rows {
			if err := f.SetSheetRow(s.name, fmt.Sprintf("A%d", n+1), &row); err != nil {
				t.Fatal(err)
			}
		}
	}
	path = filepath.Join(t.TempDir(), "old book.xlsx")
	if err := f.SaveAs(path); err != nil {
		t.Fatal(err)
	}
	return path
}

// messyWords are what is in sight of somebody who brings it in, in a language and with the units of
// an outfit.
type messyWords struct {
	eachRow, pulls, runs, sheet, file, look, again, totals                              string
	whatIs, isNew, tare, usual, fullest, use, settling, capacity, leaveOut, tank, other string
	bringIn, inTheBook, notRead, intoWhich, supers, into                                string
}

// A stranger brings a messy old workbook in, by keys and by the words that are in sight alone, and
// ends with its pulls and its honey in the book: in English and kilograms, in Spanish and pounds.
func TestAStrangerBringsAMessyOldWorkbookIn(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name, language, unit string
		outfit               db.Outfit
		words                messyWords
	}{
		{"English and kilograms", "en", "kg", apitest.MetricOutfit, messyWords{
			"Each row is", "pulls", "runs", "Sheet", "File", "Look at it", "Look again", "Leave out rows of totals",
			"What is %s?", "a new one: set it up", "tare, kg needed", "usual net, kg needed", "fullest net, kg needed", "use needed", "settling", "capacity, kg needed",
			"Leave row %d out", "tank, for all rows", "or the name of another",
			"Bring it in", "It is in the book", "Column F Weather is not read. Its row 3 says: dry", "Into which tank did this honey go?", "8 supers of the kind jumbo", "into Nova",
		}},
		{"Spanish and pounds", "es", "lb", apitest.USOutfit, messyWords{
			"Cada fila es", "recogidas de alzas", "tandas", "Hoja", "Archivo", "Mirarlo", "Mirar otra vez", "Dejar fuera las filas de totales",
			"¿Qué es %s?", "uno nuevo: configurarlo", "tara, lb necesario", "neto habitual, lb necesario", "neto máximo, lb necesario", "uso necesario", "decantación", "capacidad, lb necesario",
			"Dejar fuera la fila %d", "tanque, en todas las filas", "o el nombre de otro",
			"Incorporar", "Está en el libro", "La columna F Weather no se lee. Su fila 3 dice: dry", "¿A qué tanque fue esta miel?", "8 alzas del tipo jumbo", "a Nova",
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			h := apitest.Open(t, c.outfit, []*ledger.Entry{
				apitest.EntryAt(0, &ledger.Season{Name: "2026", First: "2026-01-01", Last: "2026-12-31"}),
				apitest.EntryAt(0, &ledger.SuperKind{Name: "deep", FramesPerSuper: 10, TareG: 13_000, UsualNetG: 27_000, FullestNetG: 36_000}),
				apitest.EntryAt(0, &ledger.Yard{Name: "Alder Bend"}),
			})
			h.SignIn(t)
			d := browsertest.Start(t)
			d.CutOff = false
			d.Resize(1280, 800)
			d.SignIn(h)
			d.Speak(h, c.language)
			d.Open(d.At(h) + "/import")
			bringMessyIn(t, d, c.words, c.language, messyWorkbook(t, c.unit))
			pulls, moved, tanks := h.Ask(t, "pulls"), h.Ask(t, "movements"), h.Ask(t, "tanks")
			if len(pulls) != 2 || len(moved) != 2 || len(tanks) != 1 {
				t.Fatalf("%d pulls, %d times honey, %d tanks", len(pulls), len(moved), len(tanks))
			}
			gross, honey := 300.0, 250.0
			if c.unit == "lb" {
				gross, honey = 136.078, 113.398
			}
			if pulls[1]["gross_kg"] != gross || moved[0]["mass_kg"] != honey {
				t.Errorf("the second pull weighed %v kg, and the first honey %v kg", pulls[1]["gross_kg"], moved[0]["mass_kg"])
			}
		})
	}
}

func bringMessyIn(t *testing.T, d *browsertest.Browser, w messyWords, language, file string) {
	t.Helper()
	look := func(name string) {
		t.Helper()
		d.TabTo(name)
		d.Answers(kb.Enter)
	}
	d.Pick(w.eachRow, w.pulls)
	d.TabTo(w.file)
	d.ChooseFile(file)
	look(w.look)
	d.Reads(w.notRead)
	d.Complain("a messy workbook")
	d.Picture("import-messy-"+language+"-desk", 1280, 800)
	d.Picture("import-messy-"+language+"-phone", 360, 640)
	d.Resize(1280, 800)
	d.Pick(fmt.Sprintf(w.whatIs, "jumbo"), w.isNew)
	d.Write(w.tare, "15")
	d.Write(w.usual, "30")
	d.Write(w.fullest, "41")
	d.TabTo(fmt.Sprintf(w.leaveOut, 5))
	d.Press(" ")
	d.TabTo(w.totals)
	d.Press(" ")
	look(w.again)
	d.Reads(w.bringIn, w.supers)
	d.Complain("a messy workbook that is ready")
	d.Picture("import-messy-ready-"+language+"-desk", 1280, 800)
	d.Picture("import-messy-ready-"+language+"-phone", 360, 640)
	d.Resize(1280, 800)
	look(w.bringIn)
	d.Reads(w.inTheBook)

	d.Pick(w.eachRow, w.runs)
	d.Pick(w.sheet, "Runs")
	look(w.again)
	d.Reads(w.intoWhich)
	d.Complain("runs without a tank")
	d.Picture("import-messy-runs-"+language+"-phone", 360, 640)
	d.Resize(1280, 800)
	d.Write(w.tank, "Nova")
	look(w.again)
	d.Pick(fmt.Sprintf(w.whatIs, "Nova"), w.isNew)
	d.Pick(w.use, w.settling)
	d.Write(w.capacity, "2000")
	look(w.again)
	d.Reads(w.into)
	d.Picture("import-messy-runs-ready-"+language+"-phone", 360, 640)
	d.Resize(1280, 800)
	look(w.bringIn)
	d.Reads(w.inTheBook)
}
