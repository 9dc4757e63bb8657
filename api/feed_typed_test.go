package api_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"net/http"
	"slices"
	"strconv"
	"testing"

	"github.com/google/uuid"
	"github.com/xuri/excelize/v2"

	"pullbook/db"
	"pullbook/domain/units"
)

// typedShed is a shed whose outfit weighs in pounds or kilograms, with boxes of a tare that was typed so.
func typedShed(t *testing.T, of string, unit, tare float64) *shed {
	t.Helper()
	h := openHouse(t)
	o := &outfit{honeyHouse: h, name: "Fern Gully Honey", id: uuid.New()}
	if err := h.operator.CreateOutfit(t.Context(), db.Outfit{ID: o.id, Name: o.name, TimeZone: "America/Winnipeg", Units: of}); err != nil {
		t.Fatal(err)
	}
	if err := h.operator.CreatePerson(t.Context(), o.id, db.Person{ID: uuid.New(), Name: "Mirren", Role: db.Manager}); err != nil {
		t.Fatal(err)
	}
	var err error
	if o.manager, err = h.operator.CreateToken(t.Context(), o.id, "Mirren", "Mirren's token"); err != nil {
		t.Fatal(err)
	}
	o.reader = o.manager
	s := &shed{outfit: o}
	setUp := func(path string, body M) string {
		return s.book(t, path, with(body, "id", id(), "occurred_at", at(1, "8:00"))).ID
	}
	setUp("seasons", M{"name": "2026", "first": "2026-01-01", "last": "2026-12-31"})
	s.alder = setUp("yards", M{"name": "Alder Bend"})
	s.deep = setUp("super-kinds", M{"name": "deep", "tare_kg": tare * unit, "usual_net_kg": 5 * tare * unit, "fullest_net_kg": 40})
	s.drum = setUp("container-kinds", M{"name": "tote", "volume_l": 2000, "usual_tare_kg": 60, "usual_net_kg": 1000})
	s.large = setUp("tanks", M{"name": "large tank", "use": "settling", "capacity_kg": 4500})
	s.buyer = setUp("buyers", M{"name": "Northgate Packing"})
	s.lot = s.book(t, "lots", s.aLot()).ID
	return s
}

// Each weight that somebody typed in pounds or kilograms is the same weight in CSV, in JSON lines and in a workbook of that
// unit; its net is the difference of what was typed, and a lot's net the sum of its drums'.
func TestWhatWasTypedComesBackAsTyped(t *testing.T) {
	t.Parallel()
	for _, unit := range []struct {
		of, suffix string
		kg         float64
		places     int
	}{{"us", "lb", units.KilogramsPerPound, 2}, {"metric", "kg", 1, 3}} {
		s := typedShed(t, unit.of, unit.kg, 5.25)
		random := rand.New(rand.NewPCG(26, 11))
		scale := 1.0
		for range unit.places {
			scale *= 10
		}
		gross, tare := []int64{int64(2501 * scale)}, []int64{int64(52 * scale)} // in units of the last place
		for range 40 {
			gross = append(gross, int64(random.Float64()*2000*scale)+int64(300*scale))
			tare = append(tare, int64(random.Float64()*200*scale)+int64(scale))
		}
		kg := func(typed int64) float64 { return float64(typed) / scale * unit.kg }
		var drums []string
		for i := range gross {
			s.book(t, "pulls", s.aPull("supers", []M{{"super_kind_id": s.deep, "supers": 10}}, "gross_kg", kg(gross[i]), "note", strconv.Itoa(i)))
			drums = append(drums, s.book(t, "fills", s.aFill("container", fmt.Sprintf("D-%03d", i), "tare_kg", kg(tare[i]), "gross_kg", kg(gross[i]), "occurred_at", at(21, "14:00"))).ID)
		}
		s.release(t, s.lot, at(22, "8:00"))
		s.book(t, "dispatches", s.aDispatch("containers", drums[:20]))
		figure := func(units int64) float64 { return float64(units) / scale }
		sum := func(from, to int) (net int64) {
			for i := from; i < to; i++ {
				net += gross[i] - tare[i]
			}
			return net
		}
		for form, read := range map[string]func(feed string) []map[string]string{
			"CSV": func(feed string) []map[string]string { return s.rows(t, feed+".csv?units="+unit.of) },
			"JSON lines": func(feed string) []map[string]string {
				return jsonRows(t, s.feed(t, feed+".jsonl?units="+unit.of).raw)
			},
			"a workbook": func(feed string) []map[string]string {
				return sheetRows(t, feed, s.feed(t, feed+".xlsx?units="+unit.of).raw)
			},
		} {
			is := func(what string, row map[string]string, column string, want float64) {
				t.Helper()
				if got, err := strconv.ParseFloat(row[column+unit.suffix], 64); err != nil || got != want {
					t.Errorf("%s, %s: %s is %s, not %v", form, what, column+unit.suffix, row[column+unit.suffix], want)
				}
			}
			pulls, containers := read("pulls"), read("containers")
			if len(pulls) != len(gross) || len(containers) != len(gross) {
				t.Fatalf("%s: %d pulls and %d containers of %d", form, len(pulls), len(containers), len(gross))
			}
			for _, pull := range pulls {
				i, _ := strconv.Atoi(pull["note"])
				is("a pull", pull, "gross_", figure(gross[i]))
				is("a pull", pull, "tare_", 52.5)
				is("a pull", pull, "net_", figure(gross[i]-int64(52.5*scale)))
				is("a pull", pull, "usual_net_", 262.5)
			}
			for i := range gross {
				is("a drum", containers[i], "gross_", figure(gross[i]))
				is("a drum", containers[i], "tare_", figure(tare[i]))
				is("a drum", containers[i], "net_", figure(gross[i]-tare[i]))
			}
			for _, row := range read("movements") {
				i := slices.Index(drums, row["id"])
				if row["kind"] == "dispatch" {
					i = slices.Index(drums, row["from_id"])
				}
				is("a "+row["kind"], row, "mass_", figure(gross[i]-tare[i]))
			}
			lot := read("lots")[0]
			is("the lot", lot, "net_", figure(sum(0, len(gross))))
			is("the lot", lot, "held_", figure(sum(20, len(gross))))
			is("the lot", lot, "dispatched_", figure(sum(0, 20)))
		}
	}
}

func jsonRows(t *testing.T, raw []byte) (rows []map[string]string) {
	t.Helper()
	for line := range bytes.Lines(raw) {
		var object map[string]any
		decoder := json.NewDecoder(bytes.NewReader(line))
		decoder.UseNumber()
		if err := decoder.Decode(&object); err != nil {
			t.Fatal(err)
		}
		row := map[string]string{}
		for name, value := range object {
			row[name] = fmt.Sprint(value)
		}
		rows = append(rows, row)
	}
	return rows
}

func sheetRows(t *testing.T, sheet string, raw []byte) (rows []map[string]string) {
	t.Helper()
	book, err := excelize.OpenReader(bytes.NewReader(raw))
	if err != nil {
		t.Fatal(err)
	}
	all, err := book.GetRows(sheet, excelize.Options{RawCellValue: true})
	if err != nil {
		t.Fatal(err)
	}
	for _, cells := range all[1:] {
		row := map[string]string{}
		for i, value := range cells {
			row[all[0][i]] = value
		}
		rows = append(rows, row)
	}
	return rows
}

// A laboratory's figure has all of its digits in a table, and a refractometer's too.
func TestALaboratorysDigitsAreAllThere(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	s.book(t, "readings", M{"id": id(), "occurred_at": at(22, "9:00"), "on": M{"kind": "lot", "id": s.lot}, "laboratory": "Northern Lab",
		"measured": []M{{"quantity": "hmf_mg_per_kg", "value": 12.345, "method": "HPLC"}, {"quantity": "colour_mm_pfund", "value": 34.25}, {"quantity": "yeast_per_g", "value": 0.5}}})
	row := s.rows(t, "readings.csv")[0]
	for column, want := range map[string]string{"hmf_mg_per_kg": "12.3450", "colour_mm_pfund": "34.25", "yeast_per_g": "0.5"} {
		if row[column] != want {
			t.Errorf("%s is %s, not %s", column, row[column], want)
		}
	}
	if r := s.send(t, http.MethodGet, "/feeds/readings.jsonl", s.reader, nil); !bytes.Contains(r.raw, []byte(`"hmf_mg_per_kg":12.345,`)) {
		t.Errorf("%s", r.raw)
	}
}

// A laboratory that found less than a figure did not find the figure: each table says so beside it.
func TestATableSaysWhereALaboratoryFoundLessThanTheFigure(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	s.book(t, "readings", M{"id": id(), "occurred_at": at(22, "9:00"), "on": M{"kind": "lot", "id": s.lot}, "laboratory": "Northern Lab", "measured": []M{
		{"quantity": "hmf_mg_per_kg", "value": 1.0, "less_than": true, "method": "HPLC"}, {"quantity": "proline_mg_per_kg", "value": 25, "less_than": true}, {"quantity": "sucrose_g_per_100g", "value": 2.5}}})
	s.book(t, "checks", s.aCheck("on", "2026-08-22", "occurred_at", at(22, "10:00")))
	reading := s.rows(t, "readings.csv")[0]
	if reading["other"] != "proline_mg_per_kg <25" || reading["less_than"] != "hmf_mg_per_kg; proline_mg_per_kg" {
		t.Errorf("the reading has %q and less than %q", reading["other"], reading["less_than"])
	}
	said := map[string]string{}
	for _, line := range s.rows(t, "verdicts.csv") {
		if line["value"] != "" || line["value_less_than"] != "" {
			said[line["parameter"]] = line["value"] + " " + line["value_less_than"]
		}
	}
	if len(said) != 2 || said["hmf"] != "1 TRUE" || said["sucrose"] != "2.5 FALSE" {
		t.Errorf("the verdicts have the values %v", said)
	}
	book, err := excelize.OpenReader(bytes.NewReader(s.feed(t, "season.xlsx").raw))
	if err != nil {
		t.Fatal(err)
	}
	for sheet, want := range map[string]string{"Readings": "less than", "Verdicts": "value less than"} {
		rows, err := book.GetRows(sheet)
		if err != nil || len(rows) < 3 {
			t.Fatalf("%s: %v, %v", sheet, rows, err)
		}
		if !slices.Contains(rows[1], want) {
			t.Errorf("the sheet %s does not say where a figure is less than that: %v", sheet, rows[1])
		}
	}
}

// What nobody wrote down is empty, and not nothing: hives worked, loads, frames, wax.
func TestWhatNobodyWroteDownIsNoZero(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	empty := map[string][]string{"yards": {"hives_worked"}, "runs": {"loads", "frames", "frames_set_aside", "wax_kg"}, "pulls": {"hives_worked", "gross_kg", "net_kg"}}
	for feed, columns := range empty {
		row := s.rows(t, feed+".csv")[0]
		for _, column := range columns {
			if value, has := row[column]; !has || value != "" {
				t.Errorf("%s: nobody wrote %s down, and it is %q", feed, column, value)
			}
		}
	}
	s.book(t, "pulls", s.aPull("hives_worked", 6))
	s.book(t, "loads", s.aLoad())
	s.book(t, "run-ends", M{"id": id(), "occurred_at": at(21, "12:30"), "run_id": s.run, "wax_kg": 12.5})
	yard, run := s.rows(t, "yards.csv")[0], s.rows(t, "runs.csv")[0]
	if yard["hives_worked"] != "6" || run["loads"] != "1" || run["frames"] != "58" || run["wax_kg"] != "12.5000" {
		t.Errorf("what was written down: %v, %v", yard, run)
	}
}
