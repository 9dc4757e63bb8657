package api_test

import (
	"bytes"
	"compress/gzip"
	"encoding/base64"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/getkin/kin-openapi/openapi3filter"
	"github.com/xuri/excelize/v2"

	"pullbook/openapi"
)

// JSON lines are held to the contract as the list of their objects.
func init() {
	openapi3filter.RegisterBodyDecoder("text/csv", func(body io.Reader, _ http.Header, _ *openapi3.SchemaRef, _ openapi3filter.EncodingFn) (any, error) {
		text, err := io.ReadAll(body)
		if err != nil {
			return nil, err
		}
		rows := csv.NewReader(bytes.NewReader(bytes.TrimPrefix(text, []byte("\ufeff"))))
		if heading, _, _ := bytes.Cut(text, []byte("\n")); bytes.ContainsRune(heading, ';') {
			rows.Comma = ';' // decimals stand behind commas
		}
		_, err = rows.ReadAll()
		return string(text), err
	})
	openapi3filter.RegisterBodyDecoder("application/jsonl", func(body io.Reader, _ http.Header, _ *openapi3.SchemaRef, _ openapi3filter.EncodingFn) (any, error) {
		rows := []any{}
		decoder := json.NewDecoder(body)
		for {
			var row any
			if err := decoder.Decode(&row); err == io.EOF {
				return rows, nil
			} else if err != nil {
				return nil, err
			}
			rows = append(rows, row)
		}
	})
}

// feed reads a feed, as the reader, that must be there.
func (o *outfit) feed(t *testing.T, address string) reply {
	t.Helper()
	r := o.send(t, http.MethodGet, "/feeds/"+address, o.reader, nil)
	if r.status != http.StatusOK {
		t.Fatalf("%s: %d %s", address, r.status, r.raw)
	}
	return r
}

// table is a feed's rows by its columns' names.
type table struct {
	columns []string
	rows    []map[string]string
}

func tableOf(t *testing.T, raw []byte) table {
	t.Helper()
	records, err := csv.NewReader(bytes.NewReader(bytes.TrimPrefix(raw, []byte("\ufeff")))).ReadAll()
	if err != nil {
		t.Fatalf("%v: %.400s", err, raw)
	}
	out := table{columns: records[0]}
	for _, record := range records[1:] {
		row := map[string]string{}
		for i, value := range record {
			row[out.columns[i]] = value
		}
		out.rows = append(out.rows, row)
	}
	return out
}

func (o *outfit) rows(t *testing.T, address string) []map[string]string {
	t.Helper()
	return tableOf(t, o.feed(t, address).raw).rows
}

// feedsOfContract are the contract's feeds by name, with the schema of a row.
func feedsOfContract(t *testing.T) map[string]*openapi3.Schema {
	t.Helper()
	doc, err := openapi.Document()
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]*openapi3.Schema{}
	for path, item := range doc.Paths.Map() {
		if name, ok := strings.CutSuffix(strings.TrimPrefix(path, "/feeds/"), ".{format}"); ok {
			out[name] = item.Get.Responses.Status(200).Value.Content["application/jsonl"].Schema.Value.Items.Value
		}
	}
	return out
}

func TestTheContractDocumentsEachColumnOfEachFeed(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	feeds := feedsOfContract(t)
	if len(feeds) != 12 {
		t.Fatalf("the contract has %d feeds", len(feeds))
	}
	for name, row := range feeds {
		documented := map[string]bool{}
		for column, schema := range row.Properties {
			if schema.Value.Description == "" {
				t.Errorf("%s: nothing is said about the column %s", name, column)
			}
			documented[column] = false
		}
		for _, units := range []string{"metric", "us"} {
			for _, column := range tableOf(t, s.feed(t, name+".csv?units="+units).raw).columns {
				if _, ok := documented[column]; !ok {
					t.Errorf("%s in %s units: the column %s is not in the contract", name, units, column)
				}
				documented[column] = true
			}
		}
		for column, seen := range documented {
			if !seen {
				t.Errorf("%s: the contract has a column %s that the feed has not", name, column)
			}
		}
	}
}

func TestEachFeedSaysTheSameInEachForm(t *testing.T) {
	t.Parallel()
	o := openHouse(t).newOutfit(t, "Fern Gully Honey")
	o.recordExamples(t)
	for _, figures := range []M{{"moisture_pct": 23.5, "instrument_id": "0198b1a0-0007-7000-8000-000000000007", "sample_temperature_c": 24.5},
		{"laboratory": "Northern Lab", "granulated": true, "measured": []M{{"quantity": "hmf_mg_per_kg", "value": 1, "less_than": true, "method": "HPLC"}, {"quantity": "proline_mg_per_kg", "value": 412.5}}}} {
		o.book(t, "readings", with(figures, "id", id(), "occurred_at", at(22, "9:00"), "on", M{"kind": "tank", "id": "0198b1a0-0006-7000-8000-000000000006"}))
	}
	for name := range feedsOfContract(t) {
		for _, units := range []string{"metric", "us"} {
			lines := o.feed(t, name+".jsonl?units="+units) // each held to the contract on its way
			asCSV := tableOf(t, o.feed(t, name+".csv?units="+units).raw)
			if len(asCSV.rows) == 0 {
				t.Errorf("the examples give the feed %s no row", name)
			}
			if n := bytes.Count(lines.raw, []byte("\n")); n != len(asCSV.rows) {
				t.Errorf("%s: %d lines and %d rows", name, n, len(asCSV.rows))
			}
			book, err := excelize.OpenReader(bytes.NewReader(o.feed(t, name+".xlsx?units="+units).raw))
			if err != nil {
				t.Fatal(err)
			}
			sheet, err := book.GetRows(name, excelize.Options{RawCellValue: true})
			if err != nil || len(sheet) != len(asCSV.rows)+1 || !slices.Equal(sheet[0], asCSV.columns) {
				t.Errorf("%s as a workbook: %d rows, %v, %v", name, len(sheet), sheet[0], err)
			}
			if len(asCSV.rows) == 0 {
				continue
			}
			readyToChoose(t, book, name, len(sheet))
			for i, line := range bytes.Split(bytes.TrimSpace(lines.raw), []byte("\n")) {
				sameRow(t, name, line, asCSV.rows[i], asCSV.columns, sheet[i+1])
			}
		}
	}
}

// readyToChoose holds a sheet to what people need who choose rows in it: the heads stay in sight and
// have filters for all rows, and columns of ids come after what people read.
func readyToChoose(t *testing.T, book *excelize.File, name string, rows int) {
	t.Helper()
	panes, err := book.GetPanes(name)
	if err != nil || !panes.Freeze || panes.YSplit != 1 {
		t.Errorf("%s: the heads do not stay: %+v, %v", name, panes, err)
	}
	heads, err := book.GetRows(name)
	if err != nil {
		t.Fatal(err)
	}
	last, err := excelize.CoordinatesToCellName(len(heads[0]), rows)
	if tables, bad := book.GetTables(name); err != nil || bad != nil || len(tables) != 1 || tables[0].Range != "A1:"+last {
		t.Errorf("%s: the table goes over %+v, not to %s: %v, %v", name, tables, last, err, bad)
	}
	ids := false
	for _, head := range heads[0] {
		is := head == "id" || strings.HasSuffix(head, "_id") || head == "replaces"
		if ids && !is {
			t.Errorf("%s: %s comes after an id", name, head)
		}
		ids = ids || is
	}
}

// sameRow holds a row's three forms against each other, figures as figures.
func sameRow(t *testing.T, name string, line []byte, row map[string]string, columns, cells []string) {
	t.Helper()
	var object map[string]any
	if err := json.Unmarshal(line, &object); err != nil {
		t.Fatal(err)
	}
	if len(object) != len(columns) {
		t.Errorf("%s: the line has %d members, the row %d", name, len(object), len(columns))
	}
	for i, column := range columns {
		cell := ""
		if i < len(cells) {
			cell = cells[i]
		}
		switch value := object[column].(type) {
		case float64:
			var inCSV, inSheet float64
			fmt.Sscan(row[column], &inCSV)
			fmt.Sscan(cell, &inSheet)
			if inCSV != value || inSheet != value {
				t.Errorf("%s, %s: %v as JSON, %q as CSV, %q in the sheet", name, column, value, row[column], cell)
			}
		case bool:
			if strings.EqualFold(row[column], "true") != value || (cell == "1" || strings.EqualFold(cell, "true")) != value {
				t.Errorf("%s, %s: %v as JSON, %q as CSV, %q in the sheet", name, column, value, row[column], cell)
			}
		case string:
			if len(value) == len("2026-08-21T14:30:00-05:00") && value[10] == 'T' {
				value = strings.Replace(value[:19], "T", " ", 1)
				cell = row[column] // a serial number, looked at elsewhere
			}
			if len(value) == 10 && row[column] == value {
				cell = value
			}
			if row[column] != value || cell != value {
				t.Errorf("%s, %s: %q as JSON, %q as CSV, %q in the sheet", name, column, value, row[column], cell)
			}
		case nil:
			if row[column] != "" || cell != "" {
				t.Errorf("%s, %s: null as JSON, %q as CSV, %q in the sheet", name, column, row[column], cell)
			}
		}
	}
}

func TestACSVFeedIsAsSpreadsheetsNeedIt(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	s.book(t, "pulls", s.aPull("gross_kg", 420.5, "note", "=1+1 said \"Tam\", twice"))
	r := s.feed(t, "pulls.csv")
	for what, want := range map[string]string{
		"type": "text/csv; charset=utf-8", "how it may be kept": "private, no-cache", "time zone": "America/Winnipeg", "last entry": fmt.Sprint(s.head(t).LastEntry),
		"referrer": "no-referrer", "file name": fmt.Sprintf(`inline; filename="pullbook-pulls-%d.csv"`, s.head(t).LastEntry),
	} {
		header := map[string]string{"type": "Content-Type", "how it may be kept": "Cache-Control", "time zone": "Pullbook-Time-Zone", "last entry": "Pullbook-Entry",
			"referrer": "Referrer-Policy", "file name": "Content-Disposition"}[what]
		if got := r.header.Get(header); got != want {
			t.Errorf("%s: %s", what, got)
		}
	}
	text := string(r.raw)
	if !strings.HasPrefix(text, "\ufeffpulled_at,yard,") || strings.Count(text, "\r\n") != strings.Count(text, "\n") || strings.Count(text, "\n") != 3 {
		t.Errorf("%q", text)
	}
	for _, want := range []string{"\n2026-08-20 10:00:00,", `,420.5000,130.0000,290.5000,270.0000,`, `"'=1+1 said ""Tam"", twice"`} {
		if !strings.Contains(text, want) {
			t.Errorf("%s is not in %s", want, text)
		}
	}
	if plain := s.feed(t, "pulls.csv?byte_order_mark=false"); string(plain.raw) != strings.TrimPrefix(text, "\ufeff") {
		t.Errorf("without the byte order mark: %.80q", plain.raw)
	}
	comma := string(s.feed(t, "pulls.csv?decimal=comma&ids=no").raw)
	if !strings.HasPrefix(comma, "\ufeffpulled_at;yard;") || !strings.Contains(comma, ";420,5000;130,0000;290,5000;270,0000;") || strings.Contains(strings.SplitN(comma, "\r\n", 2)[0], "id") {
		t.Errorf("with decimal commas, and no ids: %s", comma)
	}
	// 420.5 kg and 290.5 kg over 0.45359237 kg to the pound.
	if pounds := string(s.feed(t, "pulls.csv?units=us").raw); !strings.Contains(pounds, ",gross_lb,tare_lb,net_lb,") || !strings.Contains(pounds, ",927.0440,286.6010,640.4430,") {
		t.Errorf("in pounds: %s", pounds)
	}
}

func TestAFeedIsNarrowedDown(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	old := s.book(t, "seasons", M{"id": id(), "occurred_at": at(1, "8:00"), "name": "2025", "first": "2025-01-01", "last": "2025-12-31"}).ID
	then := s.book(t, "pulls", s.aPull("occurred_at", "2025-08-03T10:00:00-05:00", "via", "import")).ID
	birch := s.book(t, "pulls", s.aPull("yard_id", s.birch, "occurred_at", at(21, "23:30"))).ID
	onLot := s.book(t, "readings", s.aReading("on", M{"kind": "lot", "id": s.lot})).ID
	onDrum := s.book(t, "readings", s.aReading("on", M{"kind": "container", "id": s.drum1})).ID
	onPull := s.book(t, "readings", s.aReading("on", M{"kind": "pull", "id": birch}, "occurred_at", at(22, "8:00"))).ID
	for address, want := range map[string][]string{
		"pulls.csv?season=2025":                     {then},
		"pulls.csv?season=" + old:                   {then},
		"pulls.csv?season=latest":                   {s.pull, birch},
		"pulls.csv?yard=birch%20hollow":             {birch},
		"pulls.csv?from=2026-08-21":                 {birch}, // 23:30 is on the 21st where the bees are
		"pulls.csv?from=2026-08-22":                 nil,
		"pulls.csv?to=2026-08-20&season=2026":       {s.pull},
		"readings.csv?lot=L26-001":                  {onLot, onDrum},
		"readings.csv?yard=" + s.birch:              {onPull},
		"readings.csv?from=2026-08-22&units=us":     {onPull},
		"containers.csv?lot=" + s.lot:               {s.drum1},
		"containers.csv?season=2025":                nil,
		"lots.csv?lot=l26-001":                      {s.lot},
		"runs.csv?season=2026":                      {s.run},
		"runs.csv?yard=Alder%20Bend":                {s.run},
		"runs.csv?yard=Birch%20Hollow":              nil,
		"lots.csv?yard=Alder%20Bend":                {s.lot},
		"lots.csv?yard=Birch%20Hollow":              nil,
		"movements.csv?lot=L26-001&from=2026-08-21": {s.drum1},
	} {
		var got []string
		for _, row := range s.rows(t, address) {
			got = append(got, row["id"])
		}
		if !slices.Equal(got, want) {
			t.Errorf("%s: %v, not %v", address, got, want)
		}
	}
	for address, says := range map[string]string{
		"pulls.csv?season=2024":                   `It has 2026, 2025`,
		"pulls.csv?yard=Cedar":                    `It has Alder Bend, Birch Hollow`,
		"pulls.csv?units=stone":                   `metric`,
		"pulls.csv?from=6/7/26":                   `from`,
		"pulls.csv?since=100000":                  `The book ends with entry`,
		"pulls.csv?since=-1":                      `since`,
		"pulls.csv?sesaon=2026":                   `There is no such parameter here`,
		"tanks.csv?lot=L26-001":                   `cannot be narrowed by lot`,
		"pulls.csv?byte_order_mark=yes":           `byte_order_mark`,
		"pulls.csv?from=2026-08-22&to=2026-08-21": `the other way round`,
	} {
		r := s.send(t, http.MethodGet, "/feeds/"+address, s.reader, nil)
		if p := as[problem](t, r); r.status != http.StatusUnprocessableEntity || !strings.Contains(string(r.raw), says) || len(p.Errors) != 1 {
			t.Errorf("%s: %d %s", address, r.status, r.raw)
		}
	}
	for _, address := range []string{"drums.csv", "pulls.pdf", "pulls", "season.csv"} {
		if r := s.send(t, http.MethodGet, "/feeds/"+address, s.reader, nil); r.status != http.StatusNotFound {
			t.Errorf("%s: %d %s", address, r.status, r.raw)
		}
	}
}

// A log may go over weeks: each of its points is of its own day.
func TestTemperaturesAreNarrowedDownByTheirOwnTimes(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	s.book(t, "temperature-logs", s.aLog(10, 16))
	for address, want := range map[string]int{
		"": 7, "from=2026-08-12": 5, "from=2026-08-12&to=2026-08-13": 2, "from=2026-08-17": 0, "season=2026": 7,
	} {
		if rows := s.rows(t, "temperatures.csv?"+address); len(rows) != want {
			t.Errorf("%s: %d rows, not %d", address, len(rows), want)
		}
	}
}

// aLog is a log of the large tank with a point at noon of each of some days of August.
func (s *shed) aLog(from, to int, more ...any) M {
	var points []M
	for day := from; day <= to; day++ {
		points = append(points, M{"at": at(day, "12:00"), "temperature_c": 20 + day})
	}
	log := M{"id": id(), "occurred_at": at(to, "12:00"), "on": M{"kind": "tank", "id": s.large}, "points": points}
	for i := 0; i < len(more); i += 2 {
		log[more[i].(string)] = more[i+1]
	}
	return log
}

// What a program might run is given as text, however it is disguised; and a text
// longer than a cell is cut in a workbook, which says so.
func TestNoTextOfAFeedIsRunOrLost(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	for _, note := range []string{"=1+1", "+1", "-1+2", "@SUM(A1)", "\t=1+1", "\n=1+1", "＝1+1", "＠SUM(A1)"} {
		s.book(t, "pulls", s.aPull("note", note))
		if text := string(s.feed(t, "pulls.csv").raw); !strings.Contains(text, `"'`+note) {
			t.Errorf("%q is not as text in %s", note, text)
		}
	}
	s.book(t, "pulls", s.aPull("note", "ångström 🐝 = sweet"))
	if text := string(s.feed(t, "pulls.csv").raw); !strings.Contains(text, `"ångström 🐝 = sweet"`) {
		t.Errorf("%s", text)
	}
	log := s.aLog(1, 1)
	var points []M
	for i := range 1000 {
		points = append(points, M{"at": time.Date(2026, 8, 1, 6, i, 0, 0, time.UTC).Format(time.RFC3339), "temperature_c": 30})
	}
	log["points"], log["occurred_at"] = points, at(2, "12:00")
	s.book(t, "temperature-logs", log)
	book, err := excelize.OpenReader(bytes.NewReader(s.feed(t, "journal.xlsx").raw))
	if err != nil {
		t.Fatal(err)
	}
	rows, err := book.GetRows("journal")
	if err != nil {
		t.Fatal(err)
	}
	if content := rows[len(rows)-1][slices.Index(rows[0], "content")]; len(content) != excelize.TotalCellChars || !strings.HasSuffix(content, "the whole is in the CSV)") {
		t.Errorf("%d letters, which end with %q", len(content), content[len(content)-60:])
	}
}

func TestAPollThatFindsNothingNewIsToldSo(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	ask := func(address, tag string) reply {
		return s.sendWith(t, http.MethodGet, "/feeds/"+address, http.Header{"Authorization": {"Bearer " + s.reader}, "If-None-Match": {tag}}, nil)
	}
	tag := s.feed(t, "readings.csv").header.Get("ETag")
	if r := ask("readings.csv", tag); r.status != http.StatusNotModified || len(r.raw) != 0 || r.header.Get("ETag") != tag {
		t.Errorf("%d %q", r.status, r.raw)
	}
	if r := ask("readings.csv", "*"); r.status != http.StatusNotModified {
		t.Errorf("asked whether there is anything at all: %d", r.status)
	}
	for _, address := range []string{"readings.csv?units=us", "readings.csv?from=2026-01-01", "readings.jsonl", "pulls.csv"} {
		if r := ask(address, tag); r.status != http.StatusOK || r.header.Get("ETag") == tag {
			t.Errorf("%s has the tag of another answer", address)
		}
	}
	s.book(t, "readings", s.aReading())
	if r := ask("readings.csv", tag); r.status != http.StatusOK || r.header.Get("ETag") == tag {
		t.Errorf("after another entry: %d", r.status)
	}
}

func TestSpreadsheetProgramsAskInTheirOwnWays(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	for _, address := range []string{"/feeds/pulls.csv", "/feeds/season.xlsx", "/feeds/nothing.csv"} {
		if r := s.sendWith(t, http.MethodOptions, address, http.Header{}, nil); r.status != http.StatusNoContent || !strings.Contains(r.header.Get("Allow"), "HEAD") {
			t.Errorf("OPTIONS %s: %d %s", address, r.status, r.raw)
		}
	}
	get := s.feed(t, "pulls.csv")
	head := s.send(t, http.MethodHead, "/feeds/pulls.csv", s.reader, nil)
	if head.status != http.StatusOK || len(head.raw) != 0 || head.header.Get("ETag") != get.header.Get("ETag") || head.header.Get("Content-Type") != get.header.Get("Content-Type") {
		t.Errorf("HEAD: %d %v", head.status, head.header)
	}
	basic := "Basic " + base64.StdEncoding.EncodeToString([]byte("anybody:"+s.reader))
	if r := s.sendWith(t, http.MethodGet, "/feeds/pulls.csv", http.Header{"Authorization": {basic}}, nil); r.status != http.StatusOK {
		t.Errorf("Basic: %d %s", r.status, r.raw)
	}
	r := s.sendWith(t, http.MethodGet, "/feeds/pulls.csv", http.Header{}, nil)
	if got := r.header.Values("WWW-Authenticate"); r.status != http.StatusUnauthorized || len(got) != 1 || !strings.HasPrefix(got[0], "Basic realm=") {
		t.Errorf("without a sign-in: %d %v", r.status, got)
	}
	packed := s.sendWith(t, http.MethodGet, "/feeds/pulls.csv", http.Header{"Authorization": {basic}, "Accept-Encoding": {"gzip"}}, nil)
	unzip, err := gzip.NewReader(bytes.NewReader(packed.raw))
	if err != nil {
		t.Fatalf("%v: %v", err, packed.header)
	}
	if text, err := io.ReadAll(unzip); err != nil || !bytes.Equal(text, get.raw) {
		t.Errorf("compressed: %v, %.80q", err, text)
	}
}

// The yards of a season and what is from no known pull sum to the season's honey, as on the page.
func TestTheYardsFeedSumsToTheSeasonsHoney(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	const may = "2026-05-01T10:00:00-05:00"
	run := s.book(t, "runs", s.aRun("name", "of no known pull", "occurred_at", may, "via", "import")).ID
	s.book(t, "movements", s.aMovement("from", M{"kind": "run", "id": run}, "mass_kg", 51.234, "occurred_at", may, "via", "import"))
	says := read[seasonSays](t, s.outfit, "reports/season?season=2026")
	if says.NoPullKg != 51.234 {
		t.Fatalf("no pull is known of %v kg", says.NoPullKg)
	}
	sum, shares := 0.0, 0.0
	for _, row := range s.rows(t, "yards.csv?season=2026") {
		honey, _ := strconv.ParseFloat(row["honey_kg"], 64)
		share, _ := strconv.ParseFloat(row["share_pct"], 64)
		sum, shares = sum+honey, shares+share
		if (row["yard"] == "") != (row["shared_by"] == "no supers booked") {
			t.Errorf("a row of no yard, or none: %v", row)
		}
	}
	if math.Abs(sum-says.HoneyKg) > 1e-6 || math.Abs(shares-100) > 0.01 {
		t.Errorf("the yards sum to %v kg and %v %%, the season to %v", sum, shares, says.HoneyKg)
	}
	for _, row := range s.rows(t, "yards.csv?season=2026&yard=Alder%20Bend") {
		if row["yard"] != "Alder Bend" {
			t.Errorf("of one yard: %v", row)
		}
	}
}
