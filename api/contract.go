package api

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"net/http"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/go-playground/validator/v10"
	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"pullbook/domain/fault"
	"pullbook/domain/say"
	"pullbook/openapi"
)

// contract holds requests against openapi.yaml, so that what the contract says
// and what the service accepts cannot drift apart.
type contract struct {
	// bodies and parameters are by method and route.
	bodies     map[string]*openapi3.Schema
	parameters map[string]map[string]*openapi3.Schema
	// importMapping is the form of a part of a form.
	importMapping *openapi3.Schema
	validate      *validator.Validate
}

func readContract() (*contract, error) {
	doc, err := openapi.Document()
	if err != nil {
		return nil, fmt.Errorf("openapi.yaml: %w", err)
	}
	c := &contract{bodies: map[string]*openapi3.Schema{}, parameters: map[string]map[string]*openapi3.Schema{}, validate: validator.New(),
		importMapping: doc.Components.Schemas["ImportMapping"].Value}
	c.validate.RegisterTagNameFunc(func(f reflect.StructField) string {
		name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		return name
	})
	for path, item := range doc.Paths.Map() {
		route := pathParameter.ReplaceAllString(path, ":$1")
		for method, op := range item.Operations() {
			key := method + " " + route
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

var pathParameter = regexp.MustCompile(`\{(\w+)\}`)

// Bind reads a request's body into target, whole or not at all. It implements
// echo.Binder.
func (c *contract) Bind(target any, ctx echo.Context) error {
	schema := c.bodies[ctx.Request().Method+" "+ctx.Path()]
	if schema == nil {
		return fmt.Errorf("%s %s has no body in the contract", ctx.Request().Method, ctx.Path())
	}
	body, err := io.ReadAll(ctx.Request().Body)
	if tooLarge := new(http.MaxBytesError); errors.As(err, &tooLarge) {
		return err
	} else if err != nil {
		return fault.New(fault.Malformed, "The body did not arrive whole. Send it again with the same id.")
	}
	value, err := readJSON(body)
	if err != nil {
		return err
	}
	if err := holds(schema, value); err != nil {
		return invalid(schemaFields(err))
	}
	if fields := unprintable("", value); len(fields) > 0 {
		return invalid(fields)
	}
	if err := unmarshal(body, value, target); err != nil {
		return fault.New(fault.Invalid, "The body could not be read: %s.", err)
	}
	if err := c.validate.Struct(target); err != nil {
		return invalid(ruleFields(err))
	}
	return nil
}

// holds says what of a value is not as a schema has it.
func holds(schema *openapi3.Schema, value any) error {
	return schema.VisitJSON(value, openapi3.MultiErrors(), openapi3.VisitAsRequest(),
		openapi3.EnableFormatValidation(), openapi3.WithStringFormatValidator("uuid", openapi3.NewCallbackValidator(properUUID)))
}

// properUUID refuses the UUID of nothing but zeros, which stands for none.
func properUUID(text string) error {
	if id, err := uuid.Parse(text); err != nil || len(text) != len(id.String()) || id == uuid.Nil {
		return errors.New("not a UUID")
	}
	return nil
}

// unmarshal reads a body whose value holds by its schema. The schema takes 3.0
// or 3e0 for the whole number that it is; Go does so only as 3.
func unmarshal(body []byte, value, target any) error {
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

// unprintable points at text that holds a NUL, which the database cannot keep.
func unprintable(at string, value any) (fields []fault.Field) {
	switch x := value.(type) {
	case string:
		if strings.ContainsRune(x, 0) {
			fields = append(fields, fault.Field{Pointer: at, Sent: sent(x), Message: say.F("This holds a character that cannot be kept (U+0000): leave it out.")})
		}
	case []any:
		for i, v := range x {
			fields = append(fields, unprintable(fmt.Sprintf("%s/%d", at, i), v)...)
		}
	case map[string]any:
		for _, name := range slices.Sorted(maps.Keys(x)) {
			within := at + "/" + escape.Replace(name)
			fields = append(fields, unprintable(within, x[name])...)
			if strings.ContainsRune(name, 0) {
				fields = append(fields, unprintable(within, name)...)
			}
		}
	}
	return fields
}

func invalid(fields []fault.Field) error {
	return &fault.Error{Code: fault.Invalid, Message: say.F("Nothing was stored: the body is not as the contract has it."), Fields: fields}
}

// readJSON reads exactly one JSON value.
func readJSON(body []byte) (any, error) {
	if len(strings.TrimSpace(string(body))) == 0 {
		return nil, fault.New(fault.Malformed, "The body is empty; one JSON object is needed.")
	}
	var value any
	err := json.Unmarshal(body, &value)
	if err == nil {
		return value, nil
	}
	detail := err.Error()
	var syntax *json.SyntaxError
	if errors.As(err, &syntax) {
		detail = fmt.Sprintf("%s at byte %d", strings.TrimPrefix(syntax.Error(), "json: "), syntax.Offset)
		if number := commaNumber.FindString(around(body, syntax.Offset)); number != "" {
			detail += fmt.Sprintf("; %s looks like a number with a comma: write %s", number, strings.Replace(number, ",", ".", 1))
		}
	}
	return nil, fault.New(fault.Malformed, "The body is not JSON: %s.", detail)
}

var commaNumber = regexp.MustCompile(`\d+,\d+`)

// around is the text near an offset.
func around(body []byte, offset int64) string {
	const near = 12
	return string(body[max(0, offset-near):min(int64(len(body)), offset+near)])
}

// knownParameters refuses a query parameter that the contract has not got: a
// filter with a slip in its name would otherwise answer with everything.
func (s *Server) knownParameters(next echo.HandlerFunc) echo.HandlerFunc {
	return func(ctx echo.Context) error {
		known, ours := s.contract.parameters[ctx.Request().Method+" "+ctx.Path()]
		if !ours {
			return next(ctx)
		}
		var fields []fault.Field
		for name, values := range ctx.QueryParams() {
			if wrong := wrongParameter(known, name, values); !wrong.IsEmpty() {
				field := fault.Field{Pointer: "query:" + name, Sent: sent(values[0]), Message: wrong}
				if name == keyParameter {
					field.Sent = nil // a secret
				}
				fields = append(fields, field)
			}
		}
		if len(fields) > 0 {
			slices.SortFunc(fields, func(a, b fault.Field) int { return strings.Compare(a.Pointer, b.Pointer) })
			return &fault.Error{Code: fault.Invalid, Message: say.F("A parameter cannot be used."), Fields: fields}
		}
		return next(ctx)
	}
}

// wrongParameter says what would do instead of a parameter that will not do.
func wrongParameter(known map[string]*openapi3.Schema, name string, values []string) say.Text {
	schema := known[name]
	switch {
	case schema == nil && len(known) == 0:
		return say.F("There is no such parameter here, nor any other.")
	case schema == nil:
		return say.F("There is no such parameter here. Known here: %s.", strings.Join(slices.Sorted(maps.Keys(known)), ", "))
	case schema.Type.Is("array") || schema.Type.Is("object"):
		return say.Text{} // the generated wrappers read them
	case len(values) > 1:
		return say.F("This is given more than once.")
	}
	if value, err := scalar(schema, values[0]); err == nil && holds(schema, value) == nil {
		return say.Text{}
	}
	wrong := say.F("This should be %s.", wanted(schema))
	if schema.Format == "date-time" && strings.Contains(values[0], " ") {
		wrong = say.Join(wrong, say.F("In an address + is written %%2B."))
	}
	return wrong
}

// scalar reads a parameter's text as its schema has it.
func scalar(schema *openapi3.Schema, text string) (any, error) {
	switch {
	case schema.Type.Is("integer"):
		n, err := strconv.ParseInt(text, 10, 64)
		return float64(n), err
	case schema.Type.Is("number"):
		return strconv.ParseFloat(text, 64)
	case schema.Type.Is("boolean"):
		return strconv.ParseBool(text)
	}
	return text, nil
}
