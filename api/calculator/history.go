package calculator

import (
	"strings"
	"time"

	"pullbook/api/wire"
	"pullbook/domain/fault"
	"pullbook/domain/heat"
	"pullbook/domain/message"
	"pullbook/openapi"
)

// askedHistory says where the figures of a history are that hangs at a pointer.
func askedHistory(pointer string) asked {
	return asked{
		fields: map[string]string{"temperature": "temperature_c", "usual temperature of the store": pointer + "/usual_temperature_c"},
		lists:  map[string]string{"reading": pointer + "/points", "set point": pointer + "/set_points"}, otherwise: pointer,
	}
}

// historyOf reads a temperature history, and what is odd about the file that it
// came in.
func historyOf(in openapi.TemperatureHistory, pointer string) (heat.History, []heat.Flag, error) {
	form, err := oneOf(pointer+"/", map[string]bool{"points": in.Points != nil, "set_points": in.SetPoints != nil, "csv": in.Csv != nil})
	if err != nil {
		return heat.History{}, nil, err
	}
	where := askedHistory(pointer)
	var h heat.History
	var odd []heat.Flag
	switch form {
	case "points":
		point := func(p openapi.HistoryPoint) heat.Point { return heat.Point{At: p.At, TemperatureC: p.TemperatureC} }
		h, err = heat.FromPoints(wire.Each(*in.Points, point), in.UsualTemperatureC)
	case "set_points":
		set := func(p openapi.SetPoint) heat.SetPoint {
			return heat.SetPoint{From: p.From, To: p.To, TemperatureC: p.TemperatureC}
		}
		h, err = heat.FromSetPoints(wire.Each(*in.SetPoints, set), in.UsualTemperatureC)
	default:
		where = asked{fields: map[string]string{"usual temperature of the store": pointer + "/usual_temperature_c"}, otherwise: pointer + "/csv/text"}
		h, odd, err = historyOfFile(*in.Csv, pointer+"/csv", in.UsualTemperatureC)
	}
	if err != nil {
		return heat.History{}, nil, where.Refusal(err)
	}
	return h, odd, nil
}

func historyOfFile(in openapi.LoggerFile, pointer string, usualC *float64) (heat.History, []heat.Flag, error) {
	options := heat.CSVOptions{Unit: heat.Unit(wire.OrZero(in.Unit)), DateOrder: heat.DateOrder(wire.OrZero(in.DateOrder)), Column: wire.OrZero(in.Column)}
	if in.TimeZone != nil {
		zone, err := time.LoadLocation(*in.TimeZone)
		if err != nil || *in.TimeZone == "Local" {
			return heat.History{}, nil, unanswerable(fault.Field{Pointer: pointer + "/time_zone", Sent: *in.TimeZone, Message: message.F("There is no time zone of this name: write it like America/Chicago or UTC.")})
		}
		options.Location = zone
	}
	log, err := heat.ReadCSV(strings.NewReader(in.Text), options)
	if err != nil {
		return heat.History{}, nil, err
	}
	h, err := heat.FromPoints(log.Points, usualC)
	return h, log.Flags, err
}

// ratesOf is what a question's honey is forecast with.
func ratesOf(in *openapi.ReactionRates, pointer string) (heat.Kinetics, error) {
	k := heat.Default()
	if in == nil {
		return k, nil
	}
	for _, one := range []struct {
		name string
		in   *openapi.ReactionRate
		out  *heat.Reaction
	}{{"hmf", in.Hmf, &k.HMF}, {"diastase", in.Diastase, &k.Diastase}, {"invertase", in.Invertase, &k.Invertase}} {
		if one.in == nil {
			continue
		}
		rate, err := heat.NewArrhenius(one.in.RatePerDay, one.in.AtTemperatureC, one.in.ActivationEnergyKjPerMol)
		if err != nil {
			at := pointer + "/" + one.name
			return k, asked{fields: map[string]string{
				"activation energy": at + "/activation_energy_kj_per_mol", "reference temperature": at + "/at_temperature_c",
			}, otherwise: at + "/rate_per_day"}.Refusal(err)
		}
		one.out.Arrhenius = rate
		one.out.LogSD = wire.OrDefault(one.in.LogStdUncertainty, one.out.LogSD)
	}
	return k, nil
}

// rateOut is a reaction as ratesOf reads it.
func rateOut(r heat.Reaction) *openapi.ReactionRate {
	const atC = 50
	return &openapi.ReactionRate{
		RatePerDay: rounded(r.PerDay(atC)), AtTemperatureC: atC, ActivationEnergyKjPerMol: rounded(r.ActivationEnergyKJPerMol()), LogStdUncertainty: new(rounded(r.LogSD)),
	}
}

func stateOf(in *openapi.HoneyState) heat.State {
	h := wire.OrZero(in)
	return heat.State{HMFMgPerKg: wire.OrZero(h.HmfMgPerKg), DiastaseDN: wire.OrZero(h.DiastaseGothe), Invertase: wire.OrZero(h.Invertase)}
}

// askedState says where the figures of a honey are.
var askedState = asked{fields: map[string]string{
	"HMF": "/honey/hmf_mg_per_kg", "diastase": "/honey/diastase_gothe", "invertase": "/honey/invertase",
}, otherwise: "/honey"}

// forecastOut leaves out the enzymes of which the question gave no start.
func forecastOut(f heat.Forecast, start heat.State) openapi.HoneyForecast {
	out := openapi.HoneyForecast{HmfMgPerKg: bandOut(f.HMFMgPerKg)}
	if start.DiastaseDN > 0 {
		out.DiastaseGothe = new(bandOut(f.DiastaseDN))
	}
	if start.Invertase > 0 {
		out.Invertase = new(bandOut(f.Invertase))
	}
	return out
}

// heatFormulas are those of a forecast for what the question gave.
func heatFormulas(start heat.State, rates *openapi.ReactionRates) []openapi.FormulaUsed {
	r := wire.OrZero(rates)
	out := []openapi.FormulaUsed{fittedOrAsked(formulaHMF, r.Hmf)}
	if start.DiastaseDN > 0 {
		out = append(out, fittedOrAsked(formulaDiastase, r.Diastase))
	}
	if start.Invertase > 0 {
		out = append(out, fittedOrAsked(formulaInvertase, r.Invertase))
	}
	return out
}

func fittedOrAsked(fitted openapi.FormulaUsed, asked *openapi.ReactionRate) openapi.FormulaUsed {
	if asked == nil {
		return fitted
	}
	return openapi.FormulaUsed{Of: fitted.Of, Name: "Arrhenius rate that the question gave", Source: "the question"}
}

// HeatCurve is a history with the forecast along it, at points of equal
// distance from its start to its end.
func HeatCurve(k heat.Kinetics, start heat.State, h heat.History, points int) ([]openapi.HeatCurvePoint, error) {
	out := []openapi.HeatCurvePoint{}
	for i := range points {
		hours := h.Hours()
		if points > 1 {
			hours *= float64(i) / float64(points-1)
		}
		at := h.Start().Add(time.Duration(hours * float64(time.Hour)))
		until, err := h.Between(h.Start(), at)
		if err != nil {
			return nil, err
		}
		f, err := k.Forecast(start, until)
		if err != nil {
			return nil, err
		}
		out = append(out, openapi.HeatCurvePoint{Hours: rounded(hours), TemperatureC: rounded(h.TemperatureC(at)), Forecast: forecastOut(f, start)})
	}
	return out, nil
}
