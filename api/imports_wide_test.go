package api_test

import (
	"bytes"
	"fmt"
	"html"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/google/uuid"
	"github.com/xuri/excelize/v2"

	"pullbook/api/apitest"
)

// wideWorkbook has days across, merged over boxes and kilograms, yards down, a comment on one
// cell, and totals.
func wideWorkbook(t *testing.T) string {
	t.Helper()
	f := excelize.NewFile()
	defer f.Close()
	day, err := f.NewStyle(&excelize.Style{NumFmt: 14})
	if err != nil {
		t.Fatal(err)
	}
	const july6, july14 = 46209, 46217
	set := func(cell string, value any) {
		t.Helper()
		if err := f.SetCellValue("Sheet1", cell, value); err != nil {
			t.Fatal(err)
		}
	}
	for _, row := range [][]any{
		{"", july6, nil, july14, nil, "Total"},
		{"Yard", "boxes", "kg", "boxes", "kg", "boxes"},
		{"Alder Bend", 12, 301.5, 8, 200, 20},
		{"Birch Hollow", 3, nil, nil, nil, 3},
		{"Total", 15, 301.5, 8, 200, 23},
	} {
		number := map[any]int{"": 1, "Yard": 2, "Alder Bend": 3, "Birch Hollow": 4, "Total": 5}[row[0]]
		for i, value := range row {
			if value != nil && value != "" {
				set(fmt.Sprintf("%c%d", 'A'+i, number), value)
			}
		}
	}
	for _, err := range []error{
		f.SetCellStyle("Sheet1", "B1", "D1", day), f.MergeCell("Sheet1", "B1", "C1"), f.MergeCell("Sheet1", "D1", "E1"),
		f.AddComment("Sheet1", excelize.Comment{Cell: "D3", Paragraph: []excelize.RichTextRun{{Text: "after rain"}}}),
	} {
		if err != nil {
			t.Fatal(err)
		}
	}
	var out bytes.Buffer
	if err := f.Write(&out); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

// Days across in a workbook, and yards across in a text file: both are looked at, answered by the
// mapping and brought in, and the second finds what the first brought.
func TestAWideSheetComesInThroughTheInterface(t *testing.T) {
	t.Parallel()
	o := openHouse(t).newOutfit(t, "Fern Gully Honey")
	o.recordExamples(t)
	looked := as[importAnswer](t, o.bringIn(t, o.manager, "pulls", "false", wideWorkbook(t), nil))
	var got []string
	for _, p := range looked.Problems {
		got = append(got, fmt.Sprintf("%d%s %s", p.Row, p.Column, p.Code))
	}
	if want := []string{"3B missing", "4A unknown_name", "5 looks_like_a_total"}; !slices.Equal(got, want) {
		t.Fatalf("%v, not %v\n%+v", got, want, looked.Mapping)
	}
	answers := map[string]any{"leave_out_totals": true, "fixed": map[string]any{"super_kind": "deep"}, "names": map[string]any{"yard": map[string]any{"*": map[string]any{"create": map[string]any{}}}}}
	stored := o.bringIn(t, o.manager, "pulls", "true", wideWorkbook(t), answers)
	answer := as[importAnswer](t, stored)
	if stored.status != http.StatusCreated || answer.Entries["pull"] != 3 || answer.Sums["gross_kg"] != 501.5 || answer.Sums["supers"] != 23 {
		t.Fatalf("%d %s", stored.status, stored.raw)
	}
	if wide := answer.Mapping["wide"].(map[string]any); wide["across"] != "date" || wide["row"] != 1.0 || answer.Mapping["heading_row"] != 2.0 {
		t.Errorf("%v", answer.Mapping)
	}
	var cells []string
	for _, e := range as[struct {
		First []struct {
			Cell, Kind string
			Content    struct{ Body struct{ Note string } }
		}
	}](t, stored).First {
		if e.Kind == "pull" {
			cells = append(cells, fmt.Sprint(e.Cell, " ", e.Content.Body.Note))
		}
	}
	if want := []string{"B3 ", "D3 after rain", "B4 "}; !slices.Equal(cells, want) {
		t.Errorf("%v", cells)
	}
	const text = "Fecha;Alder Bend;;Birch Hollow;\n;alzas;kilos;alzas;kilos\n6/7/2026;12;301,5;3;\n14/7/2026;9;200;;\n20/7/2026;;;4;90,5\n"
	delete(answers, "leave_out_totals")
	answers["cells"] = map[string]any{"B4": "correct"}
	if refused := o.bringIn(t, o.manager, "pulls", "true", text, map[string]any{"fixed": answers["fixed"]}); refused.status != http.StatusUnprocessableEntity || !strings.Contains(string(refused.raw), "/file/B/4") {
		t.Errorf("%d %s", refused.status, refused.raw)
	}
	stored = o.bringIn(t, o.manager, "pulls", "true", text, answers)
	if answer = as[importAnswer](t, stored); stored.status != http.StatusCreated || answer.HadRows != 2 || answer.Entries["pull"] != 2 {
		t.Errorf("%d %s", stored.status, stored.raw)
	}
	for _, wrong := range []map[string]any{
		{"wide": map[string]any{"across": "seal"}}, {"wide": map[string]any{"month_day": 32}}, {"wide": map[string]any{"across": "tank", "cells": "supers"}}, {"wide": map[string]any{"cells": "moisture_pct"}},
	} {
		if r := o.bringIn(t, o.manager, "pulls", "false", text, wrong); r.status != http.StatusUnprocessableEntity && r.status != http.StatusBadRequest {
			t.Errorf("%v: %d %s", wrong, r.status, r.raw)
		}
	}
}

// The page says that a sheet is wide, asks what its cells are, and takes the answer.
func TestThePageAsksWhatTheCellsOfAWideSheetAre(t *testing.T) {
	t.Parallel()
	h := apitest.OpenForSheets(t)
	h.SignIn(t)
	const sheet = "Date,Alder Bend,Mill Race,Total\n2026-07-03,40,10,50\n2026-07-05,20,0,20\n"
	form := url.Values{"id": {uuid.NewString()}, "kind": {"pulls"}, "do": {"look"}}
	body := ""
	look := func(says ...string) {
		t.Helper()
		_, body = sendSheet(t, h, form, "old.csv", sheet)
		for _, s := range says {
			if !strings.Contains(body, s) {
				t.Fatalf("the page does not say %q:\n%s", s, body)
			}
		}
		for _, key := range []string{"mapping", "mapping_of", "mapping_file"} {
			value := regexp.MustCompile(`name="` + key + `" value="([^"]*)"`).FindStringSubmatch(body)
			if value == nil {
				t.Fatalf("the page has no %s", key)
			}
			form.Set(key, html.UnescapeString(value[1]))
		}
		for _, select1 := range regexp.MustCompile(`(?s)<select[^>]*name="([^"]*)"[^>]*>(.*?)</select>`).FindAllStringSubmatch(body, -1) {
			if name := html.UnescapeString(select1[1]); name != "kind" && form.Get(name) == "" {
				chosen := regexp.MustCompile(`value="([^"]*)" selected`).FindStringSubmatch(select1[2])
				form.Set(name, "")
				if chosen != nil {
					form.Set(name, html.UnescapeString(chosen[1]))
				}
			}
		}
	}
	look("The sheet is wide: yards across, days down.", "nothing in it says what the figures below B (Alder Bend) and C (Mill Race) are", `name="cells"`)
	form.Set("cells", "supers")
	look("Of which kind are these supers?", "Mill Race", "row 1, column C")
	form.Set("fixed super_kind", "deep")
	form.Set("name yard Mill Race", "new")
	look("Filled cells that were read: 4. Entries that come of them: 3.", "Cells that say 0 are no pull, and were left out: 1.")
	// Another layout is looked at anew.
	form.Set("across", "nothing")
	look("No column says the yard")
	form.Set("across", "yard")
	form.Del("cells")
	look("The sheet is wide: yards across, days down.")
	form.Set("cells", "supers")
	form.Set("name yard Mill Race", "new")
	look()
	form.Set("do", "store")
	_, body = sendSheet(t, h, form, "old.csv", sheet)
	if got := h.SQL(t, "SELECT count(*)::text FROM entry WHERE kind = 'pull'"); got[0] != "3" {
		t.Errorf("%s pulls, not 3: %s", got[0], body)
	}
}

// What a text beside the cells says of their unit is asked on the page, and answered there.
func TestThePageLeavesATextBesideTheCellsAside(t *testing.T) {
	t.Parallel()
	h := apitest.OpenForSheets(t)
	h.SignIn(t)
	const sheet = "All in pounds\nDate,Alder Bend boxes,Alder Bend kg\n2026-07-03,40,900\n2026-07-05,20,450\n"
	form := url.Values{"id": {uuid.NewString()}, "kind": {"pulls"}, "do": {"look"}, "fixed super_kind": {"deep"}}
	const asks = "This speaks of another unit than that of the cells"
	_, body := sendSheet(t, h, form, "old.csv", sheet)
	if !strings.Contains(body, asks) || !strings.Contains(body, `name="cell A1"`) {
		t.Fatal(body)
	}
	for _, key := range []string{"mapping", "mapping_of", "mapping_file"} {
		form.Set(key, html.UnescapeString(regexp.MustCompile(`name="` + key + `" value="([^"]*)"`).FindStringSubmatch(body)[1]))
	}
	for _, column := range []string{"A date", "B supers", "C gross"} {
		letter, field, _ := strings.Cut(column, " ")
		form.Set("field "+letter, field)
	}
	form.Set("unit C", "kg")
	form.Set("across", "yard")
	form.Set("cell A1", "leave_out")
	if _, body = sendSheet(t, h, form, "old.csv", sheet); strings.Contains(body, asks) {
		t.Error(body)
	}
}
