package api_test

import (
	"bytes"
	"encoding/csv"
	"errors"
	"math"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"pullbook/db/dbtest"
)

// program finds a spreadsheet program that the tests read with.
func program(t *testing.T, name, get string) string {
	t.Helper()
	for _, at := range []string{"/usr/bin/" + name, name} {
		if path, err := exec.LookPath(at); err == nil {
			return path
		}
	}
	t.Fatalf("%s is not on this machine: install it with `apt-get install %s`", name, get)
	return ""
}

// libreOffice converts files or addresses, as somebody with the program would
// load them, into files of a folder.
func libreOffice(t *testing.T, into, filter, form string, what ...string) {
	t.Helper()
	args := []string{"-env:UserInstallation=file://" + filepath.Join(t.TempDir(), "profile"), "--headless", "--norestore"}
	if filter != "" {
		args = append(args, "--infilter="+filter)
	}
	args = append(append(args, "--convert-to", form, "--outdir", into), what...)
	out, err := exec.CommandContext(t.Context(), program(t, "soffice", "libreoffice-calc"), args...).CombinedOutput()
	if err != nil {
		t.Fatalf("LibreOffice: %v\n%s", err, out)
	}
}

// python runs a script with Debian's openpyxl.
func python(t *testing.T, script string, args ...string) string {
	t.Helper()
	command := exec.CommandContext(t.Context(), program(t, "python3", "python3 python3-openpyxl"), append([]string{"-c", script}, args...)...)
	var failed bytes.Buffer
	command.Stderr = &failed
	out, err := command.Output()
	if err != nil {
		t.Fatalf("python3 with openpyxl (install it with `apt-get install python3-openpyxl`): %v\n%s", err, failed.String())
	}
	return string(out)
}

func file(t *testing.T, path string) string {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

// TestLibreOfficeRefreshesAFeedAndRunsNothingInIt loads a feed by its address
// and key, records something, and loads it again.
func TestLibreOfficeRefreshesAFeedAndRunsNothingInIt(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	attacks := []string{"=1+1", "=cmd|'/c calc'!A0", "+1+1", "-2+3", "@SUM(1;1)", "\t=1+1", `=HYPERLINK("http://example.org","x")`, "Tam's \"best\", größte"}
	for i, text := range attacks {
		s.book(t, "fills", s.aFill("container", "00"+strconv.Itoa(i+1), "seal", text))
	}
	address := s.url + "/feeds/containers.csv?key=" + s.makeKey(t, "containers").Key
	into := t.TempDir()
	libreOffice(t, into, "CSV:44,34,76,1", "fods", address)
	sheet := file(t, filepath.Join(into, "containers.fods"))
	if strings.Contains(sheet, "table:formula") {
		t.Error("something in the feed became a formula")
	}
	for _, want := range []string{"&apos;=1+1", "&apos;=cmd|", "&apos;+1+1", "größte", `office:value-type="date"`, `office:value="270"`} {
		if !strings.Contains(sheet, want) && !strings.Contains(sheet, strings.ReplaceAll(want, "&apos;", "'")) {
			t.Errorf("%s is not in the loaded sheet", want)
		}
	}
	s.book(t, "fills", s.aFill("container", "00123"))
	// With quoted fields as text, which is how the recipes load it, a number
	// that is a name keeps its zeros.
	libreOffice(t, into, "CSV:44,34,76,1,,1033,true,true", "fods", address)
	sheet = file(t, filepath.Join(into, "containers.fods"))
	if !strings.Contains(sheet, "<text:p>00123</text:p>") || strings.Contains(sheet, "table:formula") {
		t.Error("loaded again, the sheet lacks the new drum 00123, or has a formula")
	}
	// The recipe for Python, as the README has it.
	if got := strings.TrimSpace(python(t, `
import csv, io, sys, urllib.request
rows = list(csv.DictReader(io.TextIOWrapper(urllib.request.urlopen(sys.argv[1]), "utf-8-sig")))
print(len(rows), *(r["net_kg"] for r in rows if r["container"] == "00123"))`, address)); got != "10 270.0000" {
		t.Errorf("Python's csv reads %q", got)
	}
}

// A figure reads the same in every region's spreadsheet program, or it is no figure there:
// LibreOffice set to German took 420.500 for 420,500 without a word. The numbers of regions
// are those of Windows (MS-LCID).
func TestAFigureReadsTheSameInEveryRegion(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	s.book(t, "pulls", s.aPull("gross_kg", 420.435))
	key := s.makeKey(t, "pulls").Key
	for _, region := range []struct {
		name, id, decimal string
		fields            string
		figures, always   bool
	}{
		{"English", "1033", "point", "44", true, false}, {"German", "1031", "comma", "59", true, true}, {"Spanish", "3082", "comma", "59", true, false}, {"French", "1036", "comma", "59", true, false},
		{"German, without saying so", "1031", "point", "44", false, true},
	} {
		if !region.always && !dbtest.Whole() {
			continue
		}
		into := t.TempDir()
		libreOffice(t, into, "CSV:"+region.fields+",34,76,1,,"+region.id, "fods", s.url+"/feeds/pulls.csv?decimal="+region.decimal+"&key="+key)
		sheet := file(t, filepath.Join(into, "pulls.fods"))
		for _, grams := range []string{"420.435", "290.435"} {
			if is := strings.Contains(sheet, `office:value="`+grams+`"`); is != region.figures {
				t.Errorf("%s: %s kg is a figure: %t", region.name, grams, is)
			}
		}
		if strings.Contains(sheet, `office:value="420435"`) || strings.Contains(sheet, `office:value="4204350"`) {
			t.Errorf("%s: 420.435 kg is taken for a thousand times as much", region.name)
		}
	}
}

// TestASeasonWorkbookReckonsAsTheServiceDoes opens the workbook in a second and
// a third reader, edits a figure, and has LibreOffice reckon it anew.
func TestASeasonWorkbookReckonsAsTheServiceDoes(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	s.book(t, "pulls", s.aPull("yard_id", s.birch, "gross_kg", 420.5, "note", "=1+1"))
	s.book(t, "readings", s.aReading("on", M{"kind": "lot", "id": s.lot}))
	s.book(t, "hive-counts", M{"id": id(), "occurred_at": at(1, "8:00"), "yard_id": s.alder, "name": "main flow", "hives": 20})
	report := read[struct {
		HoneyKg float64 `json:"honey_kg"`
		Yards   []struct {
			HoneyKg    float64  `json:"honey_kg"`
			KgPerSuper *float64 `json:"kg_per_super"`
		}
	}](t, s.outfit, "reports/season")
	raw := s.feed(t, "season.xlsx?season=2026").raw
	into := t.TempDir()
	plain, pounds, edited := filepath.Join(into, "plain.xlsx"), filepath.Join(into, "pounds.xlsx"), filepath.Join(into, "edited.xlsx")
	if err := errors.Join(os.WriteFile(plain, raw, 0o600), os.WriteFile(pounds, s.feed(t, "season.xlsx?units=us").raw, 0o600)); err != nil {
		t.Fatal(err)
	}
	goReads(t, raw, report.HoneyKg)
	said := python(t, `
import openpyxl, sys
book = openpyxl.load_workbook(sys.argv[1])
print(",".join(book.sheetnames), ",".join(sorted(t for s in book for t in s.tables)), len(book["Cover"]._charts))
yards = book["Yards"]
heads = [c.value for c in yards[2]]
yards.cell(3, heads.index("honey kg") + 1).value += 100
print(yards.freeze_panes, yards.print_title_rows, yards.page_setup.orientation, yards.page_setup.fitToHeight)
pulls = book["Pulls"]
heads = [c.value for c in pulls[2]]
print(type(pulls.cell(3, heads.index("pulled at") + 1).value).__name__, [c.data_type for row in pulls for c in row if c.value == "=1+1"])
print("tare", pulls.cell(1, heads.index("tare kg") + 1).value, "gross", pulls.cell(1, heads.index("gross kg") + 1).value)
cover = book["Cover"]
print("cover", cover.page_setup.orientation, cover.page_setup.fitToHeight, *(type(cover[c].value).__name__ for c in ("B3", "B4", "B9")))
readings = book["Readings"]
heads = [c.value for c in readings[2]]
column = openpyxl.utils.get_column_letter(heads.index("instrument") + 1)
print("wide enough", readings.column_dimensions[column].width > max(len(c.value or "") for c in readings[column]), readings["A1"].value)
reckoned = openpyxl.load_workbook(sys.argv[1], data_only=True)["Balance"]
print("balance", *(type(row[1].value).__name__ for row in reckoned.iter_rows(min_row=2) if row[0].value))
grams = [row[1].value * 453.59237 for row in openpyxl.load_workbook(sys.argv[3])["Balance"].iter_rows(min_row=2) if isinstance(row[1].value, (int, float))]
print("whole grams", len(grams) > 5 and all(abs(g - round(g)) < 1e-4 for g in grams))
book.save(sys.argv[2])
`, plain, edited, pounds)
	for _, want := range []string{"Cover,Yards,Pulls,Runs,Tanks,Lots,Verdicts,Readings,Balance Lots,Pulls,Readings,Runs,Tanks,Yards 1", "A3 ", "$1:$2 landscape 0", "datetime ['s']",
		"tare None gross =SUBTOTAL", "cover portrait 1 datetime datetime datetime", "wide enough True None", "balance" + strings.Repeat(" int", 14), "whole grams True"} {
		if !strings.Contains(said, want) {
			t.Errorf("openpyxl does not see %s: %s", want, said)
		}
	}
	libreOffice(t, into, "", "csv:Text - txt - csv (StarCalc):44,34,76,1,,1033,false,false,false,false,false,-1", plain, pounds, edited)
	for name, more := range map[string]float64{"plain": 0, "edited": 100} {
		yards := loadedSheet(t, filepath.Join(into, name+"-Yards.csv"))
		if got := yards.total("honey kg"); math.Abs(got-report.HoneyKg-more) > 0.0005 {
			t.Errorf("%s: LibreOffice makes the total %v, the service %v", name, got, report.HoneyKg)
		}
		if got, want := yards.cell(0, "kg per super"), *report.Yards[0].KgPerSuper+more/40; math.Abs(got-want) > 0.001 {
			t.Errorf("%s: %v kg a super, and the service says %v", name, got, want)
		}
	}
	for _, name := range []string{"plain", "pounds"} {
		if balance := file(t, filepath.Join(into, name+"-Balance.csv")); !strings.Contains(balance, `Difference,"0"`) {
			t.Errorf("the balance, %s: %s", name, balance)
		}
	}
	if pulls := file(t, filepath.Join(into, "plain-Pulls.csv")); !strings.Contains(pulls, "=1+1") {
		t.Errorf("a note that looks like a formula is not text: %s", pulls)
	}
}

// TestASeasonWorkbookSpeaksTheLanguageAskedFor reads every text of the workbook: in
// Spanish there is no English in it but what people wrote, and its formulas reckon.
func TestASeasonWorkbookSpeaksTheLanguageAskedFor(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	s.analysed(t, 17.6, 8)
	s.book(t, "checks", s.aCheck())
	s.book(t, "hive-counts", M{"id": id(), "occurred_at": at(1, "8:00"), "yard_id": s.alder, "name": "main flow", "hives": 20})
	texts := func(raw []byte) (out []string) {
		t.Helper()
		book, err := excelize.OpenReader(bytes.NewReader(raw))
		if err != nil {
			t.Fatal(err)
		}
		for _, sheet := range book.GetSheetList() {
			out = append(out, sheet)
			rows, err := book.GetRows(sheet)
			if err != nil {
				t.Fatal(err)
			}
			for _, row := range rows {
				out = append(out, row...)
			}
		}
		return out
	}
	spanish := s.feed(t, "season.xlsx?language=es").raw
	said := "\n" + strings.Join(texts(spanish), "\n") + "\n"
	for _, want := range []string{"Portada", "Dictámenes", "miel kg", "kg por alza", "humedad %", "repartido por", "como mucho 20 %", "no medido", "Directiva 2001/110/CE del Consejo relativa a la miel (composición)",
		"De dónde vino la miel y adónde fue", "Diferencia", "Total", "tanque de decantación"} {
		if !strings.Contains(said, "\n"+want+"\n") {
			t.Errorf("the workbook in Spanish has no %q", want)
		}
	}
	noEnglish(t, "the workbook", said, append([]string{"Fern Gully Honey", "Fern Valley", "Birch Hill"}, publishedClauses(t)...))
	into := t.TempDir()
	if err := os.WriteFile(filepath.Join(into, "es.xlsx"), spanish, 0o600); err != nil {
		t.Fatal(err)
	}
	libreOffice(t, into, "", "csv:Text - txt - csv (StarCalc):44,34,76,1,,1033,false,false,false,false,false,-1", filepath.Join(into, "es.xlsx"))
	if balance := file(t, filepath.Join(into, "es-Balance.csv")); !strings.Contains(balance, `Diferencia,"0"`) {
		t.Errorf("the balance in Spanish: %s", balance)
	}
	if yards := loadedSheet(t, filepath.Join(into, "es-Colmenares.csv")); yards.total("miel kg") <= 0 {
		t.Errorf("the yards in Spanish: %v", yards)
	}

	pounds := strings.Join(texts(s.feed(t, "season.xlsx?language=es&units=us").raw), "\n")
	wants(t, "in pounds", pounds, "miel lb", "lb por alza", "Miel, lb")
	english := strings.Join(texts(s.feed(t, "season.xlsx").raw), "\n")
	wants(t, "for a program", english, "Cover", "honey kg", "Difference", "at most 20 %", "settling")
	// A page's reader needs not say it.
	r, err := http.NewRequestWithContext(t.Context(), http.MethodGet, s.url+"/feeds/season.xlsx", nil)
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Accept-Language", "es-MX")
	status, raw := fetchBy(t, s.browsing(t), r)
	if status != http.StatusOK {
		t.Fatalf("to a page's reader: %d %s", status, raw)
	}
	wants(t, "to a page's reader", strings.Join(texts([]byte(raw)), "\n"), "Portada", "miel kg")
	if r := s.send(t, http.MethodGet, "/feeds/season.xlsx?language=la", s.reader, nil); r.status != http.StatusUnprocessableEntity && r.status != http.StatusBadRequest {
		t.Errorf("in Latin: %d %s", r.status, r.raw)
	}
}

// goReads holds what formulas came to, as written, against the service.
func goReads(t *testing.T, raw []byte, honey float64) {
	t.Helper()
	book, err := excelize.OpenReader(bytes.NewReader(raw))
	if err != nil {
		t.Fatal(err)
	}
	rows, err := book.GetRows("Yards", excelize.Options{RawCellValue: true})
	if err != nil {
		t.Fatal(err)
	}
	for i, head := range rows[1] {
		if head == "honey kg" {
			if got, _ := strconv.ParseFloat(rows[0][i], 64); got != honey {
				t.Errorf("the total as written is %v, the service says %v", got, honey)
			}
		}
	}
}

// sheetCSV is a sheet of the workbook as LibreOffice writes it.
type sheetCSV [][]string

func loadedSheet(t *testing.T, path string) sheetCSV {
	t.Helper()
	r := csv.NewReader(strings.NewReader(file(t, path)))
	r.FieldsPerRecord = -1
	rows, err := r.ReadAll()
	if err != nil || len(rows) < 3 {
		t.Fatalf("%s: %v, %v", path, err, rows)
	}
	return rows
}

func (s sheetCSV) at(row int, head string) float64 {
	for i, h := range s[1] {
		if h == head {
			v, _ := strconv.ParseFloat(s[row][i], 64)
			return v
		}
	}
	return math.NaN()
}

func (s sheetCSV) total(head string) float64 { return s.at(0, head) }

func (s sheetCSV) cell(row int, head string) float64 { return s.at(2+row, head) }

func TestTheWorkbookOfASeasonThatThereIsNotIsRefused(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	if r := s.send(t, http.MethodGet, "/feeds/season.xlsx?season=1999", s.reader, nil); r.status != http.StatusUnprocessableEntity || !strings.Contains(string(r.raw), "It has 2026") {
		t.Errorf("%d %s", r.status, r.raw)
	}
}
