package calculator

import (
	"encoding/json"
	"errors"
	"net/http"
	"strconv"

	"github.com/labstack/echo/v4"

	"pullbook/api/request"
	"pullbook/domain/fault"
	"pullbook/domain/heat"
	"pullbook/domain/honey"
	"pullbook/openapi"
)

// calculate answers a question that records nothing. Any token may ask, so long
// as it has not been revoked.
func calculate[Question, Answer any](s *request.Service, ctx echo.Context, question Question, answer func(Question) (Answer, error)) error {
	if _, err := s.Current(ctx); err != nil {
		return err
	}
	out, err := answer(question)
	if err != nil {
		return err
	}
	err = ctx.JSON(http.StatusOK, out)
	if infinite := new(json.UnsupportedValueError); errors.As(err, &infinite) {
		return fault.New(fault.Invalid, "No answer can be worked out from these figures. One of them is far too large or too small, or they do not go together.")
	}
	return err
}

// calculateFrom is calculate for a question in a request's body.
func calculateFrom[Question, Answer any](s *request.Service, ctx echo.Context, answer func(*Question) (Answer, error)) error {
	question := new(Question)
	if err := s.Contract.Bind(question, ctx); err != nil {
		return err
	}
	return calculate(s, ctx, question, answer)
}

// rounded drops the digits behind the seventh: they say nothing about honey and
// make an answer hard to read.
func rounded(x float64) float64 {
	y, _ := strconv.ParseFloat(strconv.FormatFloat(x, 'g', 7, 64), 64)
	return y
}

func bandOut(b heat.Band) openapi.Band {
	return openapi.Band{Low: rounded(b.Low), Middle: rounded(b.Middle), High: rounded(b.High)}
}

func calculatorFlags(in []heat.Flag) []openapi.CalculatorFlag {
	out := []openapi.CalculatorFlag{}
	for _, f := range in {
		out = append(out, openapi.CalculatorFlag{Code: string(f.Name), Sentence: Sentence(f.Detail)})
	}
	return out
}

// moistureFlags marks a moisture that honey can have and hardly ever has.
func moistureFlags(moisturePct float64) []openapi.CalculatorFlag {
	if moisturePct >= honey.OrdinaryMoistureMinPct && moisturePct <= honey.OrdinaryMoistureMaxPct {
		return []openapi.CalculatorFlag{}
	}
	return []openapi.CalculatorFlag{{
		Code: "unusual-moisture",
		Sentence: "Honey of " + request.Plain(rounded(moisturePct)) + " % moisture is rare: most lies from " +
			request.Plain(honey.OrdinaryMoistureMinPct) + " to " + request.Plain(honey.OrdinaryMoistureMaxPct) + " %. Check the reading before acting on it.",
	}}
}
