package form

import (
	"encoding/json"
	"net/url"
	"reflect"
	"testing"
	"time"

	"pgregory.net/rapid"

	"pullbook/api/entries"
	"pullbook/api/locale"
	"pullbook/api/request"
	"pullbook/domain/demo"
	"pullbook/domain/ledger"
)

// typedOf is what a browser sends of a form that nobody touched.
func typedOf(fields []*Field, into url.Values) {
	for _, f := range fields {
		switch f.Control {
		case "group", "list":
			typedOf(f.Fields, into)
		case "ticks":
			for _, o := range f.Options {
				if o.Chosen {
					into.Add(f.Name, o.Value)
				}
			}
		case "choice":
			chosen := ""
			for _, o := range f.Options {
				if o.Chosen {
					chosen = o.Value
				}
			}
			into.Set(f.Name, chosen)
		default:
			into.Set(f.Name, f.Value)
		}
	}
}

func TestAFormThatNobodyTouchedSaysWhatTheEntrySaid(t *testing.T) {
	t.Parallel()
	loc, err := time.LoadLocation("America/Winnipeg")
	if err != nil {
		t.Fatal(err)
	}
	by, err := request.RecordedBy()
	if err != nil {
		t.Fatal(err)
	}
	season := demo.Example(loc).Entries
	for i, e := range season {
		e.Number, e.RecordedAt = int64(i+1), e.OccurredAt
	}
	book, err := ledger.Open(loc, season)
	if err != nil {
		t.Fatal(err)
	}
	seen := map[ledger.Kind]int{}
	for e := range book.Entries {
		if e.Kind == ledger.KindWithdrawal || book.InForce(e.ID) == nil {
			continue
		}
		if seen[e.Kind]++; seen[e.Kind] > 6 {
			continue
		}
		for _, reader := range []struct{ region, units string }{{"en-GB", "metric"}, {"es-ES", "us"}, {"en-US", "us"}} {
			was, err := entries.Value(e)
			if err != nil {
				t.Fatal(err)
			}
			m := NewMaker(locale.NewVoice(locale.LanguageFor(reader.region), reader.units, loc), ThingsFor(book, by[e.Kind].Schema, was))
			typed := url.Values{}
			typedOf(m.Fields(by[e.Kind].Schema, was), typed)
			now := m.Answers(by[e.Kind].Schema, typed)
			m.Keep(was, now)
			for _, name := range besides {
				if name != "as_entered" {
					delete(was, name)
				}
			}
			if len(m.Errors) > 0 {
				t.Errorf("%s of %s in %s: %v", e.Kind, e.OccurredAt, reader.region, m.Errors)
			}
			if was, now := plainly(t, was), plainly(t, now); !reflect.DeepEqual(was, now) {
				t.Errorf("%s in %s, %s units: was\n%v\nand is\n%v", e.Kind, reader.region, reader.units, was, now)
			}
		}
	}
	if len(seen) < 20 {
		t.Errorf("only %d kinds were tried", len(seen))
	}
}

// plainly is a value with its times in one zone and its numbers as JSON has them.
func plainly(t *testing.T, value map[string]any) map[string]any {
	t.Helper()
	at, err := time.Parse(time.RFC3339Nano, value["occurred_at"].(string))
	if err != nil {
		t.Fatal(err)
	}
	data, err := json.Marshal(value)
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]any{}
	if err := json.Unmarshal(data, &out); err != nil {
		t.Fatal(err)
	}
	out["occurred_at"] = at.UTC().Format(time.RFC3339Nano)
	return out
}

func TestWhatAFormShowsIsReadBackAsItWas(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		f := locale.Voice{Language: locale.LanguageFor(rapid.SampledFrom([]string{"en-US", "es-ES", "es-MX", "en-GB"}).Draw(t, "region")), Mass: "kg"}
		v := float64(rapid.Int64Range(-1_000_000_000, 1_000_000_000).Draw(t, "thousandths")) / 1000
		got, err := f.Parse(NewMaker(f, Things{}).numberText("gross_kg", v))
		if err != nil || got != v {
			t.Fatalf("%v is read back as %v: %v", v, got, err)
		}
	})
}
