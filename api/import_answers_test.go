package api_test

import (
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"github.com/google/uuid"
	"golang.org/x/net/html"

	"pullbook/api/apitest"
	"pullbook/domain/ledger"
)

// sheetForm is the page of imports as a browser without scripts has it: what its questions hold
// is what is sent next.
type sheetForm struct {
	h             *apitest.House
	name, content string
	values        url.Values
	// body is the page, and says what a person reads there.
	body, says string
}

func openSheetForm(t *testing.T, h *apitest.House, kind, name, content string) *sheetForm {
	t.Helper()
	f := &sheetForm{h: h, name: name, content: content, values: url.Values{"id": {uuid.NewString()}, "kind": {kind}}}
	f.press(t, "look")
	return f
}

// press sends the form by one of its buttons, with what was changed before.
func (f *sheetForm) press(t *testing.T, button string, change ...string) {
	t.Helper()
	for i := 0; i < len(change); i += 2 {
		if change[i+1] == "" {
			f.values.Del(change[i])
		} else {
			f.values.Set(change[i], change[i+1])
		}
	}
	f.values.Set("do", button)
	response, body := sendSheet(t, f.h, f.values, f.name, f.content)
	if response.StatusCode != http.StatusOK {
		t.Fatalf("%s: %s", response.Status, body)
	}
	page, err := html.Parse(strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	f.body, f.values, f.says = body, url.Values{}, ""
	f.read(page)
	f.says = strings.Join(strings.Fields(f.says), " ")
}

func attribute(n *html.Node, name string) (value string, has bool) {
	i := slices.IndexFunc(n.Attr, func(a html.Attribute) bool { return a.Key == name })
	if i < 0 {
		return "", false
	}
	return n.Attr[i].Val, true
}

// read takes up what a node of the page holds and says.
func (f *sheetForm) read(n *html.Node) {
	name, _ := attribute(n, "name")
	value, _ := attribute(n, "value")
	sort, _ := attribute(n, "type")
	_, checked := attribute(n, "checked")
	switch {
	case n.Type == html.TextNode:
		f.says += n.Data + " "
	case n.Data == "input" && name != "" && sort != "file" && (sort != "checkbox" || checked):
		f.values.Set(name, value)
	case n.Data == "select" && name != "":
		f.values.Set(name, chosenOf(n))
		return
	case n.Data == "script", n.Data == "nav":
		return
	}
	for c := n.FirstChild; c != nil; c = c.NextSibling {
		f.read(c)
	}
}

// chosenOf is the value of the option of a list that is chosen: else that of the first.
func chosenOf(list *html.Node) (value string) {
	first := true
	for c := list.FirstChild; c != nil; c = c.NextSibling {
		if c.Data != "option" {
			continue
		}
		v, _ := attribute(c, "value")
		if _, selected := attribute(c, "selected"); selected || first {
			value, first = v, false
		}
	}
	return value
}

// asks reports whether the page has a question of a name.
func (f *sheetForm) asks(name string) bool { return strings.Contains(f.body, ` name="`+name+`"`) }

func (f *sheetForm) wants(t *testing.T, when string, sentences ...string) {
	t.Helper()
	for _, want := range sentences {
		if !strings.Contains(f.says, want) {
			t.Errorf("%s the page does not say %q:\n%s", when, want, f.says)
		}
	}
}

const messyPulls = "Date,Yard,Boxes,Kind,Gross lb,Weather\n" +
	"2026-07-03,Alder Bend,40,deep,3100,dry\n" +
	"2026-07-05,Alder Bend,20,jumbo,1500,\n" +
	"2026-07-06,Alder Bend,ten,deep,600,\n"

// A person says on the page what the command says by a mapping: what a new kind of box weighs,
// and which row is left out. What cannot be taken is said at its place, and nothing is stored.
func TestANewKindOfBoxIsSetUpOnThePage(t *testing.T) {
	t.Parallel()
	h := apitest.OpenForSheets(t)
	h.SignIn(t)
	f := openSheetForm(t, h, "pulls", "old.csv", messyPulls)
	f.wants(t, "at first", "Column F Weather is not read. Its row 2 says: dry", "What is jumbo?", "row 2", "from Alder Bend", "40 supers of the kind deep", "gross 3,100 lb",
		"tare, lb", "C Boxes: ten")
	if !f.asks("thing/0/tare_kg") || !f.asks("leave-out 4") || f.asks("leave-out 2") {
		t.Fatalf("the page does not ask: %s", f.body)
	}
	entries := h.Entries(t)

	f.press(t, "store", "name super_kind jumbo", "new", "thing/0/tare_kg", "28,5,1", "thing/0/usual_net_kg", "0", "leave-out 4", "yes")
	f.wants(t, "with wrong figures", "Some of what was typed could not be taken", `"28,5,1" is not a number`, "This is missing: type a figure.", "Leave row 4 out")
	if f.values.Get("thing/0/tare_kg") != "28,5,1" || f.values.Get("name super_kind jumbo") != "new" || f.values.Get("leave-out 4") != "yes" {
		t.Errorf("what was typed is gone: %v", f.values)
	}
	f.press(t, "store", "thing/0/tare_kg", "28.5", "thing/0/usual_net_kg", "2300000", "thing/0/fullest_net_kg", "79")
	f.wants(t, "with a figure beyond the bounds", "The book takes weights from", "Some of what was typed could not be taken")
	if n := h.Entries(t); n != entries {
		t.Fatalf("%d entries were stored", n-entries)
	}

	f.press(t, "look", "thing/0/usual_net_kg", "60")
	f.wants(t, "once all is said", "Bring it in", "Rows left out: 1.", "super kind · jumbo", "20 supers of the kind jumbo")
	f.press(t, "look", "leave-out 4", "")
	f.wants(t, "once the row is taken back", "Nothing is stored yet.")
	f.press(t, "look", "leave-out 4", "yes")
	f.press(t, "store")
	f.wants(t, "at last", "It is in the book")
	kinds := h.Ask(t, "super-kinds")
	jumbo := kinds[len(kinds)-1]
	if len(kinds) != 2 || jumbo["name"] != "jumbo" || jumbo["tare_kg"] != 12.927 {
		t.Errorf("%v", kinds)
	}
	if pulls := h.Ask(t, "pulls"); len(pulls) != 2 {
		t.Errorf("%d pulls", len(pulls))
	}
}

// What no column says is said beside the problem, for all rows; a tank that the book has not got
// is named there, and set up with the sheet.
func TestOneValueForAllRowsIsSaidOnThePage(t *testing.T) {
	t.Parallel()
	h := apitest.OpenForSheets(t)
	h.SignIn(t)
	h.RecordMore(t, apitest.EntryAt(0, &ledger.Tank{Name: "Large tank", Use: ledger.Settling, CapacityG: 2_000_000}))
	const runs = "Date,Run,Honey lb\n2026-07-07,first,900\n2026-07-08,second,800\n"
	f := openSheetForm(t, h, "runs", "runs.csv", runs)
	f.wants(t, "at first", "Into which tank did this honey go?", "tank, for all rows", "or the name of another", "wax, for all rows, lb")
	if !strings.Contains(f.body, `<option value="Large tank">Large tank</option>`) {
		t.Error("the outfit's tank is not offered")
	}

	f.press(t, "store", "fixed tank", "Large tank", "fixed-new tank", "Nova")
	f.wants(t, "with two names", "Here stand two names, Large tank and Nova. Leave one.")
	f.press(t, "look", "fixed tank", "", "fixed-new tank", "Nova")
	f.wants(t, "with a tank that the book has not got", `The outfit has no tank "Nova"`, "What is Nova?", "capacity, lb")
	f.press(t, "look", "thing/0/use", "settling", "thing/0/capacity_kg", "4000", "fixed wax", "1,5 kg", "fixed time", "10:30")
	f.wants(t, "once all is said", "Bring it in", "into Nova", "900 lb", "wax 3.31 lb")
	if f.values.Get("fixed wax") != "1.5 kg" || f.values.Get("fixed-new tank") != "Nova" || f.values.Get("thing/0/capacity_kg") != "4000" {
		t.Errorf("%v", f.values)
	}
	if n := len(h.Ask(t, "tanks")); n != 1 {
		t.Fatalf("looking set a tank up: %d", n)
	}
	f.press(t, "look", "fixed honey", "5")
	f.wants(t, "with a value for empty cells", "A column says it too. This holds where its cell is empty.", "900 lb", "800 lb")
	f.values.Set("fixed honey", "")
	f.press(t, "store")
	f.wants(t, "at last", "It is in the book")
	tanks := h.Ask(t, "tanks")
	if len(tanks) != 2 || tanks[1]["name"] != "Nova" || tanks[1]["use"] != "settling" {
		t.Errorf("%v", tanks)
	}
	if moved := h.Ask(t, "movements"); len(moved) != 2 || !strings.HasSuffix(moved[0]["occurred_at"].(string), ":30:00Z") {
		t.Errorf("%v", moved)
	}
}

// Answers can be changed, and taken back, as long as nothing is stored.
func TestWhatANameMeansCanBeSaidAnew(t *testing.T) {
	t.Parallel()
	h := apitest.OpenForSheets(t)
	h.SignIn(t)
	f := openSheetForm(t, h, "pulls", "old.csv", "Date,Yard,Boxes,Kind\n2026-07-03,Alder Bnd,40,deep\n")
	f.press(t, "look", "name yard Alder Bnd", "new")
	f.wants(t, "set up as new", "Bring it in", "yard · Alder Bnd")
	f.press(t, "look", "name yard Alder Bnd", "is Alder Bend")
	f.wants(t, "said to be another", "Bring it in", "from Alder Bend")
	f.press(t, "look", "name yard Alder Bnd", "")
	if f.values.Get("name yard Alder Bnd") != "is Alder Bend" {
		t.Error("a question that was not sent was answered otherwise")
	}
	f.values.Set("name yard Alder Bnd", "")
	f.press(t, "look")
	f.wants(t, "not said any more", "Nothing is stored yet.")
}

// Figures are read, and shown again, as the reader writes them: in Spanish and kilograms with a
// comma before the decimals. What was typed stays with the entry.
func TestFiguresOfAllRowsAreReadAsTheReaderWritesThem(t *testing.T) {
	t.Parallel()
	h := apitest.OpenLots(t, apitest.MetricOutfit)
	h.SignIn(t)
	h.Send(t, http.MethodPost, "/language", url.Values{"language": {"es"}}, nil)
	const drums = "Fecha,Lote,Tanque,Tambor,Tipo\n2026-07-09,L-1,settling tank,D-77,drum\n"
	f := openSheetForm(t, h.House, "containers", "tambores.csv", drums)
	f.wants(t, "at first", "Ninguna columna dice bruto o neto", "neto, en todas las filas, kg", "D Tambor: D-77")
	f.press(t, "look", "fixed net", "1.290")
	f.wants(t, "with a figure that can be two", "Algo de lo escrito no se pudo aceptar")
	f.press(t, "look", "fixed net", "290,5")
	f.wants(t, "with the net", "Incorporar", "peso neto 290,5 kg", "peso bruto 308,5 kg")
	if f.values.Get("fixed net") != "290,5" {
		t.Errorf("%v", f.values)
	}
	f.press(t, "store")
	f.wants(t, "at last", "Está en el libro")
	fills := h.Ask(t, "fills")
	if last := fills[len(fills)-1]; last["container"] != "D-77" || last["net_kg"] != 290.5 {
		t.Errorf("%v", last)
	}
}

// What would be odd in the book is told before the sheet comes in.
func TestFindingsThatASheetWouldRaiseAreToldOnThePage(t *testing.T) {
	t.Parallel()
	h := apitest.OpenForSheets(t)
	h.SignIn(t)
	f := openSheetForm(t, h, "pulls", "old.csv", "Date,Yard,Boxes,Kind,Gross lb\n2026-07-03,Alder Bend,4,deep,3100\n2026-07-04,Alder Bend,40,deep,3100\n")
	f.wants(t, "at first", "What would be odd", "row 2: ", "Nothing keeps the sheet from coming in.", "Bring it in")
	f.press(t, "store")
	f.wants(t, "at last", "It is in the book")
	if strings.Contains(f.says, "What would be odd") {
		t.Error("it is still told once the sheet is in the book")
	}
}
