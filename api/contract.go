package api

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"reflect"
	"regexp"
	"strings"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/go-playground/validator/v10"
	"github.com/labstack/echo/v4"

	"pullbook/domain/fault"
	"pullbook/openapi"
)

// contract holds requests against openapi.yaml, so that what the contract says
// and what the service accepts cannot drift apart.
type contract struct {
	// bodies and parameters are by method and route.
	bodies     map[string]*openapi3.Schema
	parameters map[string]map[string]bool
	validate   *validator.Validate
}

func readContract() (*contract, error) {
	doc, err := openapi.Document()
	if err != nil {
		return nil, fmt.Errorf("openapi.yaml: %w", err)
	}
	c := &contract{bodies: map[string]*openapi3.Schema{}, parameters: map[string]map[string]bool{}, validate: validator.New()}
	c.validate.RegisterTagNameFunc(func(f reflect.StructField) string {
		name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		return name
	})
	for path, item := range doc.Paths.Map() {
		route := pathParameter.ReplaceAllString(path, ":$1")
		for method, op := range item.Operations() {
			key := method + " " + route
			if op.RequestBody != nil {
				c.bodies[key] = op.RequestBody.Value.Content["application/json"].Schema.Value
			}
			names := map[string]bool{}
			for _, p := range op.Parameters {
				if p.Value.In == "query" {
					names[p.Value.Name] = true
				}
			}
			c.parameters[key] = names
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
	if err != nil {
		return err
	}
	value, err := readJSON(body)
	if err != nil {
		return err
	}
	if err := schema.VisitJSON(value, openapi3.MultiErrors(), openapi3.EnableFormatValidation(), openapi3.VisitAsRequest()); err != nil {
		return invalid(schemaFields(err))
	}
	if err := json.Unmarshal(body, target); err != nil {
		return fault.New(fault.Invalid, "The body could not be read: %v.", err)
	}
	if err := c.validate.Struct(target); err != nil {
		return invalid(ruleFields(err))
	}
	return nil
}

func invalid(fields []fault.Field) error {
	return &fault.Error{Code: fault.Invalid, Message: "Nothing was stored: the body is not as the contract has it.", Fields: fields}
}

// readJSON reads exactly one JSON value.
func readJSON(body []byte) (any, error) {
	if len(strings.TrimSpace(string(body))) == 0 {
		return nil, fault.New(fault.Invalid, "The body is empty; one JSON object is needed.")
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
	return nil, fault.New(fault.Invalid, "The body is not JSON: %s.", detail)
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
		for name, values := range ctx.QueryParams() {
			if !known[name] {
				return &fault.Error{Code: fault.Invalid, Message: "There is no such parameter here.", Fields: []fault.Field{{
					Pointer: "query:" + name, Sent: values[0], Message: "Known here: " + strings.Join(sortedKeys(known), ", ") + ".",
				}}}
			}
		}
		return next(ctx)
	}
}
