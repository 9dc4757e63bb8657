package request

import (
	"bytes"
	"errors"
	"io"
	"net/http"
	"reflect"
	"strings"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"
)

// FuzzTheStraightWayReadsAsTheOtherDoes holds that what is read straight is read as the same
// by way of a value, and that what is not read straight leaves nothing behind.
func FuzzTheStraightWayReadsAsTheOtherDoes(f *testing.F) {
	c := addBodies(f)
	f.Fuzz(func(t *testing.T, path string, body []byte) { c.readBothWays(t, path, body) })
}

func TestTheStraightWayReadsWhatIsLikeAnExampleAsTheOtherDoes(t *testing.T) {
	t.Parallel()
	c, err := readContract()
	if err != nil {
		t.Fatal(err)
	}
	read := 0
	for path := range bodyOf {
		for _, like := range likenesses(exampleOf(t, path)) {
			if c.readBothWays(t, path, like) {
				read++
			}
		}
	}
	if read < 100 {
		t.Errorf("only %d of the bodies were read straight", read)
	}
}

// readBothWays reads a body straight and by way of a value, and reports whether it was read
// straight.
func (c *contract) readBothWays(t *testing.T, path string, body []byte) bool {
	empty := bodyOf[path]
	if empty == nil {
		return false
	}
	schema := c.bodies["POST "+path]
	straight, other := empty(), empty()
	if !c.straight.read(straight, schema, body) {
		if !reflect.ValueOf(straight).Elem().IsZero() {
			t.Errorf("%s %q was not read straight, and left %+v", path, body, straight)
		}
		return false
	}
	if err := readByValue(other, schema, body); err != nil {
		t.Errorf("%s %q was read straight as %+v, and otherwise refused: %v", path, body, straight, err)
	} else if !reflect.DeepEqual(straight, other) {
		t.Errorf("%s %q was read straight as %+v, and otherwise as %+v", path, body, straight, other)
	}
	return true
}

// likenesses are bodies with one value of a good one changed into each of several.
func likenesses(body []byte) (out [][]byte) {
	for from := 0; ; {
		colon := bytes.IndexByte(body[from:], ':')
		if colon < 0 {
			return out
		}
		from += colon + 1
		end := from + bytes.IndexAny(body[from:], ",}]")
		if end < from {
			continue
		}
		for _, value := range []string{"null", "true", "-0", "0.0", "3.0", "1e-400", "1e6", "9007199254740993", `""`, `"a"`, `"\u00e9"`, `"\u200b"`, `"é"`, "{}", "[]", `{"a":"b"}`, `["a"]`,
			`"2026-08-21"`, `"2026-02-30"`, `"2026-08-21T14:30:60Z"`, `"2026-08-21T14:30:00.123456789+14:00"`, `"00000000-0000-0000-0000-000000000000"`, `"` + strings.Repeat("é", 300) + `"`} {
			out = append(out, append(append(append([]byte{}, body[:from]...), value...), body[end:]...))
		}
	}
}

// What nobody records often goes the other way: a rule set's conditions stand in each other.
func TestTheBodiesOfTheContractAreReadStraight(t *testing.T) {
	t.Parallel()
	c, err := readContract()
	if err != nil {
		t.Fatal(err)
	}
	for path, empty := range bodyOf {
		target := empty()
		if got, want := c.straight.read(target, c.bodies["POST "+path], exampleOf(t, path)), path != "/v1/rule-sets"; got != want {
			t.Errorf("the example of %s is read straight: %v", path, got)
		}
	}
}

// Each rule of a schema by itself: what keeps it is read straight, and what breaks it is
// left to the other way.
func TestTheStraightWayHoldsToTheSchema(t *testing.T) {
	t.Parallel()
	type thing struct {
		Name string             `json:"name"`
		Mass *float64           `json:"mass"`
		Hive int                `json:"hives"`
		Tags *[]string          `json:"tags"`
		Said *map[string]string `json:"said"`
		By   string             `json:"by"`
	}
	schema := openapi3.NewObjectSchema().WithoutAdditionalProperties().
		WithProperty("name", openapi3.NewStringSchema().WithMinLength(2).WithMaxLength(4).WithPattern(`^\S+$`)).
		WithProperty("mass", openapi3.NewFloat64Schema().WithMin(1).WithMax(9)).
		WithProperty("hives", openapi3.NewInt64Schema().WithMin(1)).
		WithProperty("tags", openapi3.NewArraySchema().WithMinItems(1).WithMaxItems(2).WithItems(openapi3.NewStringSchema())).
		WithProperty("said", openapi3.NewObjectSchema().WithMaxProperties(1).WithAdditionalProperties(openapi3.NewStringSchema())).
		WithProperty("by", openapi3.NewStringSchema().WithEnum("hand", "scale")).
		WithRequired([]string{"name"})
	for body, want := range map[string]bool{
		`{"name":"drum"}`: true, ` { "name" : "drum" } `: true, `{"name":"ééé"}`: true, `{"name":"d"}`: false, `{"name":"drums"}`: false, `{"name":"d r"}`: false, `{}`: false, `{"name":null}`: false, `{"name":7}`: false,
		`{"name":"drum","mass":1}`: true, `{"name":"drum","mass":9.0}`: true, `{"name":"drum","mass":0.9}`: false, `{"name":"drum","mass":9.1}`: false, `{"name":"drum","mass":"4"}`: false, `{"name":"drum","mass":1e999}`: false,
		`{"name":"drum","hives":3}`: true, `{"name":"drum","hives":3.0}`: false, `{"name":"drum","hives":0}`: false, `{"name":"drum","hives":99999999999999999999}`: false,
		`{"name":"drum","tags":["a","b"]}`: true, `{"name":"drum","tags":[]}`: false, `{"name":"drum","tags":["a","b","c"]}`: false, `{"name":"drum","tags":["a",1]}`: false,
		`{"name":"drum","said":{"a":"b"}}`: true, `{"name":"drum","said":{}}`: true, `{"name":"drum","said":{"a":"b","c":"d"}}`: false, `{"name":"drum","said":{"a":"b","a":"d"}}`: false, `{"name":"drum","said":{"a\u200b":"b"}}`: false,
		`{"name":"drum","by":"scale"}`: true, `{"name":"drum","by":"guess"}`: false,
		`{"name":"drum","name":"pail"}`: false, `{"name":"drum","colour":"red"}`: false, `{"Name":"drum"}`: false, `{"name":"dr\u200b"}`: false, `{"name":"drum"`: false, `{"name":"drum"} {}`: false, `[]`: false, ``: false, "{\"name\":\"\xff\xff\"}": false,
	} {
		var straight, other thing
		got := new(straightWays).read(&straight, schema, []byte(body))
		if got != want {
			t.Errorf("%s is read straight: %v", body, got)
		}
		if err := readByValue(&other, schema, []byte(body)); got && (err != nil || !reflect.DeepEqual(straight, other)) {
			t.Errorf("%s is read straight as %+v, and otherwise as %+v, %v", body, straight, other, err)
		}
	}
}

// A schema that asks what the straight way does not know is left to the other way.
func TestARuleThatTheStraightWayDoesNotKnowIsNotPassedOver(t *testing.T) {
	t.Parallel()
	for name, schema := range map[string]*openapi3.Schema{
		"exclusiveMinimum": openapi3.NewFloat64Schema().WithMin(1).WithExclusiveMin(true),
		"multipleOf":       {Type: &openapi3.Types{"number"}, MultipleOf: openapi3.Ptr(2.0)},
		"not":              {Type: &openapi3.Types{"number"}, Not: openapi3.NewSchemaRef("", openapi3.NewFloat64Schema().WithMax(9))},
		"oneOf":            openapi3.NewOneOfSchema(openapi3.NewFloat64Schema(), openapi3.NewStringSchema()),
		"an enum":          {Type: &openapi3.Types{"number"}, Enum: []any{1.0}},
	} {
		var x float64
		if new(straightWays).read(&x, schema, []byte("3")) {
			t.Errorf("%s is passed over", name)
		}
	}
}

// trickle is a body that comes byte by byte.
type trickle struct{ io.Reader }

func (t trickle) Read(into []byte) (int, error) { return t.Reader.Read(into[:min(len(into), 1)]) }

func TestABodyIsReadWholeWhateverLengthItSays(t *testing.T) {
	t.Parallel()
	long := strings.Repeat("honey ", mostAtOnce/4)
	for _, says := range []int64{-1, 0, 3, int64(len(long)), 1 << 40} {
		got, err := readWhole(&http.Request{ContentLength: says, Body: io.NopCloser(trickle{strings.NewReader(long)})})
		if err != nil || string(got) != long {
			t.Errorf("a body that says it has %d bytes: %d of %d, %v", says, len(got), len(long), err)
		}
	}
	if _, err := readWhole(&http.Request{Body: io.NopCloser(io.MultiReader(strings.NewReader("ho"), errorReader{}))}); !errors.Is(err, errTorn) {
		t.Errorf("a body that breaks off: %v", err)
	}
}

var errTorn = errors.New("torn")

type errorReader struct{}

func (errorReader) Read([]byte) (int, error) { return 0, errTorn }

// BenchmarkReadABody reads the contract's examples both ways.
func BenchmarkReadABody(b *testing.B) {
	c, err := readContract()
	if err != nil {
		b.Fatal(err)
	}
	for _, path := range []string{"/v1/readings", "/v1/pulls", "/v1/fills"} {
		schema, body := c.bodies["POST "+path], exampleOf(b, path)
		b.Run(path[len("/v1/"):]+"/straight", func(b *testing.B) {
			for b.Loop() {
				if !c.straight.read(bodyOf[path](), schema, body) {
					b.Fatal("not read straight")
				}
			}
		})
		b.Run(path[len("/v1/"):]+"/by value", func(b *testing.B) {
			for b.Loop() {
				if err := readByValue(bodyOf[path](), schema, body); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
