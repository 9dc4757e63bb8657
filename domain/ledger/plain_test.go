package ledger_test

import (
	"reflect"
	"strings"
	"testing"
	"time"

	"pullbook/domain/demo"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// asAnyJSON is an entry whose content is read as any JSON is, because of a space before it.
func asAnyJSON(kind ledger.Kind, content []byte) (*ledger.Entry, error) {
	e := &ledger.Entry{Kind: kind, OccurredAt: time.Unix(0, 0).UTC(), RecordedAt: time.Unix(0, 0).UTC()}
	return e, e.SetContent(append([]byte{' '}, content...))
}

func asItIs(kind ledger.Kind, content []byte) (*ledger.Entry, error) {
	e := &ledger.Entry{Kind: kind, OccurredAt: time.Unix(0, 0).UTC(), RecordedAt: time.Unix(0, 0).UTC()}
	return e, e.SetContent(content)
}

// readAlike fails where content says something else by the quick way than by that of any JSON.
func readAlike(t *testing.T, kind ledger.Kind, content []byte) {
	t.Helper()
	want, wrong := asAnyJSON(kind, content)
	got, refused := asItIs(kind, content)
	if (wrong == nil) != (refused == nil) {
		t.Errorf("%s %s: any JSON gives %v, and it as it is %v", kind, content, wrong, refused)
	}
	if wrong == nil && refused == nil && !reflect.DeepEqual(got, want) {
		t.Errorf("%s %s is read as\n%+v\nand as any JSON as\n%+v", kind, content, got.Body, want.Body)
	}
}

func TestNearlyAllOfABookIsReadTheQuickWayAndNothingOtherwise(t *testing.T) {
	entries := append(ledgertest.Large(3000, 5), demo.Example(time.UTC).Recorded()...)
	slow := map[ledger.Kind]int{}
	for _, e := range entries {
		content, err := e.Content()
		if err != nil {
			t.Fatal(err)
		}
		readAlike(t, e.Kind, content)
		if !ledger.IsPlain(e.Kind, content) {
			slow[e.Kind]++
		}
	}
	all := 0
	for _, n := range slow {
		all += n
	}
	if all*50 > len(entries) {
		t.Errorf("of %d entries these are not read the quick way: %v", len(entries), slow)
	}
}

// What is written otherwise than the book writes it is read as any JSON is, or refused.
func TestWhatIsNotPlainIsReadAsAnyJSON(t *testing.T) {
	const id = `"10000000-0000-4000-8000-000000000002"`
	for kind, contents := range map[ledger.Kind][]string{
		ledger.KindLoad: {
			`{"body":{"run_id":` + id + `,"load":1,"frames_left":30,"frames_right":30}}`,
			`{"body":{"load":1,"run_id":` + id + `,"frames_left":30,"frames_right":30}}`,
			`{"body":{"run_id":` + id + `,"load":1,"load":2}}`, `{"body":{"run_id":` + id + `,"load":1.0}}`, `{"body":{"run_id":` + id + `,"load":1e3}}`,
			`{"body":{"run_id":` + id + `,"load":01}}`, `{"body":{"run_id":` + id + `,"load":-0}}`, `{"body":{"run_id":` + id + `,"load":-}}`,
			`{"body":{"run_id":` + id + `,"load":9223372036854775807}}`, `{"body":{"run_id":` + id + `,"load":9223372036854775808}}`,
			`{"body":{"run_id":` + strings.ToUpper(strings.ReplaceAll(id, "1", "a")) + `}}`, `{"body":{"run_id":"urn:uuid:10000000-0000-4000-8000-000000000002"}}`, `{"body":{"run_id":"10000000000040008000000000000002"}}`,
			`{"body":{"run_id":null}}`, `{"body":{}}`, `{"body":{},}`, `{"body":{,}}`, `{"body":null}`, `{}`, ``, `{"body":{"run_id":` + id + `,}}`,
			`{"body":{"note":"a\tb"}}`, "{\"body\":{\"note\":\"a\tb\"}}", `{"body":{"note":"añil"}}`, "{\"body\":{\"note\":\"\xff\"}}", `{"body":{"note":""}}`, `{"body":{"note":"}}`,
			`{"body":{"unknown":1}}`, `{"body":{"load":1}} `, `{"body":{"load":1}}x`, `{"body":{"load":"1"}}`, `{"body":{"load":1`, `{"body":{"LOAD":1}}`,
			`{"body":{"load":1},"as_entered":{"load":"one"}}`, `{"body":{"load":1},"as_entered":{"a":"1","a":"2"}}`, `{"body":{"load":1},"as_entered":{}}`, `{"body":{"load":1},"as_entered":{"a":null}}`,
			`{"body":{"load":1},"as_entered":{"a":"1","b":"2"},"via":"paper"}`, `{"body":{"load":1},"via":"import"}`, `{"body":{"load":1},"via":1}`, `{"via":"paper","body":{"load":1}}`,
		},
		ledger.KindReading: {
			`{"body":{"on":{"kind":"tank","id":` + id + `},"moisture":{"as_read":17.5}}}`, `{"body":{"on":{"kind":"tank","id":` + id + `},"moisture":null}}`,
			`{"body":{"moisture":{"as_read":1e999}}}`, `{"body":{"moisture":{"as_read":-0}}}`, `{"body":{"moisture":{"as_read":1.}}}`, `{"body":{"moisture":{"as_read":.5}}}`, `{"body":{"moisture":{"as_read":1.5e+2}}}`,
			`{"body":{"analysed_on":"2026-08-05"}}`, `{"body":{"analysed_on":"soon"}}`, `{"body":{"measured":[]}}`, `{"body":{"measured":[{}]}}`, `{"body":{"measured":[{},]}}`, `{"body":{"granulated":true}}`, `{"body":{"granulated":tru}}`,
		},
		ledger.KindTemperatureLog: {
			`{"body":{"points":[{"at":"2026-08-05T10:00:00Z","temperature_c":30},{"at":"2026-08-05T10:00:00.25Z","temperature_c":30.5,"humidity_pct":40}],"held":false}}`,
			`{"body":{"points":[{"at":"2026-08-05T10:00:00+02:00","temperature_c":30}]}}`, `{"body":{"points":[{"at":"2026-08-05 10:00:00Z"}]}}`, `{"body":{"points":[{"at":"2026-08-05T24:00:00Z"}]}}`,
			`{"body":{"points":[{"at":"2026-08-05T10:00:00,5Z"}]}}`, `{"body":{"points":[{"at":"2026-8-5T1:00:00Z"}]}}`, `{"body":{"points":[{"at":"Z"}]}}`, `{"body":{"points":[{"at":""}]}}`,
		},
		ledger.KindRunSupers:  {`{"body":{"run_id":` + id + `,"pull_id":` + id + `,"super_kind_id":` + id + `,"supers":12}}`},
		ledger.KindUnreadable: {`{"body":{}}`},
		"no kind":             {`{"body":{}}`},
	} {
		for _, content := range contents {
			readAlike(t, kind, []byte(content))
		}
	}
}

// FuzzPlain reads whatever stands for an entry's content both ways.
func FuzzPlain(f *testing.F) {
	for _, e := range ledgertest.Large(200, 3) {
		content, err := e.Content()
		if err != nil {
			f.Fatal(err)
		}
		f.Add(string(e.Kind), content)
	}
	f.Fuzz(func(t *testing.T, kind string, content []byte) { readAlike(t, ledger.Kind(kind), content) })
}

// BenchmarkSetContent reads the contents of a book, nearly all of them the quick way.
func BenchmarkSetContent(b *testing.B) {
	entries := ledgertest.Large(10_000, 1)
	contents := make([][]byte, len(entries))
	for i, e := range entries {
		contents[i], _ = e.Content()
	}
	for name, before := range map[string]string{"plain": "", "any": " "} {
		b.Run(name, func(b *testing.B) {
			in := make([][]byte, len(contents))
			for i, c := range contents {
				in[i] = append([]byte(before), c...)
			}
			b.ReportAllocs()
			for i := 0; b.Loop(); i++ {
				e := &ledger.Entry{Kind: entries[i%len(in)].Kind}
				if err := e.SetContent(in[i%len(in)]); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
