package request

import (
	"bytes"
	"encoding/json"
	"errors"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"github.com/labstack/echo/v4"

	"pullbook/domain/fault"
	"pullbook/openapi"
)

// bodyOf makes the empty body of what is recorded at an address.
var bodyOf = map[string]func() any{
	"/v1/seasons": func() any { return new(openapi.NewSeason) }, "/v1/yards": func() any { return new(openapi.NewYard) },
	"/v1/super-kinds": func() any { return new(openapi.NewSuperKind) }, "/v1/container-kinds": func() any { return new(openapi.NewContainerKind) },
	"/v1/rooms": func() any { return new(openapi.NewRoom) }, "/v1/tanks": func() any { return new(openapi.NewTank) },
	"/v1/instruments": func() any { return new(openapi.NewInstrument) }, "/v1/buyers": func() any { return new(openapi.NewBuyer) },
	"/v1/hive-counts": func() any { return new(openapi.NewHiveCount) }, "/v1/pulls": func() any { return new(openapi.NewPull) },
	"/v1/runs": func() any { return new(openapi.NewRun) }, "/v1/run-supers": func() any { return new(openapi.NewRunSupers) },
	"/v1/loads": func() any { return new(openapi.NewLoad) }, "/v1/run-ends": func() any { return new(openapi.NewRunEnd) },
	"/v1/movements": func() any { return new(openapi.NewMovement) }, "/v1/stocktakes": func() any { return new(openapi.NewStocktake) },
	"/v1/washes": func() any { return new(openapi.NewWash) }, "/v1/lots": func() any { return new(openapi.NewLot) },
	"/v1/fills": func() any { return new(openapi.NewFill) }, "/v1/readings": func() any { return new(openapi.NewReading) },
	"/v1/calibrations": func() any { return new(openapi.NewCalibration) }, "/v1/temperature-logs": func() any { return new(openapi.NewTemperatureLog) },
	"/v1/adopted-plans":       func() any { return new(openapi.NewAdoptedPlan) },
	"/v1/prepared-blends":     func() any { return new(openapi.NewPreparedBlend) },
	"/v1/contracts":           func() any { return new(openapi.NewContract) },
	"/v1/prepared-dispatches": func() any { return new(openapi.NewPreparedDispatch) }, "/v1/dispatches": func() any { return new(openapi.NewDispatch) }, "/v1/acceptances": func() any { return new(openapi.NewAcceptance) },
	"/v1/withdrawals": func() any { return new(openapi.NewWithdrawal) }, "/v1/rule-sets": func() any { return new(openapi.NewRuleSet) },
	"/v1/samples": func() any { return new(openapi.NewSample) }, "/v1/checks": func() any { return new(openapi.NewCheck) },
	"/v1/lot-statuses": func() any { return new(openapi.NewLotStatus) }, "/v1/settlements": func() any { return new(openapi.NewSettlement) },
}

// bind reads a body as the service does.
func (c *contract) bind(path string, body []byte, target any) error {
	ctx := echo.New().NewContext(httptest.NewRequest(http.MethodPost, path, bytes.NewReader(body)), httptest.NewRecorder())
	ctx.SetPath(path)
	return c.Bind(target, ctx)
}

// addBodies adds the contract's examples to what is fuzzed, and bodies that are like them.
func addBodies(f *testing.F) *contract {
	f.Helper()
	c, err := readContract()
	if err != nil {
		f.Fatal(err)
	}
	for path := range bodyOf {
		example := exampleOf(f, path)
		f.Add(path, example)
		f.Add(path, bytes.ReplaceAll(example, []byte(`:`), []byte(`:[`)))
		f.Add(path, bytes.ReplaceAll(example, []byte(`0`), []byte(`0,0`)))
		f.Add(path, bytes.ReplaceAll(example, []byte(`-`), []byte("\x00")))
	}
	for _, odd := range []string{"", " ", "null", "[]", "{}", `{"id":null}`, `{"id":{}}`, "\xff", `{"a":1e999}`, strings.Repeat("[", 20000), `{"load":3.0,"load":1e0}`, `"\ud800"`} {
		f.Add("/v1/loads", []byte(odd))
	}
	return c
}

// exampleOf returns the contract's example of what is recorded at an address.
func exampleOf(t testing.TB, path string) []byte {
	t.Helper()
	doc, err := openapi.Document()
	if err != nil {
		t.Fatal(err)
	}
	example, err := json.Marshal(doc.Paths.Value(path).Post.RequestBody.Value.Content["application/json"].Example)
	if err != nil {
		t.Fatal(err)
	}
	return example
}

// FuzzABodyIsReadWholeOrNotAtAll holds that any bytes are either explained as
// bad, or read as something that the contract has, whole.
func FuzzABodyIsReadWholeOrNotAtAll(f *testing.F) {
	c := addBodies(f)
	f.Fuzz(func(t *testing.T, path string, body []byte) {
		empty := bodyOf[path]
		if empty == nil {
			return
		}
		target := empty()
		err := c.bind(path, body, target)
		var explained *fault.Error
		switch {
		case err != nil && !errors.As(err, &explained):
			t.Fatalf("%s %q: %v", path, body, err)
		case err != nil && explained.Code != fault.Invalid && explained.Code != fault.Malformed:
			t.Fatalf("%s %q: %s, %v", path, body, explained.Code, err)
		case err != nil:
			return
		}
		again, err := json.Marshal(target)
		if err != nil {
			t.Fatalf("%s %q was read as what cannot be written: %v", path, body, err)
		}
		schema := c.bodies["POST "+path]
		value, err := ReadJSON(schema, again)
		if err != nil {
			t.Fatal(err)
		}
		if wrong := ComplaintsOf(schema, value); len(wrong.Fields) > 0 {
			t.Fatalf("%s %q was read as %s: %v", path, body, again, wrong.Fields)
		}
	})
}

func TestAWholeNumberMayBeWrittenWithAPoint(t *testing.T) {
	t.Parallel()
	c, err := readContract()
	if err != nil {
		t.Fatal(err)
	}
	for _, load := range []string{"3", "3.0", "3e0", "30E-1"} {
		var in openapi.NewLoad
		body := `{"id": "0198b1a0-0013-7000-8000-000000000013", "occurred_at": "2026-08-21T08:20:00-05:00", "run_id": "0198b1a0-0011-7000-8000-000000000011",
			"load": ` + load + `, "frames_left": 29, "frames_right": 29}`
		if err := c.bind("/v1/loads", []byte(body), &in); err != nil || in.Load != 3 {
			t.Errorf("load %s was read as %d, %v", load, in.Load, err)
		}
	}
}

func TestEveryBodyOfTheContractIsFuzzed(t *testing.T) {
	t.Parallel()
	doc, err := openapi.Document()
	if err != nil {
		t.Fatal(err)
	}
	for path, item := range doc.Paths.Map() {
		if item.Post != nil && strings.HasPrefix(item.Post.OperationID, "record") && bodyOf[path] == nil {
			t.Errorf("what is recorded at %s is not fuzzed", path)
		}
	}
}

func TestARequestThatPanicsEndsAlone(t *testing.T) {
	t.Parallel()
	var log bytes.Buffer
	s := &Service{Config: DefaultConfig()}
	s.Log = slog.New(slog.NewTextHandler(&log, nil))
	e := echo.New()
	e.HTTPErrorHandler = s.Problem
	e.Use(s.RequestID, s.Recover)
	e.GET("/", func(echo.Context) error { panic("a drum rolled over") })
	got := httptest.NewRecorder()
	e.ServeHTTP(got, httptest.NewRequest(http.MethodGet, "/", nil))
	if got.Code != http.StatusInternalServerError || strings.Contains(got.Body.String(), "drum") {
		t.Errorf("%d %s", got.Code, got.Body)
	}
	if id := got.Header().Get(echo.HeaderXRequestID); !strings.Contains(log.String(), id) || !strings.Contains(log.String(), "a drum rolled over") {
		t.Errorf("the log does not say what happened to request %s: %s", id, &log)
	}
}
