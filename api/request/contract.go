package request

import (
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"net/http"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"time"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/go-playground/validator/v10"
	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"pullbook/domain/fault"
	"pullbook/domain/message"
	"pullbook/openapi"
)

// contract holds requests against openapi.yaml, so that what the contract says
// and what the service accepts cannot drift apart.
type contract struct {
	// bodies and parameters are by method and route.
	bodies     map[string]*openapi3.Schema
	parameters map[string]map[string]*openapi3.Schema
	// operations are by method and route.
	operations map[string]routeSettings
	// ImportMapping is the form of a part of a form.
	ImportMapping *openapi3.Schema
	validate      *validator.Validate
	straight      straightWays
}

func readContract() (*contract, error) {
	doc, err := openapi.Document()
	if err != nil {
		return nil, fmt.Errorf("openapi.yaml: %w", err)
	}
	c := &contract{bodies: map[string]*openapi3.Schema{}, parameters: map[string]map[string]*openapi3.Schema{},
		operations: map[string]routeSettings{}, validate: validator.New(),
		ImportMapping: doc.Components.Schemas["ImportMapping"].Value}
	c.validate.RegisterTagNameFunc(func(f reflect.StructField) string {
		name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		return name
	})
	for path, item := range doc.Paths.Map() {
		route := pathParameter.ReplaceAllString(path, ":$1")
		for method, op := range item.Operations() {
			key := method + " " + route
			if c.operations[key], err = OperationSettings(path, op); err != nil {
				return nil, fmt.Errorf("openapi.yaml: %w", err)
			}
			if op.RequestBody != nil && op.RequestBody.Value.Content["application/json"] != nil {
				c.bodies[key] = op.RequestBody.Value.Content["application/json"].Schema.Value
			}
			known := map[string]*openapi3.Schema{}
			for _, p := range op.Parameters {
				if p.Value.In == openapi3.ParameterInQuery {
					known[p.Value.Name] = p.Value.Schema.Value
				}
			}
			c.parameters[key] = known
		}
	}
	return c, nil
}

// ParametersOf lists what may stand in the query of a route that is read, in no order; nothing
// where the contract has no such route.
func (c *contract) ParametersOf(route string) []string {
	return slices.Collect(maps.Keys(c.parameters[http.MethodGet+" "+route]))
}

var pathParameter = regexp.MustCompile(`\{(\w+)\}`)

// Bind reads a request's body into target, whole or not at all. It implements
// echo.Binder.
func (c *contract) Bind(target any, ctx echo.Context) error {
	schema := c.bodies[ctx.Request().Method+" "+ctx.Path()]
	if schema == nil {
		return fmt.Errorf("%s %s has no body in the contract", ctx.Request().Method, ctx.Path())
	}
	body, err := wholeBody(ctx.Request())
	if tooLarge := new(http.MaxBytesError); errors.As(err, &tooLarge) {
		return err
	} else if err != nil {
		return fault.New(fault.Malformed, "The body did not arrive whole. Send it again with the same id.")
	}
	return c.BindBody(target, schema, body)
}

// BindBody reads a body that a schema of the contract is for into target, whole or not at all.
func (c *contract) BindBody(target any, schema *openapi3.Schema, body []byte) error {
	if !c.straight.read(target, schema, body) {
		if err := readByValue(target, schema, body); err != nil {
			return err
		}
	}
	if err := c.validate.Struct(target); err != nil {
		return Invalid(ruleComplaints(err))
	}
	return nil
}

// readByValue reads a body that the straight way does not take, or says what is wrong
// with it.
func readByValue(target any, schema *openapi3.Schema, body []byte) error {
	value, err := ReadJSON(schema, body)
	if err != nil {
		return err
	}
	if wrong := ComplaintsOf(schema, value); len(wrong.Fields) > 0 {
		return Invalid(wrong)
	}
	if err := Unmarshal(body, value, target); err != nil {
		return fault.New(fault.Invalid, "The body could not be read: %s.", err)
	}
	return nil
}

// holds reports whether a value is as a schema has it.
func holds(schema *openapi3.Schema, value any) bool {
	return visit(schema, value, openapi3.FailFast()) == nil
}

// visit says what a schema finds wrong with a value, first of all.
func visit(schema *openapi3.Schema, value any, how ...openapi3.SchemaValidationOption) error {
	return schema.VisitJSON(value, append(how, openapi3.VisitAsRequest(),
		openapi3.EnableFormatValidation(), openapi3.WithStringFormatValidator("uuid", openapi3.NewCallbackValidator(ProperUUID)),
		openapi3.WithStringFormatValidator("date-time", openapi3.NewCallbackValidator(properTime)))...)
}

// properTime refuses what is written like a time and is none that a body is read as,
// such as a leap second.
func properTime(text string) error { return new(time.Time).UnmarshalText([]byte(text)) }

// ProperUUID refuses the UUID of nothing but zeros, which stands for none.
func ProperUUID(text string) error {
	if id, err := uuid.Parse(text); err != nil || len(text) != len(id.String()) || id == uuid.Nil {
		return errors.New("not a UUID")
	}
	return nil
}

// Unmarshal reads a body whose value holds by its schema. The schema takes 3.0
// or 3e0 for the whole number that it is; Go does so only as 3.
func Unmarshal(body []byte, value, target any) error {
	err := json.Unmarshal(body, target)
	if kind := new(json.UnmarshalTypeError); !errors.As(err, &kind) {
		return err
	}
	plainly, err := json.Marshal(value)
	if err != nil {
		return err
	}
	return json.Unmarshal(plainly, target)
}

// Invalid returns the refusal of a body in which something is wrong.
func Invalid(wrong complaints) error {
	return &fault.Error{Code: fault.Invalid, Message: message.F("Nothing was stored: the body does not match the contract."), Fields: wrong.Fields, More: wrong.more}
}
