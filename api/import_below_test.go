package api_test

import (
	"bytes"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"pullbook/api/apitest"
)

// What an old sheet leaves open is asked where it stands, once, and not among the columns further
// down; where it is answered elsewhere, the page leads there.
func TestWhatHoldsForAllRowsIsAskedBesideTheProblem(t *testing.T) {
	t.Parallel()
	h := apitest.OpenForSheets(t)
	h.SignIn(t)
	const pulls = "Date,Yard,Boxes,Kind,Weight\n3/7/2019,Alder Bend,12,deep,500\n4/7/2019,Alder Bend,8,deep,490\nTotal,,20,,990\n"
	f := openSheetForm(t, h, "pulls", "old.csv", pulls)
	below := regexp.MustCompile(`(?s)<ol class="cards">.*?</ol>`).FindString(f.body)
	for _, name := range []string{"dates", "totals"} {
		if control := ` name="` + name + `"`; strings.Count(f.body, control) != 1 || !strings.Contains(below, control) {
			t.Errorf("%s is asked %d times, or not beside its problem", name, strings.Count(f.body, control))
		}
	}
	f.wants(t, "at first", "and in 1 more row Dates")
	f.press(t, "look", "dates", "day_first", "totals", "yes")
	f.wants(t, "with the order of its dates", "The book has no season with this day of 2019. Have one set up, from ", "In which unit is this?")
	f.press(t, "look", "seasons", "yes")
	to := regexp.MustCompile(`<a class="act" href="#([^"]+)">Answer it there</a>`).FindStringSubmatch(f.body)
	if to == nil || to[1] != "unit-E" || !strings.Contains(f.body, ` id="unit-E"`) {
		t.Fatalf("it leads to %v", to)
	}
	f.press(t, "look", "unit E", "lb")
	f.wants(t, "with all answers", "season 2019, from ", "Bring it in", "8 supers of the kind deep", "gross 500 lb")
}

// A row of headings is not offered to be left out: what stands below it would be another yard's.
func TestAFurtherBlocksHeadingsAreNotOfferedToBeLeftOut(t *testing.T) {
	t.Parallel()
	h := apitest.OpenForSheets(t)
	h.SignIn(t)
	f := openSheetForm(t, h, "pulls", "wide.csv", "Deep supers,,\nDate,Alder Bend,Alder Bnd\n2026-07-03,12,3\n2026-07-04,5,6\n,Alder Brnd,Alder Bend\n2026-07-10,4,x\n")
	f.wants(t, "at first", "row 5, column B: Alder Brnd", "Answer it there")
	if strings.Contains(f.body, `name="leave-out 5"`) || !strings.Contains(f.body, `name="leave-out 6"`) {
		t.Error("row 5 has headings, and can be left out, or row 6 cannot")
	}
}

// A container that comes again with another weight is corrected or left out. What was answered
// of a row can be answered otherwise.
func TestWhatARowIsCanBeSaidAnew(t *testing.T) {
	t.Parallel()
	h := apitest.OpenLots(t, apitest.MetricOutfit)
	h.SignIn(t)
	const drums = "Date,Lot,Tank,Drum,Type,Net kg\n2026-07-09,L-1,settling tank,D-77,drum,290\n"
	f := openSheetForm(t, h.House, "containers", "drums.csv", drums)
	f.press(t, "store")
	f = openSheetForm(t, h.House, "containers", "mended.csv", strings.Replace(drums, "290", "291", 1))
	f.wants(t, "at first", `The book has container "D-77" of this lot`)
	asked := regexp.MustCompile(`(?s)<select name="row 2".*?</select>`).FindString(f.body)
	if !strings.Contains(asked, `"correct"`) || !strings.Contains(asked, `"leave_out"`) || strings.Contains(f.body, `value="another"`) {
		t.Errorf("it can be %s", asked)
	}
	f.press(t, "look", "row 2", "correct")
	f.wants(t, "answered", "Bring it in", "(it corrects the book's)", "What was said of rows")
	f.press(t, "look", "row 2", "leave_out")
	f.wants(t, "answered otherwise", "Rows left out: 1.")
	f.press(t, "look", "row 2", "")
	f.values.Set("row 2", "")
	f.press(t, "look")
	f.wants(t, "not answered any more", "Nothing is stored yet.")
}

// What stands above a table, and what a sheet is called, may say that its rows are no pulls. Both are
// answered where they are asked about.
func TestATitleAndASheetsNameAreAnsweredOnThePage(t *testing.T) {
	t.Parallel()
	h := apitest.OpenForSheets(t)
	h.SignIn(t)
	f := openSheetForm(t, h, "pulls", "title.csv", "Weighed with the pallet\nDate,Yard,Boxes,Kind,Gross lb\n2026-07-03,Alder Bend,40,deep,3100\n")
	f.wants(t, "at first", "Above the table stands", "Leave row 1 out")
	f.press(t, "look", "leave-out 1", "yes")
	f.wants(t, "once the title is left out", "Bring it in", "gross 3,100 lb")

	book := excelize.NewFile()
	if _, err := book.NewSheet("Figures"); err != nil {
		t.Fatal(err)
	}
	for sheet, name := range map[string]string{"Sheet1": "Plan 2026", "Figures": "July"} {
		if err := book.SetSheetName(sheet, name); err != nil {
			t.Fatal(err)
		}
		for i, row := range [][]any{{"Date", "Yard", "Boxes", "Kind"}, {"2026-07-13", "Alder Bend", 20, "deep"}} {
			if err := book.SetSheetRow(name, "A"+strconv.Itoa(i+1), &row); err != nil {
				t.Fatal(err)
			}
		}
	}
	var file bytes.Buffer
	if err := book.Write(&file); err != nil {
		t.Fatal(err)
	}
	f = openSheetForm(t, h, "pulls", "book.xlsx", file.String())
	f.wants(t, "at first", `Only the sheet "Plan 2026" is read. The workbook also has July`, "the sheet's name: Plan 2026")
	if !strings.Contains(f.body, ">it says nothing of the rows</option>") {
		t.Error("the page does not ask whether the name says something of the rows")
	}
	f.press(t, "look", "row 0", "leave_out")
	f.wants(t, "once the name is said to be none", "Bring it in", "20 supers of the kind deep", "the sheet's name")
}
