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
	"slices"
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
	libreOfficeIn(t, "en-US", into, filter, form, what...)
}

// libreOfficeIn is libreOffice of somebody whose program is set to a region.
func libreOfficeIn(t *testing.T, region, into, filter, form string, what ...string) {
	t.Helper()
	profile := filepath.Join(t.TempDir(), "profile")
	settings := `<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry" xmlns:xs="http://www.w3.org/2001/XMLSchema" xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance">
<item oor:path="/org.openoffice.Setup/L10N"><prop oor:name="ooSetupSystemLocale" oor:op="fuse"><value>` + region + `</value></prop></item></oor:items>`
	if err := errors.Join(os.MkdirAll(filepath.Join(profile, "user"), 0o700), os.WriteFile(filepath.Join(profile, "user", "registrymodifications.xcu"), []byte(settings), 0o600)); err != nil {
		t.Fatal(err)
	}
	args := []string{"-env:UserInstallation=file://" + profile, "--headless", "--norestore"}
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
	// Numbers that are names stay as they are, whether quoted fields are loaded as text or, as
	// most programs do, as whatever they look like.
	names := []string{"00123", "1-2", "1/2", "2026E07", "12:30"}
	for _, name := range names {
		s.book(t, "fills", s.aFill("container", name))
	}
	for _, quotedAsText := range []string{"", ",,1033,true,true"} {
		libreOffice(t, into, "CSV:44,34,76,1"+quotedAsText, "fods", address)
		sheet = file(t, filepath.Join(into, "containers.fods"))
		if strings.Contains(sheet, "table:formula") {
			t.Error("loaded again, something in the feed became a formula")
		}
		for _, name := range names {
			if !strings.Contains(sheet, "<text:p>'"+name+"</text:p>") && !strings.Contains(sheet, "<text:p>&apos;"+name+"</text:p>") {
				t.Errorf("loaded again, quoted as text %q, the sheet lacks the new drum %s", quotedAsText, name)
			}
		}
	}
	// The recipe for Python, as the README has it.
	if got := strings.TrimSpace(python(t, `
import csv, io, sys, urllib.request
rows = list(csv.DictReader(io.TextIOWrapper(urllib.request.urlopen(sys.argv[1]), "utf-8-sig")))
print(len(rows), *(r["net_kg"] for r in rows if r["container"].removeprefix("'") == "00123"))`, address)); got != "14 270.0000" {
		t.Errorf("Python's csv reads %q", got)
	}
}

// weighedSeason is two seasons of which the weights are known: pulls that were weighed and not, one whose boxes
// went into runs of both seasons.
type weighedSeason struct {
	*shed
	pull, movement M
}

func newWeighedSeason(t *testing.T) weighedSeason {
	t.Helper()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	last := func(day string) string { return "2025-08-" + day + "T10:00:00-05:00" }
	pull := func(yard, when string, supers int, more ...any) M {
		body := s.aPull(append([]any{"yard_id", yard, "occurred_at", when, "supers", []M{{"super_kind_id": s.deep, "supers": supers}}, "via", "import"}, more...)...)
		s.book(t, "pulls", body)
		return body
	}
	run := func(name, when string, kg float64, of ...any) (movement M) {
		run := s.book(t, "runs", s.aRun("name", name, "occurred_at", when, "via", "import")).ID
		for i := 0; i < len(of); i += 2 {
			s.book(t, "run-supers", s.someSupers("run_id", run, "pull_id", of[i].(M)["id"], "supers", of[i+1], "occurred_at", when, "via", "import"))
		}
		movement = s.aMovement("from", M{"kind": "run", "id": run}, "mass_kg", kg, "occurred_at", when, "via", "import")
		s.book(t, "movements", movement)
		return movement
	}
	s.book(t, "seasons", M{"id": id(), "occurred_at": at(1, "8:00"), "name": "2025", "first": "2025-01-01", "last": "2025-12-31"})
	old := pull(s.alder, last("03"), 20, "gross_kg", 820.4)
	oldBirch := pull(s.birch, last("04"), 12)
	run("old", last("05"), 610.35, old, 10, oldBirch, 12)
	weighed := pull(s.birch, at(18, "9:00"), 30, "gross_kg", 1180.7)
	other := pull(s.alder, at(18, "11:00"), 30, "gross_kg", 1150.2)
	unweighed := pull(s.birch, at(19, "9:00"), 25)
	run("weighed", at(20, "12:00"), 1310.455, weighed, 30, other, 20, old, 10)
	movement := run("shared out", at(20, "15:00"), 700.123, unweighed, 25, other, 10)
	s.book(t, "hive-counts", M{"id": id(), "occurred_at": at(1, "8:00"), "yard_id": s.alder, "name": "main flow", "hives": 20})
	s.book(t, "pulls", s.aPull("yard_id", s.birch, "supers", []M{{"super_kind_id": s.deep, "supers": 1}}, "note", "=1+1"))
	s.book(t, "readings", s.aReading("on", M{"kind": "lot", "id": s.lot}))
	return weighedSeason{s, weighed, movement}
}

// seasonSays is what the service says of a season.
type seasonSays struct {
	HoneyKg  float64 `json:"honey_kg"`
	NoPullKg float64 `json:"no_pull_kg"`
	Yards    []struct {
		Name       string
		Rank       float64
		HoneyKg    float64  `json:"honey_kg"`
		Share      float64  `json:"share"`
		KgPerSuper *float64 `json:"kg_per_super"`
		KgPerHive  *float64 `json:"kg_per_hive"`
		LastKg     float64  `json:"last_season_kg"`
	}
	Balance struct {
		HarvestedKg float64 `json:"harvested_kg"`
		InTanksKg   float64 `json:"in_tanks_kg"`
	}
}

// Somebody edits one weight in the workbook, of a pull or of a run. The workbook reckons the yards, the cover and the
// balance anew, as the service does for a book in which that weight was so from the beginning. Rows may be sorted
// before: pulls are written in another order here.
func TestASeasonWorkbookReckonsAsTheServiceDoes(t *testing.T) {
	t.Parallel()
	s := newWeighedSeason(t)
	into := t.TempDir()
	plain, pounds := filepath.Join(into, "plain.xlsx"), filepath.Join(into, "pounds.xlsx")
	before := read[seasonSays](t, s.outfit, "reports/season?season=2026")
	if err := errors.Join(os.WriteFile(plain, s.feed(t, "season.xlsx?season=2026").raw, 0o600), os.WriteFile(pounds, s.feed(t, "season.xlsx?units=us").raw, 0o600)); err != nil {
		t.Fatal(err)
	}
	edited := map[string]seasonSays{}
	edit := func(name, sheet, key, value, column string, figure float64, path string, body M) {
		python(t, `
import openpyxl, sys
source, target, name, key, value, column, figure = sys.argv[1:]
book = openpyxl.load_workbook(source)
sheet = book[name]
heads = [c.value for c in sheet[2]]
at = lambda head: heads.index(head) + 1
rows = [r for r in range(3, sheet.max_row + 1) if str(sheet.cell(r, at(key)).value) == value]
assert len(rows) == 1, (rows, value)
sheet.cell(rows[0], at(column)).value = float(figure)
if name == "Pulls":
    values = [[c.value for c in row] for row in sheet.iter_rows(min_row=3)]
    for i, row in enumerate(reversed(values)):
        for k, v in enumerate(row):
            sheet.cell(3 + i, k + 1).value = v.replace(str(2 + len(values) - i), str(3 + i)) if isinstance(v, str) and v.startswith("=IF") else v
book.save(target)`, plain, filepath.Join(into, name+".xlsx"), sheet, key, value, column, strconv.FormatFloat(figure, 'f', -1, 64))
		s.book(t, path, body)
		edited[name] = read[seasonSays](t, s.outfit, "reports/season?season=2026")
	}
	lighter := with(s.pull, "id", id(), "gross_kg", 980.7, "replaces", s.pull["id"], "reason", "misread")
	edit("pull", "Pulls", "gross kg", "1180.7", "gross kg", 980.7, "pulls", lighter)
	s.book(t, "pulls", with(s.pull, "id", id(), "replaces", lighter["id"], "reason", "it was right"))
	edit("run", "Runs", "honey kg", "700.123", "honey kg", 2700.123, "movements", with(s.movement, "id", id(), "mass_kg", 2700.123, "replaces", s.movement["id"], "reason", "misread"))
	libreOffice(t, into, "", "csv:Text - txt - csv (StarCalc):44,34,76,1,,1033,false,false,false,false,false,-1", plain, pounds, filepath.Join(into, "pull.xlsx"), filepath.Join(into, "run.xlsx"))
	edited["plain"] = before
	for name, says := range edited {
		reckonsAs(t, name, filepath.Join(into, name), says)
	}
	for name, is := range map[string]func(a, b seasonSays) bool{ // or the edits would show little
		"pull": func(a, b seasonSays) bool { return math.Abs(a.Yards[0].HoneyKg-b.Yards[0].HoneyKg) > 20 },
		"run": func(a, b seasonSays) bool {
			return math.Abs(b.HoneyKg-a.HoneyKg-2000) < 1e-6 && a.Yards[0].Name != b.Yards[0].Name
		},
	} {
		if !is(before, edited[name]) {
			t.Errorf("the %s that was edited changes nothing to speak of: %+v", name, edited[name])
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

// reckonsAs holds what LibreOffice reckoned against what the service says, to a gram for each share.
func reckonsAs(t *testing.T, name, path string, says seasonSays) {
	t.Helper()
	const grams = 0.005
	near := func(what string, got, want float64) {
		t.Helper()
		if !(math.Abs(got-want) <= grams) {
			t.Errorf("%s: %s is %v, the service says %v", name, what, got, want)
		}
	}
	yards, cover := loadedSheet(t, path+"-Yards.csv"), map[string][]string{}
	for _, row := range loadedSheet(t, path+"-Cover.csv") {
		cover[row[0]] = row[1:]
	}
	onCover := func(of string, column int) float64 {
		v, err := strconv.ParseFloat(strings.ReplaceAll(append(cover[of], make([]string, column+1)...)[column], ",", ""), 64)
		if err != nil {
			return math.NaN()
		}
		return v
	}
	near("the honey on the cover", onCover("Honey, kg", 0), says.HoneyKg)
	near("the honey of no known pull", onCover("of that from no known pull, kg", 0), says.NoPullKg)
	for i := range yards[2:] {
		yard := yards[2+i][0]
		for _, y := range says.Yards {
			if y.Name != yard {
				continue
			}
			near(yard+", honey", yards.cell(i, "honey kg"), y.HoneyKg)
			near(yard+", rank", yards.cell(i, "rank"), y.Rank)
			near(yard+", share", yards.cell(i, "share pct"), 100*y.Share)
			near(yard+", last season", yards.cell(i, "last season kg"), y.LastKg)
			near(yard+", change", yards.cell(i, "change kg"), y.HoneyKg-y.LastKg)
			near(yard+" on the cover, rank", onCover(yard, 0), y.Rank)
			near(yard+" on the cover, honey", onCover(yard, 1), y.HoneyKg)
			near(yard+" on the cover, share", onCover(yard, 2), 100*y.Share)
			if y.KgPerSuper != nil {
				near(yard+", per super", yards.cell(i, "kg per super"), *y.KgPerSuper)
				near(yard+" on the cover, per super", onCover(yard, 3), *y.KgPerSuper)
			}
			if y.KgPerHive != nil {
				near(yard+", per hive", yards.cell(i, "kg per hive"), *y.KgPerHive)
			}
		}
	}
	balance := map[string]float64{}
	for _, row := range loadedSheet(t, path+"-Balance.csv") {
		balance[row[0]], _ = strconv.ParseFloat(row[1], 64)
	}
	near("harvested", balance["Harvested"], says.Balance.HarvestedKg)
	near("in tanks after", balance["In tanks after"], says.Balance.InTanksKg)
	near("the difference", balance["Difference"], 0)
}

// Where a run names no pulls, its honey may be of any yard that has boxes left. The workbook leaves what such a
// yard gave, its share and all ranks empty: nothing would be wrong.
func TestASeasonWorkbookLeavesEmptyWhatIsNotKnownByYard(t *testing.T) {
	t.Parallel()
	s := newWeighedSeason(t)
	run := s.book(t, "runs", s.aRun("name", "unknown", "occurred_at", at(20, "17:00"), "via", "import")).ID
	s.book(t, "movements", s.aMovement("from", M{"kind": "run", "id": run}, "mass_kg", 51.2, "occurred_at", at(20, "17:00"), "via", "import"))
	into := t.TempDir()
	path := filepath.Join(into, "unknown.xlsx")
	if err := os.WriteFile(path, s.feed(t, "season.xlsx?season=2026").raw, 0o600); err != nil {
		t.Fatal(err)
	}
	libreOffice(t, into, "", "csv:Text - txt - csv (StarCalc):44,34,76,1,,1033,false,false,false,false,false,-1", path)
	yards := loadedSheet(t, strings.TrimSuffix(path, ".xlsx")+"-Yards.csv")
	empty := 0
	for i := range yards[2:] {
		if yards.cell(i, "rank") != 0 {
			t.Errorf("%s has a rank", yards[2+i][0])
		}
		for _, name := range []string{"honey kg", "share pct", "change kg"} {
			if text := yards.text(i, name); yards[2+i][0] == "Birch Hollow" && text != "" {
				t.Errorf("the %s of a yard with boxes left is %q", name, text)
			} else if text == "" {
				empty++
			}
		}
	}
	if empty != 3 {
		t.Errorf("%d cells are empty", empty)
	}
}

// What a workbook shows before anybody reckons is what its formulas come to: every cell, in either unit, to
// the places that it shows; in pounds to a few grams. No cell comes to an error.
func TestASeasonWorkbookShowsWhatItsFormulasComeTo(t *testing.T) {
	t.Parallel()
	o := demoOutfit(t, openHouse(t))
	written, bare, reckoned := t.TempDir(), t.TempDir(), t.TempDir()
	var paths []string
	asked := []string{"units=us"}
	if dbtest.Whole() {
		asked = append(asked, "units=metric", "units=us&language=es")
	}
	for _, asked := range asked {
		path := filepath.Join(written, strconv.Itoa(len(paths))+".xlsx")
		if err := os.WriteFile(path, o.feed(t, "season.xlsx?"+asked).raw, 0o600); err != nil {
			t.Fatal(err)
		}
		paths = append(paths, filepath.Join(bare, filepath.Base(path)))
	}
	// Without what the formulas came to, so that LibreOffice has to reckon.
	python(t, `
import glob, openpyxl, os, sys
for path in glob.glob(os.path.join(sys.argv[1], "*.xlsx")):
    openpyxl.load_workbook(path).save(os.path.join(sys.argv[2], os.path.basename(path)))`, written, bare)
	libreOffice(t, reckoned, "", "xlsx", paths...)
	said := python(t, `
import glob, openpyxl, os, sys
compared, wrong = 0, []
for path in glob.glob(os.path.join(sys.argv[1], "*.xlsx")):
    a, b = openpyxl.load_workbook(path, data_only=True), openpyxl.load_workbook(os.path.join(sys.argv[2], os.path.basename(path)), data_only=True)
    for sheet in a:
        for row in sheet.iter_rows():
            for cell in row:
                was, now = cell.value, b[sheet.title][cell.coordinate].value
                if isinstance(now, str) and now.startswith(("#", "Err:")):
                    wrong.append((sheet.title, cell.coordinate, was, now))
                if not isinstance(was, (int, float)) or isinstance(was, bool):
                    continue
                compared += 1
                head = str(sheet.cell(2, cell.column).value)
                most = 0.051 if "pct" in head or "%" in head else 0.02
                if not isinstance(now, (int, float)) or abs(was - now) > most:
                    wrong.append((sheet.title, cell.coordinate, was, now))
print("fine" if compared > 2000 and not wrong else (compared, wrong[:20]))`, written, reckoned)
	if strings.TrimSpace(said) != "fine" {
		t.Error(said)
	}
}

// Somebody types a weight that the program takes for text, such as 1180,7 where decimals stand behind a point. The
// cell refuses it: as a text it would make the pull one that nobody weighed.
func TestACellForAWeightTakesNoText(t *testing.T) {
	t.Parallel()
	s := newWeighedSeason(t)
	book, err := excelize.OpenReader(bytes.NewReader(s.feed(t, "season.xlsx?season=2026&units=us").raw))
	if err != nil {
		t.Fatal(err)
	}
	for sheet, heads := range map[string][]string{"Pulls": {"gross lb", "tare lb"}, "Runs": {"honey lb"}} {
		rows, err := book.GetRows(sheet)
		if err != nil {
			t.Fatal(err)
		}
		rules, err := book.GetDataValidations(sheet)
		if err != nil || len(rules) != len(heads) {
			t.Fatalf("%s: %d rules, %v", sheet, len(rules), err)
		}
		for i, head := range heads {
			column, err := excelize.ColumnNumberToName(slices.Index(rows[1], head) + 1)
			if err != nil {
				t.Fatal(err)
			}
			rule := rules[i]
			if rule.Type != "decimal" || rule.Operator != "greaterThanOrEqual" || rule.Formula1 != "0" || !rule.AllowBlank || !rule.ShowErrorMessage ||
				!strings.HasPrefix(rule.Sqref, column+"3:"+column) || rule.Error == nil || !strings.Contains(*rule.Error, "lb") {
				t.Errorf("%s, %s, column %s: %+v", sheet, head, column, rule)
			}
		}
	}
}

// Somebody writes a run or a pull below the others, or between them. The totals have it, and so have the cover and the
// balance, where the run's honey is from no known pull.
func TestARowThatIsAddedToASeasonWorkbookCounts(t *testing.T) {
	t.Parallel()
	s := newWeighedSeason(t)
	before := read[seasonSays](t, s.outfit, "reports/season?season=2026")
	into := t.TempDir()
	plain, added := filepath.Join(into, "plain.xlsx"), filepath.Join(into, "added.xlsx")
	if err := os.WriteFile(plain, s.feed(t, "season.xlsx?season=2026").raw, 0o600); err != nil {
		t.Fatal(err)
	}
	python(t, `
import openpyxl, sys
book = openpyxl.load_workbook(sys.argv[1])
for name, head, figure in ("Runs", "honey kg", 500.25), ("Pulls", "supers", 7):
    sheet = book[name]
    heads = [c.value for c in sheet[2]]
    sheet.cell(sheet.max_row + 1, heads.index(head) + 1).value = figure
book.save(sys.argv[2])`, plain, added)
	libreOffice(t, into, "", "csv:Text - txt - csv (StarCalc):44,34,76,1,,1033,false,false,false,false,false,-1", plain, added)
	rows := func(name, sheet string) sheetCSV { return loadedSheet(t, filepath.Join(into, name+"-"+sheet+".csv")) }
	for _, one := range []struct {
		sheet, head string
		more        float64
	}{{"Runs", "honey kg", 500.25}, {"Pulls", "supers", 7}} {
		if more := rows("added", one.sheet).total(one.head) - rows("plain", one.sheet).total(one.head); math.Abs(more-one.more) > 1e-6 {
			t.Errorf("the total of %s has %v more", one.sheet, more)
		}
	}
	says := before
	says.HoneyKg, says.NoPullKg = says.HoneyKg+500.25, says.NoPullKg+500.25
	says.Balance.HarvestedKg, says.Balance.InTanksKg = says.Balance.HarvestedKg+500.25, says.Balance.InTanksKg+500.25
	says.Yards = slices.Clone(says.Yards)
	for i := range says.Yards {
		says.Yards[i].Share *= before.HoneyKg / says.HoneyKg
	}
	reckonsAs(t, "a run below the others", filepath.Join(into, "added"), says)
}

// A second reader of workbooks, which is none of ours, sees in one what people print and choose rows in.
func TestASeasonWorkbookIsSetUpForPeople(t *testing.T) {
	t.Parallel()
	s := newWeighedSeason(t)
	into := t.TempDir()
	plain, pounds := filepath.Join(into, "plain.xlsx"), filepath.Join(into, "pounds.xlsx")
	raw := s.feed(t, "season.xlsx?season=2026").raw
	if err := errors.Join(os.WriteFile(plain, raw, 0o600), os.WriteFile(pounds, s.feed(t, "season.xlsx?units=us").raw, 0o600)); err != nil {
		t.Fatal(err)
	}
	goReads(t, raw, read[seasonSays](t, s.outfit, "reports/season").HoneyKg-read[seasonSays](t, s.outfit, "reports/season").NoPullKg)
	said := python(t, `
import openpyxl, sys
book = openpyxl.load_workbook(sys.argv[1])
print(",".join(book.sheetnames), ",".join(sorted(t for s in book for t in s.tables)), len(book["Cover"]._charts))
for name in book.sheetnames:
    sheet = book[name]
    if sheet.tables:
        print(name, sheet.freeze_panes, sheet.print_title_rows, sheet.page_setup.orientation, sheet.page_setup.fitToHeight, sheet.sheet_properties.pageSetUpPr.fitToPage)
pulls = book["Pulls"]
heads = [c.value for c in pulls[2]]
print(type(pulls.cell(3, heads.index("pulled at") + 1).value).__name__, [c.data_type for row in pulls for c in row if c.value == "=1+1"])
print("tare", pulls.cell(1, heads.index("tare kg") + 1).value, "gross", pulls.cell(1, heads.index("gross kg") + 1).value)
cover = book["Cover"]
print("cover", cover.page_setup.orientation, cover.page_setup.fitToWidth, *(type(cover[c].value).__name__ for c in ("B3", "B4")), cover["B5"].value)
readings = book["Readings"]
heads = [c.value for c in readings[2]]
column = openpyxl.utils.get_column_letter(heads.index("instrument") + 1)
print("wide enough", readings.column_dimensions[column].width > max(len(c.value or "") for c in readings[column]), readings["A1"].value)
reckoned = openpyxl.load_workbook(sys.argv[1], data_only=True)["Balance"]
print("balance", [isinstance(row[1].value, (int, float)) for row in reckoned.iter_rows(min_row=2) if row[0].value].count(True))
grams = [row[1].value * 453.59237 for row in openpyxl.load_workbook(sys.argv[2], data_only=True)["Balance"].iter_rows(min_row=2) if isinstance(row[1].value, (int, float))]
print("whole grams", len(grams) > 5 and all(abs(g - round(g)) < 1e-4 for g in grams))
legend = [[c.value for c in row] for row in book["Legend"].iter_rows()]
print("legend", all(row[1] for row in legend if row[0]), "kg" in legend[0][1])
`, plain, pounds)
	wants := []string{"Cover,Yards,Pulls,Runs,Shares,Tanks,Lots,Drums,Sales,Verdicts,Readings,Balance,Legend Drums,Lots,Pulls,Readings,Runs,Shares,Tanks,Yards 1\n", "datetime ['s']",
		"tare None gross =SUBTOTAL", "cover portrait 1 datetime datetime =SUM('Runs'!", "wide enough True None", "balance 14\n", "whole grams True", "legend True True"}
	for _, sheet := range []string{"Yards", "Pulls", "Runs", "Shares", "Tanks", "Lots", "Drums", "Readings"} {
		wants = append(wants, sheet+" A3 $1:$2 landscape 0 True")
	}
	for _, want := range wants {
		if !strings.Contains(said, want) {
			t.Errorf("openpyxl does not see %s: %s", want, said)
		}
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
	i := slices.Index(s[1], head)
	if i < 0 {
		return math.NaN()
	}
	v, _ := strconv.ParseFloat(s[row][i], 64)
	return v
}

// text is what a cell shows.
func (s sheetCSV) text(row int, head string) string {
	i := slices.Index(s[1], head)
	if i < 0 {
		return "no such column"
	}
	return s[2+row][i]
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
