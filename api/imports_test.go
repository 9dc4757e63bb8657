package api_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"mime/multipart"
	"net/http"
	"slices"
	"strings"
	"testing"

	"github.com/google/uuid"
)

// importAnswer is what is read of an answer about a sheet.
type importAnswer struct {
	ID      string
	Stored  bool
	Rows    int
	HadRows int `json:"had_rows"`
	Import  *struct {
		Number     int64
		FirstEntry int64 `json:"first_entry"`
		LastEntry  int64 `json:"last_entry"`
		Withdrawn  bool
	}
	Entries  map[string]int
	Sums     map[string]float64
	Problems []struct {
		Code, Column, Sent, Detail string
		Row                        int
		DidYouMean                 []string `json:"did_you_mean"`
	}
	Mapping map[string]any
	First   []struct {
		Row     int
		Content map[string]any
	}
}

// BringIn sends a sheet.
func (o *outfit) bringIn(t *testing.T, token, kind, store, text string, mapping any) reply {
	t.Helper()
	return o.bringInAs(t, uuid.NewString(), token, kind, store, text, mapping)
}

func (o *outfit) bringInAs(t *testing.T, id, token, kind, store, text string, mapping any) reply {
	t.Helper()
	header, body := importForm(t, id, token, kind, store, text, mapping)
	return o.sendWith(t, http.MethodPost, "/v1/imports", header, body)
}

// ImportForm is what is sent to bring a sheet in.
func importForm(t *testing.T, id, token, kind, store, text string, mapping any) (http.Header, []byte) {
	t.Helper()
	var body bytes.Buffer
	form := multipart.NewWriter(&body)
	for name, value := range map[string]string{"id": id, "kind": kind, "store": store} {
		if err := form.WriteField(name, value); err != nil {
			t.Fatal(err)
		}
	}
	if mapping != nil {
		raw, err := json.Marshal(mapping)
		if err != nil {
			t.Fatal(err)
		}
		if err := form.WriteField("mapping", string(raw)); err != nil {
			t.Fatal(err)
		}
	}
	file, err := form.CreateFormFile("file", "old.csv")
	if err != nil {
		t.Fatal(err)
	}
	fmt.Fprint(file, text)
	if err := form.Close(); err != nil {
		t.Fatal(err)
	}
	return http.Header{"Authorization": {"Bearer " + token}, "Content-Type": {form.FormDataContentType()}}, body.Bytes()
}

// A sheet is looked at, its questions are answered, it is brought in, brought in
// again without effect, and taken back by one entry.
func TestASheetGoesFromADryRunToTheBookAndBack(t *testing.T) {
	t.Parallel()
	o := openHouse(t).newOutfit(t, "Fern Gully Honey")
	o.recordExamples(t)
	const text = "Date;Apiary;Boxes;Kind;Gross\r\n6/7/26;Alder Bned;12;deep;1.000,5\r\n\r\n7/7/26;Birch Hollow;3;deep;250\r\nTotal;;15;;1.250,5\r\n"
	before := o.head(t)
	looked := as[importAnswer](t, o.bringIn(t, o.manager, "pulls", "false", text, nil))
	var got []string
	for _, p := range looked.Problems {
		got = append(got, fmt.Sprintf("%d%s %s", p.Row, p.Column, p.Code))
	}
	if want := "2A two_dates, 4B unknown_name, 4E no_unit, 5 looks_like_a_total"; strings.Join(got, ", ") != want {
		t.Fatalf("%v; it is %s", got, want)
	}
	m := looked.Mapping
	m["dates"], m["leave_out_totals"] = "day_first", true
	m["columns"].([]any)[4].(map[string]any)["unit"] = "lb"
	looked = as[importAnswer](t, o.bringIn(t, o.manager, "pulls", "false", text, m))
	if len(looked.Problems) != 2 || looked.Problems[0].DidYouMean[0] != "Alder Bend" || looked.Problems[1].Code != "unknown_name" {
		t.Fatalf("%+v", looked.Problems)
	}
	if refused := o.bringIn(t, o.manager, "pulls", "true", text, m); refused.status != http.StatusUnprocessableEntity || !strings.Contains(string(refused.raw), "/file/B/2") {
		t.Fatalf("with problems left: %d %s", refused.status, refused.raw)
	}
	m["names"] = map[string]any{"yard": map[string]any{"Alder Bned": map[string]any{"is": "Alder Bend"}, "*": map[string]any{"create": map[string]any{}}}}
	looked = as[importAnswer](t, o.bringIn(t, o.manager, "pulls", "false", text, m))
	if len(looked.Problems) > 0 || looked.Stored || looked.Entries["pull"] != 2 || looked.Entries["yard"] != 1 || looked.Sums["gross_kg"] < 567 || looked.Sums["gross_kg"] > 568 {
		t.Fatalf("%+v", looked)
	}
	if o.head(t) != before {
		t.Fatal("looking has stored something")
	}
	id := uuid.NewString()
	stored := o.bringInAs(t, id, o.manager, "pulls", "true", text, m)
	answer := as[importAnswer](t, stored)
	if stored.status != http.StatusCreated || !answer.Stored || answer.Import.LastEntry-answer.Import.FirstEntry != 2 || answer.Import.Number != before.LastEntry+4 {
		t.Fatalf("%d %s", stored.status, stored.raw)
	}
	again := o.bringIn(t, o.manager, "pulls", "true", text, m)
	if a := as[importAnswer](t, again); again.status != http.StatusOK || a.Stored || a.HadRows != 2 {
		t.Errorf("again: %d %s", again.status, again.raw)
	}
	progress := as[struct {
		State string
		Rows  int
	}](t, o.send(t, http.MethodGet, "/v1/imports/"+id, o.manager, nil))
	if progress.State != "stored" || progress.Rows != 3 {
		t.Errorf("%+v", progress)
	}
	pulls := len(read[[]any](t, o, "pulls"))
	back, _ := json.Marshal(map[string]any{"id": uuid.New(), "occurred_at": "2026-08-22T17:00:00Z", "replaces": id, "reason": "kilograms read as pounds"})
	if r := o.send(t, http.MethodPost, "/v1/withdrawals", o.crew, back); r.status != http.StatusForbidden {
		t.Errorf("crew withdraw an import: %d", r.status)
	}
	if r := o.send(t, http.MethodPost, "/v1/withdrawals", o.manager, back); r.status != http.StatusCreated {
		t.Fatalf("%d %s", r.status, r.raw)
	}
	if n := len(read[[]any](t, o, "pulls")); n != pulls-2 {
		t.Errorf("%d pulls stand, and before %d", n, pulls)
	}
	if all := read[[]struct{ Withdrawn bool }](t, o, "imports"); len(all) != 1 || !all[0].Withdrawn {
		t.Errorf("%+v", all)
	}
}

func TestWhoMayNotOrSendsWhatIsNoFormIsTold(t *testing.T) {
	t.Parallel()
	o := openHouse(t).newOutfit(t, "Fern Gully Honey")
	if r := o.bringIn(t, o.crew, "yards", "true", "Yard\nMill\n", nil); r.status != http.StatusForbidden {
		t.Errorf("crew: %d", r.status)
	}
	for what, r := range map[string]reply{
		"no form":          o.send(t, http.MethodPost, "/v1/imports", o.manager, []byte("{}")),
		"a picture":        o.bringIn(t, o.manager, "yards", "false", "\x89PNG\r\n\x1a\n\x00\x00\x00", nil),
		"an empty file":    o.bringIn(t, o.manager, "yards", "false", "", nil),
		"a kind of none":   o.bringIn(t, o.manager, "hives", "false", "Yard\nMill\n", nil),
		"no yes or no":     o.bringIn(t, o.manager, "yards", "perhaps", "Yard\nMill\n", nil),
		"a bad id":         o.bringInAs(t, "7", o.manager, "yards", "false", "Yard\nMill\n", nil),
		"a bad mapping":    o.bringIn(t, o.manager, "yards", "false", "Yard\nMill\n", map[string]any{"of": "yards", "heading_row": -1, "columns": []any{}}),
		"an unknown field": o.bringIn(t, o.manager, "yards", "false", "Yard\nMill\n", map[string]any{"of": "yards", "heading_row": 1, "columns": []any{map[string]any{"column": "A", "field": "supers"}}}),
	} {
		if r.status != http.StatusBadRequest && r.status != http.StatusUnprocessableEntity {
			t.Errorf("%s: %d %s", what, r.status, r.raw)
		}
	}
	if r := o.send(t, http.MethodGet, "/v1/imports/"+uuid.NewString(), o.manager, nil); r.status != http.StatusNotFound {
		t.Errorf("an import of nothing: %d", r.status)
	}
}

// A sheet that comes again with a weight put right corrects the pull, and the book keeps
// both; an import taken back leaves what it corrected.
func TestASheetThatWasMendedCorrectsWhatTheBookHas(t *testing.T) {
	t.Parallel()
	o := openHouse(t).newOutfit(t, "Fern Gully Honey")
	o.recordExamples(t)
	const text = "Date,Yard,Boxes,Kind,Gross kg\n2026-07-06,Alder Bend,12,deep,360\n2026-07-07,Alder Bend,4,deep,120\n"
	answers := map[string]any{"names": map[string]any{"super_kind": map[string]any{"deep": map[string]any{"create": map[string]any{"tare_kg": 13, "usual_net_kg": 27, "fullest_net_kg": 36}}}}}
	if r := o.bringIn(t, o.manager, "pulls", "true", text, answers); r.status != http.StatusCreated {
		t.Fatalf("%d %s", r.status, r.raw)
	}
	before := o.head(t).LastEntry
	mended := strings.Replace(text, "360", "380", 1)
	refused := o.bringIn(t, o.manager, "pulls", "true", mended, answers)
	if refused.status != http.StatusUnprocessableEntity || !strings.Contains(string(refused.raw), "12 supers, 360 kg") || o.head(t).LastEntry != before {
		t.Fatalf("%d %s", refused.status, refused.raw)
	}
	answers["alike_rows"] = "correct"
	id := uuid.NewString()
	stored := o.bringInAs(t, id, o.manager, "pulls", "true", mended, answers)
	if a := as[importAnswer](t, stored); stored.status != http.StatusCreated || a.Entries["pull"] != 1 || a.HadRows != 1 {
		t.Fatalf("%d %s", stored.status, stored.raw)
	}
	grossOf := func() (kg []float64) {
		for _, p := range read[[]struct {
			GrossKg float64 `json:"gross_kg"`
			Number  int64
			At      string `json:"occurred_at"`
		}](t, o, "pulls") {
			if strings.HasPrefix(p.At, "2026-07-06") || strings.HasPrefix(p.At, "2026-07-07") {
				kg = append(kg, p.GrossKg)
			}
		}
		slices.Sort(kg)
		return kg
	}
	if got := grossOf(); !slices.Equal(got, []float64{120, 380}) {
		t.Errorf("corrected, the pulls are of %v kg", got)
	}
	back, _ := json.Marshal(map[string]any{"id": uuid.New(), "occurred_at": "2026-08-22T17:00:00Z", "replaces": id, "reason": "tried"})
	if r := o.send(t, http.MethodPost, "/v1/withdrawals", o.manager, back); r.status != http.StatusCreated {
		t.Fatalf("%d %s", r.status, r.raw)
	}
	if got := grossOf(); !slices.Equal(got, []float64{120, 380}) {
		t.Errorf("taken back, the pulls are of %v kg", got)
	}
}
