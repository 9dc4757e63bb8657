package api_test

import (
	"encoding/hex"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/getkin/kin-openapi/openapi3"

	"pullbook/domain/ledger"
)

// TestWhateverIsSentIsAnsweredByTheContract sends bodies made up from the
// contract's own schemas, good ones and spoilt ones, to everything that takes one.
// None may be answered by a fault of the service, every answer must be
// as the contract has it, and the book must balance afterwards.
func TestWhateverIsSentIsAnsweredByTheContract(t *testing.T) {
	t.Parallel()
	house := openHouse(t)
	for seed := range uint64(3) {
		t.Run(fmt.Sprintf("seed %d", seed), func(t *testing.T) {
			s := house.newShed(t, fmt.Sprintf("Outfit %d", seed))
			r := &rambler{Rand: rand.New(rand.NewPCG(seed, 26)), known: map[string][]string{}}
			r.learn(t, s)
			var takers, givers []operation
			for _, op := range operations(t) {
				if op.isForm() {
					continue
				}
				if op.RequestBody != nil {
					takers = append(takers, op)
				} else if !isStream(op) && op.OperationID != "followEntries" { // which wait
					givers = append(givers, op)
				}
			}
			taken := map[int]int{}
			for range 400 {
				got := r.send(t, s, takers[r.IntN(len(takers))])
				taken[got]++
				r.ask(t, s, givers[r.IntN(len(givers))])
			}
			if taken[201] < 50 || taken[422] < 50 {
				t.Errorf("the bodies made up are no good test: %v", taken)
			}
			s.holdsTogether(t)
		})
	}
}

// send sends a body made up, and gives the status of the answer.
func (r *rambler) send(t *testing.T, s *shed, op operation) int {
	t.Helper()
	body := r.object(op.RequestBody.Value.Content["application/json"].Schema.Value)
	r.sensible(body)
	if r.IntN(3) == 0 {
		r.spoil(body)
	}
	raw, err := json.Marshal(body)
	if err != nil {
		t.Fatal(err)
	}
	if r.IntN(25) == 0 {
		raw = r.scramble(raw)
	}
	got := s.send(t, op.method, op.path, s.manager, raw)
	switch got.status {
	case http.StatusCreated:
		r.remember(op.path, as[recorded](t, got).ID)
	case http.StatusOK, http.StatusBadRequest, http.StatusConflict, http.StatusUnprocessableEntity:
	default:
		t.Errorf("%s %s: %d %s", op.path, raw, got.status, got.raw)
	}
	return got.status
}

// ask asks for something with parameters made up.
func (r *rambler) ask(t *testing.T, s *shed, op operation) {
	t.Helper()
	path, query := op.path, url.Values{}
	for _, p := range op.Parameters {
		value := fmt.Sprint(r.value(p.Value.Schema.Value, p.Value.Name+"_id"))
		switch {
		case r.IntN(20) == 0:
			value = fmt.Sprint(spoilt[r.IntN(len(spoilt))])
		case p.Value.Schema.Value.Format == "uuid" && r.IntN(2) == 0:
			value = r.known["entry_id"][r.IntN(len(r.known["entry_id"]))]
		case p.Value.Example != nil && r.IntN(2) == 0:
			value = fmt.Sprint(p.Value.Example)
		}
		if p.Value.In == openapi3.ParameterInPath {
			path = strings.Replace(path, "{"+p.Value.Name+"}", url.PathEscape(value), 1)
		} else if p.Value.Required || r.IntN(3) == 0 {
			query.Set(p.Value.Name, value)
		}
	}
	got := s.send(t, op.method, path+"?"+query.Encode(), s.manager, nil)
	switch got.status {
	case http.StatusOK, http.StatusNotFound, http.StatusConflict, http.StatusUnprocessableEntity:
	default:
		t.Errorf("%s?%s: %d %s", path, query.Encode(), got.status, got.raw)
	}
}

// holdsTogether reads all that can be read, and holds the book to its digests and
// its grams.
func (s *shed) holdsTogether(t *testing.T) {
	t.Helper()
	for _, op := range operations(t) {
		endless := op.path == "/v1/changes/stream"
		if op.method == http.MethodGet && !strings.Contains(op.path, "{") && askingQuery(op) == "" && !endless {
			s.send(t, op.method, op.path, s.manager, nil) // its form is checked on the way
		}
	}
	for _, path := range []string{"reports/season", "reports/runs", "reports/tanks", "reports/lots", "reports/holders/" + s.large, "reports/findings", "entries?limit=1000", "readings?all=true&limit=1000"} {
		s.get(t, path)
	}
	if totals := read[struct{ Balanced bool }](t, s.outfit, "reports/totals"); !totals.Balanced {
		t.Error("the book does not balance")
	}
	var all []*ledger.Entry
	var digest [32]byte
	for e := range s.entries(t) {
		all = append(all, e)
		content, err := e.Content()
		if err != nil {
			t.Fatal(err)
		}
		digest = ledger.Chain(digest, e.Number, e.Canonical(content))
	}
	if got := s.head(t); got.Digest != hex.EncodeToString(digest[:]) || got.LastEntry != int64(len(all)) {
		t.Errorf("the book ends with entry %d, %s; its rows with %d, %x", got.LastEntry, got.Digest, len(all), digest)
	}
	if _, err := ledger.Open(time.UTC, all); err != nil {
		t.Error(err)
	}
}

// rambler makes things up.
type rambler struct {
	*rand.Rand
	// depth is how deep in a body the rambler is.
	depth int
	// known holds ids by what they name: "yard_id", "tank_id".
	known map[string][]string
}

// what is recorded at an address, by the field that names it elsewhere.
var namedBy = map[string]string{
	"/v1/yards": "yard_id", "/v1/super-kinds": "super_kind_id", "/v1/container-kinds": "container_kind_id", "/v1/rooms": "room_id",
	"/v1/tanks": "tank_id", "/v1/instruments": "instrument_id", "/v1/buyers": "buyer_id", "/v1/pulls": "pull_id", "/v1/runs": "run_id",
	"/v1/lots": "lot_id", "/v1/fills": "container_id",
}

func (r *rambler) learn(t *testing.T, s *shed) {
	t.Helper()
	for path := range namedBy {
		for _, e := range read[[]struct{ ID string }](t, s.outfit, strings.TrimPrefix(path, "/v1/")) {
			r.remember(path, e.ID)
		}
	}
}

func (r *rambler) remember(path, id string) {
	if name := namedBy[path]; name != "" {
		r.known[name] = append(r.known[name], id)
	}
	r.known["entry_id"] = append(r.known["entry_id"], id)
}

func (r *rambler) object(s *openapi3.Schema) M {
	r.depth++
	defer func() { r.depth-- }()
	out := M{}
	names := make([]string, 0, len(s.Properties))
	for name := range s.Properties {
		names = append(names, name)
	}
	slices.Sort(names) // so that a seed says it all
	for _, name := range names {
		if slices.Contains(s.Required, name) || r.depth < deepest && r.IntN(4) == 0 {
			out[name] = r.value(s.Properties[name].Value, name)
		}
	}
	return out
}

// deepest is how deep bodies go where the schema has no end.
const deepest = 5

func (r *rambler) value(s *openapi3.Schema, name string) any {
	switch {
	case len(s.Enum) > 0:
		return s.Enum[r.IntN(len(s.Enum))]
	case s.Type.Is("object"):
		if s.AdditionalProperties.Schema != nil {
			return M{"mass_kg": "652 lb"}
		}
		return r.object(s)
	case s.Type.Is("array"):
		least, most := s.MinItems, s.MinItems+3
		if s.MaxItems != nil {
			most = min(most, *s.MaxItems)
		}
		if r.depth >= deepest {
			most = least
		}
		list := make([]any, least+r.Uint64N(most-least+1))
		for i := range list {
			list[i] = r.value(s.Items.Value, name)
		}
		return list
	case s.Type.Is("boolean"):
		return r.IntN(2) == 0
	case s.Type.Is("integer"):
		return int64(r.number(s))
	case s.Type.Is("number"):
		return r.number(s)
	}
	return r.text(s, name)
}

// number is one of the schema's range, more often small, its ends too.
func (r *rambler) number(s *openapi3.Schema) float64 {
	low, high := -1e6, 1e6
	if s.Min != nil {
		low = *s.Min
	}
	if s.Max != nil {
		high = *s.Max
	}
	switch r.IntN(8) {
	case 0:
		return low
	case 1:
		return high
	case 2:
		return low + r.Float64()*(high-low)
	}
	return math.Ceil(low) + float64(r.IntN(int(min(60, high-math.Ceil(low)))+1))
}

func (r *rambler) text(s *openapi3.Schema, name string) string {
	switch s.Format {
	case "uuid":
		if name == "id" || name == "replaces" {
			return id()
		}
		if all := r.known[name]; len(all) > 0 && r.IntN(10) > 0 {
			return all[r.IntN(len(all))]
		}
		return id()
	case "date-time":
		return clock.Add(-time.Duration(r.IntN(5*24*60)) * time.Minute).Format(time.RFC3339)
	case "date":
		return clock.AddDate(0, 0, r.IntN(900)).Format(time.DateOnly)
	}
	length := 1 + r.IntN(12)
	if s.MaxLength != nil && r.IntN(20) == 0 {
		length = int(*s.MaxLength)
	}
	letters := []rune("abcdefghijkl MNO-0123'\"\\<>&é蜜🐝\u00a0")
	out := make([]rune, length)
	for i := range out {
		out[i] = letters[r.IntN(len(letters))]
	}
	out[0] = 'L'
	out[len(out)-1] = rune('0' + r.IntN(10))
	return string(out)
}

// sensible makes the parts of a body fit each other, so that some are taken.
func (r *rambler) sensible(body M) {
	for _, member := range []string{"on", "from", "to"} {
		place, ok := body[member].(M)
		if !ok {
			continue
		}
		if all := r.known[fmt.Sprint(place["kind"])+"_id"]; len(all) > 0 && r.IntN(10) > 0 {
			place["id"] = all[r.IntN(len(all))]
		} else {
			delete(place, "id")
		}
	}
	if list, ok := body["containers"].([]any); ok {
		for i := range list {
			list[i] = r.known["container_id"][r.IntN(len(r.known["container_id"]))]
		}
	}
	if _, replaces := body["replaces"]; replaces && r.IntN(4) > 0 {
		body["replaces"] = r.known["entry_id"][r.IntN(len(r.known["entry_id"]))]
		body["reason"] = "typed wrongly"
	}
	if tare, ok := body["tare_kg"].(float64); ok && body["gross_kg"] != nil && r.IntN(4) > 0 {
		body["tare_kg"], body["gross_kg"] = math.Mod(tare, 20), math.Mod(tare, 20)+1+float64(r.IntN(290))
	}
	if _, ok := body["moisture_pct"]; ok && r.IntN(4) > 0 {
		body["moisture_pct"] = 10 + float64(r.IntN(200))/10
		delete(body, "refractive_index")
		delete(body, "brix_deg")
	}
	if points, ok := body["points"].([]any); ok && r.IntN(4) > 0 {
		for i, p := range points {
			p.(M)["at"] = clock.Add(time.Duration(i) * time.Hour).Format(time.RFC3339)
		}
	}
}

// odd values that no field or few would take.
var spoilt = []any{nil, "", " ", "17,4", "ſ", "a\x00b", -1, 0, 1e308, -1e308, 5e-324, 3.0000001, 1 << 53, true, []any{}, []any{nil}, M{}, M{"id": M{}},
	"0000-01-01T00:00:00+23:59", "9999-12-31T23:59:59-23:59", "2026-08-20T10:00:60Z", "00000000-0000-0000-0000-000000000000", "ffffffff-ffff-ffff-ffff-ffffffffffff"}

func (r *rambler) spoil(body M) {
	names := make([]string, 0, len(body))
	for name := range body {
		names = append(names, name)
	}
	slices.Sort(names)
	name := names[r.IntN(len(names))]
	if inner, ok := body[name].(M); ok && len(inner) > 0 && r.IntN(2) == 0 {
		r.spoil(inner)
		return
	}
	switch r.IntN(4) {
	case 0:
		delete(body, name)
	case 1:
		body[name+"s"] = body[name]
	default:
		body[name] = spoilt[r.IntN(len(spoilt))]
	}
}

func (r *rambler) scramble(raw []byte) []byte {
	out := slices.Clone(raw)
	for range 1 + r.IntN(3) {
		out[r.IntN(len(out))] = byte(r.IntN(256))
	}
	return out[:1+r.IntN(len(out))]
}
