package api_test

import (
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"
)

// calculatorExample is a question of the contract's with its answer.
type calculatorExample struct {
	operation
	name   string
	query  string
	body   []byte
	answer any
}

// calculatorExamples joins the questions and answers that have the same name. A
// parameter with one example has it in every question.
func calculatorExamples(t *testing.T) []calculatorExample {
	t.Helper()
	var out []calculatorExample
	for _, op := range operations(t) {
		if !isCalculator(op) {
			continue
		}
		answers := op.Responses.Status(http.StatusOK).Value.Content["application/json"].Examples
		if len(answers) == 0 {
			t.Errorf("%s has no example", op.path)
		}
		for _, name := range slices.Sorted(maps.Keys(answers)) {
			e := calculatorExample{operation: op, name: name, query: exampleQuery(op.Parameters, name), answer: answers[name].Value.Value}
			if op.RequestBody != nil {
				question := op.RequestBody.Value.Content["application/json"].Examples[name]
				if question == nil {
					t.Errorf("%s: nothing asks for the answer %s", op.path, name)
					continue
				}
				var err error
				if e.body, err = json.Marshal(question.Value.Value); err != nil {
					t.Fatal(err)
				}
			}
			out = append(out, e)
		}
	}
	return out
}

func isCalculator(op operation) bool { return strings.HasPrefix(op.path, "/v1/calculators/") }

func exampleQuery(parameters openapi3.Parameters, name string) string {
	query := url.Values{}
	for _, p := range parameters {
		value := p.Value.Example
		if e := p.Value.Examples[name]; e != nil {
			value = e.Value.Value
		}
		if list, ok := value.([]any); ok {
			texts := make([]string, len(list))
			for i, x := range list {
				texts[i] = fmt.Sprint(x)
			}
			value = strings.Join(texts, ",")
		}
		if value != nil {
			query.Set(p.Value.Name, fmt.Sprint(value))
		}
	}
	if len(query) == 0 {
		return ""
	}
	return "?" + query.Encode()
}

func (e calculatorExample) ask(t *testing.T, o *outfit) reply {
	t.Helper()
	return o.send(t, e.method, e.path+e.query, o.reader, e.body)
}

func TestTheCalculatorsOfTheContractAnswerAsItsExamplesSay(t *testing.T) {
	t.Parallel()
	o := openHouse(t).newOutfit(t, "Fern Gully Honey")
	before := o.head(t)
	examples := calculatorExamples(t)
	if len(examples) < 21 {
		t.Errorf("only %d examples", len(examples))
	}
	for _, e := range examples {
		r := e.ask(t, o)
		if r.status != http.StatusOK {
			t.Errorf("%s %s: %d %s", e.path, e.name, r.status, r.raw)
			continue
		}
		if differ := difference("", e.answer, as[any](t, r)); differ != "" {
			t.Errorf("%s %s: %s\ncame: %s", e.path, e.name, differ, r.raw)
		}
	}
	if o.head(t) != before {
		t.Error("a calculator has written in the book")
	}
}

// difference says where two answers differ, numbers by more than the last digit
// that is sent.
func difference(at string, want, got any) string {
	switch w := want.(type) {
	case float64:
		if g, ok := got.(float64); ok && math.Abs(g-w) <= 1e-6*math.Max(math.Abs(w), math.Abs(g)) {
			return ""
		}
	case []any:
		g, ok := got.([]any)
		if !ok || len(g) != len(w) {
			return fmt.Sprintf("%s: want %v, got %v", at, want, got)
		}
		for i := range w {
			if d := difference(fmt.Sprintf("%s/%d", at, i), w[i], g[i]); d != "" {
				return d
			}
		}
		return ""
	case map[string]any:
		g, ok := got.(map[string]any)
		if !ok || len(g) != len(w) {
			return fmt.Sprintf("%s: want %v, got %v", at, want, got)
		}
		for _, name := range slices.Sorted(maps.Keys(w)) {
			if d := difference(at+"/"+name, w[name], g[name]); d != "" {
				return d
			}
		}
		return ""
	default:
		if want == got {
			return ""
		}
	}
	return fmt.Sprintf("%s: want %v, got %v", at, want, got)
}
