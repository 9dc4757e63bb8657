package importing_test

import (
	"fmt"
	"math"
	"reflect"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"pullbook/domain/importing"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
	"pullbook/domain/tables"
)

var now = time.Date(2026, time.November, 20, 12, 0, 0, 0, time.UTC)

// house is an outfit whose book sheets are brought into, one after the other.
type house struct {
	*ledgertest.Outfit
	id uuid.UUID
}

func newHouse() *house { return &house{ledgertest.NewOutfit(), ledgertest.ID(77)} }

func (h *house) book(t testing.TB) *ledger.Book {
	t.Helper()
	b, err := ledger.Open(time.UTC, h.Entries)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// guess is the mapping that a text is taken to have.
func (h *house) guess(t testing.TB, kind importing.Kind, text string) importing.Mapping {
	t.Helper()
	m, err := importing.Guess(h.book(t), table(t, text), kind)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func table(t testing.TB, text string) *tables.Table {
	t.Helper()
	out, _, err := tables.CSV([]byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// check takes a text by a mapping, without storing anything.
func (h *house) check(t testing.TB, text string, m importing.Mapping) *importing.Result {
	t.Helper()
	r, err := importing.Take(h.book(t), table(t, text), m, importing.Options{Outfit: h.id, By: "Ada", Now: now}, nil)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// bring brings a text in as it is guessed, which must go without a problem.
func (h *house) bring(t testing.TB, kind importing.Kind, text string, put ...func(*importing.Mapping)) *importing.Result {
	t.Helper()
	m := h.guess(t, kind, text)
	for _, f := range put {
		f(&m)
	}
	var came []*ledger.Entry
	r, err := importing.Take(h.book(t).Ahead(), table(t, text), m, importing.Options{Outfit: h.id, By: "Ada", Now: now},
		func(e *ledger.Entry) error { came = append(came, e); return nil })
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range r.Problems {
		t.Errorf("row %d, column %s: %s", p.Row, p.Column, p.Message)
	}
	for _, e := range came {
		h.Put(*e)
	}
	if r.New() > 0 {
		h.SetUp(&ledger.Import{Of: string(kind), SHA256: "00", Entries: r.New(), Rows: r.Rows, Headings: importing.Headings(m.Columns), Mapping: marshal(t, m)})
	}
	if int64(len(came)) != r.New() {
		t.Errorf("%d entries came, and %d are counted", len(came), r.New())
	}
	return r
}

// bodies lists what the book has of a kind from imports, as text.
func bodies[T any](h *house) (out []*T) {
	for _, e := range h.Entries {
		if x, ok := any(e.Body).(*T); ok && e.Via == ledger.ViaImport {
			out = append(out, x)
		}
	}
	return out
}

// problems lists the problems as row, column and sort.
func problems(r *importing.Result) (out []string) {
	for _, p := range r.Problems {
		out = append(out, fmt.Sprintf("%d%s %s", p.Row, p.Column, p.Code))
	}
	return out
}

func TestYardsComeInWithWhatIsKnownOfThem(t *testing.T) {
	t.Parallel()
	h := newHouse()
	r := h.bring(t, importing.Yards, "Yard,Reg no,Lat,Long,Notes\nAlder Bend,MB-12,49.5,-97.25,by the road\nMill,,,,\n")
	if r.HadRows != 1 { // the outfit has a yard Mill
		t.Errorf("%d rows were there", r.HadRows)
	}
	got := bodies[ledger.Yard](h)
	if len(got) != 1 || got[0].Name != "Alder Bend" || got[0].Registration != "MB-12" || *got[0].Latitude != 49.5 || *got[0].Longitude != -97.25 || got[0].Note != "by the road" {
		t.Errorf("%+v", got)
	}
}

func TestPullsComeInInPoundsFromEitherKindOfTable(t *testing.T) {
	t.Parallel()
	h := newHouse()
	h.bring(t, importing.Pulls, "Date,Yard,Supers,Kind,Gross lb,Hives\n2026-07-06,mill,12,deep,\"1,000.0 lb\",6\n2026-07-07,Ridge,3,Shallow,,\n")
	h.bring(t, importing.Pulls, "Fecha;Colmenar;Deep;Shallows;Peso bruto (kg)\n13/7/2026;Ridge;4;2;251,5\n14/7/2026;Mill;;6;\n")
	got := bodies[ledger.Pull](h)
	want := []ledger.Pull{
		{YardID: h.Mill, Supers: []ledger.SuperCount{{SuperKindID: h.Deep, Supers: 12}}, HivesWorked: 6, GrossG: 453_592},
		{YardID: h.Ridge, Supers: []ledger.SuperCount{{SuperKindID: h.Shallow, Supers: 3}}},
		{YardID: h.Ridge, Supers: []ledger.SuperCount{{SuperKindID: h.Deep, Supers: 4}, {SuperKindID: h.Shallow, Supers: 2}}, GrossG: 251_500},
		{YardID: h.Mill, Supers: []ledger.SuperCount{{SuperKindID: h.Shallow, Supers: 6}}},
	}
	if len(got) != len(want) {
		t.Fatalf("%d pulls", len(got))
	}
	for i := range want {
		if !reflect.DeepEqual(*got[i], want[i]) {
			t.Errorf("pull %d is %+v, and should be %+v", i, *got[i], want[i])
		}
	}
}

func TestRunsComeInWithTheHoneyThatCameOutOfThem(t *testing.T) {
	t.Parallel()
	h := newHouse()
	r := h.bring(t, importing.Runs, "Date,Run,Tank,Honey (lb),Wax (lb)\n2026-07-10,first,large tank,1000,10\n2026-07-10,first,sump,200,\n2026-07-11,second,large tank,500,\n")
	if r.Entries[ledger.KindRun] != 2 || r.Entries[ledger.KindMovement] != 3 || r.Entries[ledger.KindRunEnd] != 1 || r.Sums["honey_g"] != 453_592+90_718+226_796 {
		t.Errorf("%v, %v", r.Entries, r.Sums)
	}
	book := h.book(t)
	if held, _ := book.State().Holder(h.Settling); held.Grams != 453_592+226_796 {
		t.Errorf("the large tank holds %d g", held.Grams)
	}
}

// Honey that was only measured by its volume is taken at 17.5 % moisture and 20 C:
// by the published specific gravity table that honey weighs 1.4157 kg a litre, so
// that 100 US gallons (378.5411784 L) are 535.9 kg, and imperial ones 643.6 kg.
func TestGallonsOfHoneyAreAskedWhichTheyAre(t *testing.T) {
	t.Parallel()
	h := newHouse()
	const text = "Date,Run,Tank,Honey gal\n2026-07-10,first,large tank,100\n"
	m := h.guess(t, importing.Runs, text)
	if got := problems(h.check(t, text, m)); !reflect.DeepEqual(got, []string{"2D no_unit"}) {
		t.Errorf("%v", got)
	}
	for unit, want := range map[importing.Unit]float64{importing.USGallons: 535.9, importing.ImperialGallons: 643.6} {
		m.Columns[3].Unit = unit
		if r := h.check(t, text, m); r.AllProblems > 0 || math.Abs(float64(r.Sums["honey_g"])/1000-want) > 1 {
			t.Errorf("100 %s are %d g, %v", unit, r.Sums["honey_g"], problems(r))
		}
	}
}

func TestReadingsComeInWithTheirScaleAndTemperature(t *testing.T) {
	t.Parallel()
	h := newHouse()
	h.bring(t, importing.Readings, "Fecha;Tanque;Punto;Humedad %;Temp °F;HMF;Método HMF;Refractómetro\n"+
		"2026-07-12 14:30;large tank;llave;17,4;68;<3;HPLC;refractometer\n2026-07-13;sump;;18,1;;;;\n")
	got := bodies[ledger.Reading](h)
	if len(got) != 2 {
		t.Fatalf("%d readings", len(got))
	}
	m := got[0].Moisture
	if got[0].On != (ledger.Place{Kind: ledger.PlaceTank, ID: h.Settling}) || got[0].Point != ledger.PointGate || m == nil || m.AsRead != 17.4 || m.Pct != 17.4 || *m.SampleC != 20 || got[0].InstrumentID != h.Refractometer {
		t.Errorf("%+v, %+v", got[0], m)
	}
	if x := got[0].Measured; len(x) != 1 || x[0] != (ledger.Measured{Quantity: "hmf_mg_per_kg", Value: 3, LessThan: true, Method: "HPLC"}) {
		t.Errorf("%+v", x)
	}
	var first *ledger.Entry
	for _, e := range h.Entries {
		if e.Body == ledger.Body(got[0]) {
			first = e
		}
	}
	if first.AsEntered["sample_temperature_c"] != "68 F" || !first.OccurredAt.Equal(time.Date(2026, 7, 12, 14, 30, 0, 0, time.UTC)) || first.Via != ledger.ViaImport {
		t.Errorf("%+v", first)
	}
}

func TestContainersComeInWithTwoOfTheirThreeWeights(t *testing.T) {
	t.Parallel()
	h := newHouse()
	h.bring(t, importing.Lots, "Lot,Date,Product\nOLD-1,2026-07-14,clover\n")
	r := h.bring(t, importing.Containers, "Drum no,Lot,Date,Gross lb,Tare lb,Net lb,Seal\n"+
		"D-1,OLD-1,2026-07-14,680,40,,S1\nD-2,OLD-1,2026-07-14,680,,640,\nD-3,OLD-1,2026-07-14,,40,640,\nD-4,OLD-1,2026-07-14,680,,,\nD-5,OLD-1,2026-07-14,680,40,640,\n",
		func(m *importing.Mapping) {
			m.Fixed = map[importing.Field]string{"tank": "large tank", "container_kind": "drum"}
		})
	got := bodies[ledger.Fill](h)
	if len(got) != 5 {
		t.Fatalf("%d drums", len(got))
	}
	const pound = 453.59237
	for i, f := range got {
		tare := int64(math.Round(40 * pound))
		if i == 3 {
			tare = h.DrumKind.TareG
		}
		if math.Abs(float64(f.TareG-tare)) > 1 || math.Abs(float64(f.GrossG)-680*pound) > 1 {
			t.Errorf("drum %d: gross %d, tare %d", i+1, f.GrossG, f.TareG)
		}
	}
	if r.Sums["net_g"] == 0 {
		t.Error("the sum of the nets is left out")
	}
}

// A logger's rows become one entry a day; rows that are there already are not
// stored again when the logger is read out once more.
func TestALoggersRowsAreTakenOverOnceHoweverOftenItIsReadOut(t *testing.T) {
	t.Parallel()
	h := newHouse()
	var text strings.Builder
	text.WriteString("Serial: 1234\nDate Time,Temp (°F),RH %\n")
	at := time.Date(2026, 7, 10, 0, 0, 0, 0, time.UTC)
	for i := range 36 {
		fmt.Fprintf(&text, "%s,%v,55\n", at.Add(time.Duration(i)*time.Hour).Format("01/02/2006 15:04"), 86+i%3)
	}
	tank := func(m *importing.Mapping) {
		m.Fixed, m.Dates = map[importing.Field]string{"tank": "large tank"}, tables.MonthFirst
	}
	r := h.bring(t, importing.TemperatureLogs, text.String(), tank)
	got := bodies[ledger.TemperatureLog](h)
	if r.Rows != 36 || len(got) != 2 || len(got[0].Points) != 24 || len(got[1].Points) != 12 || got[0].Points[0].TemperatureC != 30 || *got[0].Points[0].HumidityPct != 55 {
		t.Fatalf("%d rows, %d entries", r.Rows, len(got))
	}
	more := text.String()
	for i := 36; i < 40; i++ {
		more += fmt.Sprintf("%s,%v,55\n", at.Add(time.Duration(i)*time.Hour).Format("01/02/2006 15:04"), 90)
	}
	r = h.bring(t, importing.TemperatureLogs, more, tank)
	if r.HadRows != 36 || r.New() != 1 {
		t.Errorf("%d rows were there, and %d entries are new", r.HadRows, r.New())
	}
}

// twice says that rows which say the same are of things that happened twice.
func twice(m *importing.Mapping) { m.Twice = importing.Another }

const season = "Date,Yard,Supers,Kind\n2026-07-06,Mill,12,deep\n2026-07-07,Ridge,3,deep\n2026-07-07,Ridge,3,deep\n"

// A yard is known by its name after it was corrected, also where it went by another
// for a while.
func TestWhatWasCorrectedIsKnownByItsName(t *testing.T) {
	t.Parallel()
	h := newHouse()
	for _, name := range []string{"Mill", "Mill Race", "Mill"} {
		h.Correct(h.Latest(h.Mill), 0, &ledger.Yard{Name: name, Registration: "MB-12"})
	}
	h.bring(t, importing.Pulls, season, twice)
	if got := bodies[ledger.Pull](h); len(got) != 3 {
		t.Errorf("%d pulls", len(got))
	}
	r := h.bring(t, importing.Yards, "Yard,Reg no\nMill,MB-12\n")
	if r.HadRows != 1 {
		t.Errorf("%d rows were there", r.HadRows)
	}
}

// Two rows that say the same are two pulls; the same sheet again is none, and
// neither is it from another program, with a row more.
func TestASheetBroughtInTwiceAddsNothing(t *testing.T) {
	t.Parallel()
	h := newHouse()
	if r := h.bring(t, importing.Pulls, season, twice); r.New() != 3 {
		t.Fatalf("%d new", r.New())
	}
	if r := h.bring(t, importing.Pulls, season, twice); r.New() != 0 || r.HadRows != 3 {
		t.Errorf("%d new, %d were there", r.New(), r.HadRows)
	}
	other := "Fecha;Colmenar;Alzas;Tipo\n6.7.2026;Mill;12;deep\n7.7.2026;Ridge;3;deep\n7.7.2026;Ridge;3;deep\n8.7.2026;Ridge;9;deep\n"
	dayFirst := func(m *importing.Mapping) { m.Dates = tables.DayFirst }
	if r := h.bring(t, importing.Pulls, other, dayFirst); r.New() != 1 || r.HadRows != 3 {
		t.Errorf("another program's file: %d new, %d were there", r.New(), r.HadRows)
	}
}

// After its import was withdrawn, the sheet can be brought in again.
func TestASheetCanBeBroughtInAgainOnceItsImportWasWithdrawn(t *testing.T) {
	t.Parallel()
	h := newHouse()
	h.bring(t, importing.Pulls, season, twice)
	for range 2 {
		h.Withdraw(h.Entries[len(h.Entries)-1].ID)
		if r := h.bring(t, importing.Pulls, season, twice); r.New() != 3 {
			t.Fatalf("%d new", r.New())
		}
	}
	standing := 0
	for _, e := range h.book(t).Happened {
		if e.Kind == ledger.KindPull {
			standing++
		}
	}
	if standing != 3 {
		t.Errorf("%d pulls stand", standing)
	}
}

func TestTheSameFileWithOtherSettingsIsNotBookedTwice(t *testing.T) {
	t.Parallel()
	h := newHouse()
	m := h.guess(t, importing.Pulls, season)
	h.bring(t, importing.Pulls, season, twice)
	m.Columns[2].Field = "hives_worked"
	r, err := importing.Take(h.book(t), table(t, season), m, importing.Options{Outfit: h.id, Now: now, SHA256: "00"}, nil)
	if err != nil || !reflect.DeepEqual(problems(r), []string{"0 imported_otherwise", "0 missing"}) {
		t.Errorf("%v, %v", err, problems(r))
	}
}

// What columns are is guessed from their headings, in English and Spanish, under
// merged headings too, and from their values where there are none.
func TestColumnsAreKnownByTheirHeadingsAndValues(t *testing.T) {
	t.Parallel()
	h := newHouse()
	for _, row := range []struct {
		kind importing.Kind
		text string
		want string
	}{
		{importing.Containers, "Drum,Lot no,Filled on,Tank,Type,Gross wt (lbs),Tare (kg),Net weight lb\n", "container lot date tank container_kind gross:lb tare:kg net:lb"},
		{importing.Containers, "Tambor;Lote;Fecha;Tanque;Tipo;Peso bruto kg;Tara kg;Peso neto kg\n", "container lot date tank container_kind gross:kg tare:kg net:kg"},
		{importing.Containers, ",,,Weights lb,,\nDrum,Lot,Date,gross,tare,net\n", "container lot date gross:lb tare:lb net:lb"},
		{importing.Containers, "Summer 2026,,,,,\nDrum,Lot,Date,gross,tare,net\n", "container lot date gross tare net"},
		{importing.Readings, "date,tank,moisture %,temp F,note\n", "date tank moisture_pct sample_temperature:F note"},
		{importing.Readings, "2026-07-06,large tank,17.4\n2026-07-07,sump,18.1\n", "date tank moisture_pct"},
		{importing.Pulls, "Date,Yard,Supers,Kind,Gross\n(yyyy-mm-dd),,no.,,lb\n2026-07-06,Mill,12,deep,600\n", "date yard supers super_kind gross:lb"},
		{importing.Pulls, "Date,Yard,Deep,Shallow,Total supers\n2026-07-06,Mill,12,3,15\n", "date yard supers(deep) supers(shallow) -"},
		{importing.Pulls, "Date,Yard,Supers,Kind,Gross kg,Gross kg\n2026-07-06,Mill,12,deep,600,600\n", "date yard supers super_kind gross:kg -"},
		{importing.Pulls, "Date,Apiary,Hives,DEEP,shallow,Gross (lb)\n", "date yard hives_worked supers(deep) supers(shallow) gross:lb"},
		{importing.TemperatureLogs, "No.,Date/Time,Temperature °C,RH %\n", "- date temperature:C humidity_pct"},
	} {
		var got []string
		for _, c := range h.guess(t, row.kind, row.text).Columns {
			text := string(c.Field)
			if text == "" {
				text = "-"
			}
			if c.Of != "" {
				text += "(" + c.Of + ")"
			}
			if c.Unit != "" {
				text += ":" + string(c.Unit)
			}
			got = append(got, text)
		}
		if s := strings.Join(got, " "); s != row.want {
			t.Errorf("%q is taken for\n%s, and is\n%s", row.text, s, row.want)
		}
	}
}
