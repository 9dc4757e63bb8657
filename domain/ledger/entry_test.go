package ledger_test

import (
	"bytes"
	"encoding/hex"
	"encoding/json"
	"reflect"
	"testing"
	"time"

	"github.com/google/uuid"
	"pgregory.net/rapid"

	"pullbook/domain/ledger"
	"pullbook/domain/standard"
)

func washed() *ledger.Entry {
	return &ledger.Entry{
		Number: 1, ID: uuid.MustParse("7a1c3f0e-1b2d-4c5e-8f90-a1b2c3d4e5f6"), Kind: ledger.KindWash,
		OccurredAt: time.Date(2026, 8, 21, 22, 5, 0, 250_999, time.FixedZone("", 2*3600)),
		RecordedAt: time.Date(2026, 8, 21, 20, 6, 0, 0, time.UTC),
		RecordedBy: "Ada", AsEntered: map[string]string{"with": "Hot water"}, Via: ledger.ViaPaper,
		Body: &ledger.Wash{TankID: uuid.MustParse("0b0e7d52-6d0f-4a55-9d3c-2f1e0d9c8b7a"), With: "hot water"},
	}
}

// The canonical form is a promise to whoever checks a book with other means:
// these bytes were hashed with Python's hashlib, not with this package.
const (
	washedCanonical = `{"id":"7a1c3f0e-1b2d-4c5e-8f90-a1b2c3d4e5f6","kind":"wash",` +
		`"occurred_at":"2026-08-21T20:05:00.000250Z","recorded_at":"2026-08-21T20:06:00.000000Z",` +
		`"recorded_by":"Ada","replaces":"","reason":"","content":{"body":{"tank_id":` +
		`"0b0e7d52-6d0f-4a55-9d3c-2f1e0d9c8b7a","with":"hot water"},"as_entered":{"with":"Hot water"},"via":"paper"}}`
	washedFirst  = "84c02cdacb920dde3f3720ad82a2d30bf99f541c2d4a2600d367b44f12def707"
	washedSecond = "8f1e043ca6f72b9180d38cde11904729f56d5ec7994f8554bef7a8b4b578eda9"
)

func TestTheDigestsCanBeHadByOtherMeans(t *testing.T) {
	t.Parallel()
	e := washed()
	content, err := e.Content()
	if err != nil {
		t.Fatal(err)
	}
	canonical := e.Canonical(content)
	if string(canonical) != washedCanonical {
		t.Fatalf("the canonical form is\n%s\nand should be\n%s", canonical, washedCanonical)
	}
	first := ledger.Chain([32]byte{}, 1, canonical)
	second := ledger.Chain(first, 2, canonical)
	if got := hex.EncodeToString(first[:]); got != washedFirst {
		t.Errorf("the first digest is %s", got)
	}
	if got := hex.EncodeToString(second[:]); got != washedSecond {
		t.Errorf("the second digest is %s", got)
	}
}

// The head of the canonical form is what encoding/json writes of these fields, whatever
// characters are in them.
func TestTheCanonicalFormIsWrittenAsEncodingJSONDoes(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		e := washed()
		e.RecordedBy, e.Reason, e.Kind = rapid.String().Draw(t, "by"), rapid.StringOf(rapid.Rune()).Draw(t, "reason"), ledger.Kind(rapid.String().Draw(t, "kind"))
		if rapid.Bool().Draw(t, "torn") {
			e.Reason += "\xff<&>\u2028\x7f"
		}
		if rapid.Bool().Draw(t, "corrects") {
			e.Replaces = uuid.MustParse("0b0e7d52-6d0f-4a55-9d3c-2f1e0d9c8b7a")
		}
		replaces := ""
		if e.Replaces != (uuid.UUID{}) {
			replaces = e.Replaces.String()
		}
		want, err := json.Marshal(struct {
			ID         uuid.UUID       `json:"id"`
			Kind       ledger.Kind     `json:"kind"`
			OccurredAt string          `json:"occurred_at"`
			RecordedAt string          `json:"recorded_at"`
			RecordedBy string          `json:"recorded_by"`
			Replaces   string          `json:"replaces"`
			Reason     string          `json:"reason"`
			Content    json.RawMessage `json:"content"`
		}{e.ID, e.Kind, "2026-08-21T20:05:00.000250Z", "2026-08-21T20:06:00.000000Z", e.RecordedBy, replaces, e.Reason, json.RawMessage(`{"body":{}}`)})
		if err != nil {
			t.Fatal(err)
		}
		if got := e.Canonical([]byte(`{"body":{}}`)); !bytes.Equal(got, want) {
			t.Errorf("the canonical form is\n%s\nand encoding/json writes\n%s", got, want)
		}
	})
}

// TestEveryChangeOfAnEntryShowsInItsDigest alters one thing at a time.
func TestEveryChangeOfAnEntryShowsInItsDigest(t *testing.T) {
	t.Parallel()
	digest := func(e *ledger.Entry) [32]byte {
		content, err := e.Content()
		if err != nil {
			t.Fatal(err)
		}
		return ledger.Chain([32]byte{}, e.Number, e.Canonical(content))
	}
	was := digest(washed())
	for what, change := range map[string]func(*ledger.Entry){
		"number":      func(e *ledger.Entry) { e.Number++ },
		"id":          func(e *ledger.Entry) { e.ID[15]++ },
		"kind":        func(e *ledger.Entry) { e.Kind = ledger.KindStocktake },
		"occurred_at": func(e *ledger.Entry) { e.OccurredAt = e.OccurredAt.Add(time.Microsecond) },
		"recorded_at": func(e *ledger.Entry) { e.RecordedAt = e.RecordedAt.Add(time.Microsecond) },
		"recorded_by": func(e *ledger.Entry) { e.RecordedBy = "Bo" },
		"replaces":    func(e *ledger.Entry) { e.Replaces[0]++ },
		"reason":      func(e *ledger.Entry) { e.Reason = "typed wrong" },
		"as_entered":  func(e *ledger.Entry) { e.AsEntered["with"] = "hot water" },
		"via":         func(e *ledger.Entry) { e.Via = ledger.ViaImport },
		"body":        func(e *ledger.Entry) { e.Body.(*ledger.Wash).With = "cold water" },
	} {
		e := washed()
		change(e)
		if digest(e) == was {
			t.Errorf("another %s gives the same digest", what)
		}
	}
}

// TestContentIsReadBackAsItWasWritten holds for every kind of entry, whatever
// is in it: the digest covers these bytes.
func TestContentIsReadBackAsItWasWritten(t *testing.T) {
	t.Parallel()
	for _, kind := range ledger.Kinds() {
		t.Run(string(kind), func(t *testing.T) {
			t.Parallel()
			rapid.Check(t, func(t *rapid.T) {
				e := &ledger.Entry{Number: 1, Kind: kind}
				if err := e.SetContent([]byte(`{"body":{}}`)); err != nil {
					t.Fatal(err)
				}
				fill(t, reflect.ValueOf(e.Body).Elem())
				e.AsEntered = map[string]string{rapid.String().Draw(t, "field"): rapid.String().Draw(t, "typed")}
				e.Via = ledger.Via(rapid.SampledFrom([]string{"", "paper", "import", "device"}).Draw(t, "via"))
				written, err := e.Content()
				if err != nil {
					t.Fatal(err)
				}
				read := &ledger.Entry{Number: 1, Kind: kind}
				if err := read.SetContent(written); err != nil {
					t.Fatal(err)
				}
				again, err := read.Content()
				if err != nil || !bytes.Equal(written, again) {
					t.Fatalf("read back as\n%s (%v), written as\n%s", again, err, written)
				}
				if !e.SameFact(read) {
					t.Fatal("an entry read back says something else")
				}
			})
		})
	}
}

// fill draws a value of any type that a body is made of.
func fill(t *rapid.T, v reflect.Value) {
	switch v.Type() {
	case reflect.TypeFor[ledger.ID]():
		v.Set(reflect.ValueOf(uuid.UUID(rapid.SliceOfN(rapid.Byte(), 16, 16).Draw(t, "id"))))
		return
	case reflect.TypeFor[json.RawMessage]():
		v.SetBytes([]byte(`{"dates":"day_first"}`))
		return
	case reflect.TypeFor[time.Time]():
		zone := time.FixedZone("", 60*rapid.IntRange(-14*60, 14*60).Draw(t, "zone"))
		v.Set(reflect.ValueOf(time.UnixMicro(rapid.Int64Range(0, 1<<52).Draw(t, "at")).In(zone)))
		return
	case reflect.TypeFor[standard.Decimal]():
		v.Set(reflect.ValueOf(standard.MustDecimal(rapid.StringMatching(`-?[0-9]{1,15}(\.[0-9]{1,15})?`).Draw(t, "decimal"))))
		return
	case reflect.TypeFor[standard.Date]():
		v.SetString(time.Unix(rapid.Int64Range(0, 1<<32).Draw(t, "on"), 0).UTC().Format(time.DateOnly))
		return
	case reflect.TypeFor[standard.Condition]():
		v.Set(reflect.ValueOf(standard.Condition{Not: &standard.Condition{Attribute: rapid.String().Draw(t, "attribute"), Only: []string{rapid.String().Draw(t, "value")}}}))
		return
	}
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			if v.Type().Field(i).IsExported() {
				fill(t, v.Field(i))
			}
		}
	case reflect.Pointer:
		if rapid.Bool().Draw(t, "there") {
			v.Set(reflect.New(v.Type().Elem()))
			fill(t, v.Elem())
		}
	case reflect.Slice:
		v.Set(reflect.MakeSlice(v.Type(), rapid.IntRange(0, 3).Draw(t, "length"), 3))
		for i := range v.Len() {
			fill(t, v.Index(i))
		}
	case reflect.Map:
		v.Set(reflect.ValueOf(standard.Declaration{rapid.String().Draw(t, "attribute"): {rapid.String().Draw(t, "value")}}))
	case reflect.String:
		v.SetString(rapid.String().Draw(t, "text"))
	case reflect.Bool:
		v.SetBool(rapid.Bool().Draw(t, "yes"))
	case reflect.Int, reflect.Int64:
		v.SetInt(rapid.Int64().Draw(t, "number"))
	case reflect.Float64:
		v.SetFloat(rapid.Float64().Draw(t, "figure"))
	default:
		t.Fatalf("a body has a %s, and this test cannot draw one", v.Type())
	}
}

func TestContentThatIsNoneIsRefused(t *testing.T) {
	t.Parallel()
	for _, in := range []struct {
		kind    ledger.Kind
		content string
	}{
		{ledger.KindWash, `{"body":null}`},
		{ledger.KindWash, `{"body":{"tank_id":"large"}}`},
		{ledger.KindWash, `{`},
		{"harvest moon", `{"body":{}}`},
	} {
		e := &ledger.Entry{Number: 1, Kind: in.kind}
		if err := e.SetContent([]byte(in.content)); err == nil {
			t.Errorf("a %s was read out of %s", in.kind, in.content)
		}
	}
}
