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

// figureAsked is a figure of a question with the range that its formula rests on.
type figureAsked struct {
	within honey.Range
	figure float64
}

// furthest is the figure of several that lies outside a range, if one does.
func furthest(within honey.Range, figures ...float64) figureAsked {
	for _, figure := range figures {
		if !within.Covers(figure) {
			return figureAsked{within, figure}
		}
	}
	return figureAsked{within, figures[0]}
}

// restsOn is a range for figures that are flagged by another name where they lie outside it.
func restsOn(r honey.Range, figures ...float64) openapi.ValidRange {
	a := furthest(r, figures...)
	return openapi.ValidRange{Of: r.Of, Unit: r.Unit, From: r.From, To: r.To, Covers: r.Covers(a.figure)}
}

// validFor says what an answer's formulas rest on, and flags the figures beyond it.
func validFor(flags []openapi.CalculatorFlag, asked ...figureAsked) (openapi.ValidFor, []openapi.CalculatorFlag) {
	out := openapi.ValidFor{}
	for _, a := range asked {
		r := a.within
		out = append(out, openapi.ValidRange{Of: r.Of, Unit: r.Unit, From: r.From, To: r.To, Covers: r.Covers(a.figure)})
		if !r.Covers(a.figure) {
			flags = append(flags, openapi.CalculatorFlag{Code: FlagBeyondRange, Sentence: Sentence("The " + r.Of + " of " + request.Plain(rounded(a.figure)) + " lies outside the " +
				request.Plain(r.From) + " to " + request.Plain(r.To) + " " + r.Unit + " that the formulas rest on: the answer goes on beyond it and is known less well")})
		}
	}
	return out, flags
}

// FlagBeyondRange is the code of a flag for a figure beyond what the formulas rest on.
const FlagBeyondRange = "beyond-range"
