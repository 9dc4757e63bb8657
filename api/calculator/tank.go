package calculator

import (
	"fmt"
	"strings"

	"github.com/labstack/echo/v4"

	"pullbook/api/wire"
	"pullbook/domain/fault"
	"pullbook/domain/honey"
	"pullbook/domain/message"
	"pullbook/domain/units"
	"pullbook/openapi"
)

// CalculateDip is what a tank holds by its dip.
func (s Handler) CalculateDip(ctx echo.Context, in openapi.CalculateDipParams) error {
	return calculate(s.Service, ctx, in, DipAnswer)
}

// DipAnswer answers CalculateDip: litres and kilograms in a tank, of a dip in centimetres.
func DipAnswer(in openapi.CalculateDipParams) (out openapi.DipAnswer, err error) {
	tank, err := askedTank{in.Form, in.DiameterCm, in.LengthCm, in.WidthCm, in.HeightCm, in.ConeDepthCm, in.DishDepthCm, in.DipTableCm, in.DipTableL}.tank()
	if err != nil {
		return out, err
	}
	return ContentAnswer(in.Form, tank, in.DipCm, wire.OrDefault(in.DipStdUncertaintyCm, 0.5), in.MoisturePct, wire.OrDefault(in.TemperatureC, 20))
}

// CalculateDipForMass is the dip at which a tank holds so much.
func (s Handler) CalculateDipForMass(ctx echo.Context, in openapi.CalculateDipForMassParams) error {
	return calculate(s.Service, ctx, in, dipForMassAnswer)
}

func dipForMassAnswer(in openapi.CalculateDipForMassParams) (out openapi.DipAnswer, err error) {
	tank, err := askedTank{in.Form, in.DiameterCm, in.LengthCm, in.WidthCm, in.HeightCm, in.ConeDepthCm, in.DishDepthCm, in.DipTableCm, in.DipTableL}.tank()
	if err != nil {
		return out, err
	}
	wanted, err := oneOf("query:", map[string]bool{"mass_kg": in.MassKg != nil, "mass_lb": in.MassLb != nil, "volume_l": in.VolumeL != nil})
	if err != nil {
		return out, err
	}
	temperatureC := wire.OrDefault(in.TemperatureC, 20)
	var dipCm float64
	switch wanted {
	case "volume_l":
		dipCm, err = tank.DipCm(*in.VolumeL)
	case "mass_lb":
		dipCm, err = honey.DipForKilograms(tank, *in.MassLb*units.KilogramsPerPound, in.MoisturePct, temperatureC)
	default:
		dipCm, err = honey.DipForKilograms(tank, *in.MassKg, in.MoisturePct, temperatureC)
	}
	if err != nil {
		return out, AskedDip("query:" + wanted).Refusal(err)
	}
	out, err = ContentAnswer(in.Form, tank, dipCm, 0, in.MoisturePct, temperatureC)
	if err != nil {
		return out, err
	}
	if wanted != "volume_l" {
		out.StdUncertaintyCm, err = dipLeftOpen(tank, dipCm, out.StdUncertaintyKg, in.MoisturePct, temperatureC)
	}
	return out, err
}

// dipLeftOpen turns what the density leaves open of a mass into centimetres of
// dip, by the mass of the layer around it.
func dipLeftOpen(tank honey.Tank, dipCm, kilograms, moisturePct, temperatureC float64) (float64, error) {
	low, high := max(tank.LowestCm(), dipCm-0.5), min(tank.RimCm(), dipCm+0.5)
	below, err := honey.Gauge(tank, low, 0, moisturePct, temperatureC)
	if err != nil {
		return 0, err
	}
	above, err := honey.Gauge(tank, high, 0, moisturePct, temperatureC)
	if err != nil {
		return 0, err
	}
	return rounded(kilograms / (above.Kilograms - below.Kilograms) * (high - low)), nil
}

// ContentAnswer says what a tank holds at a dip in centimetres: litres, kilograms and their
// uncertainty.
func ContentAnswer(form openapi.TankForm, tank honey.Tank, dipCm, dipStdUncertaintyCm, moisturePct, temperatureC float64) (out openapi.DipAnswer, err error) {
	content, err := honey.Gauge(tank, dipCm, dipStdUncertaintyCm, moisturePct, temperatureC)
	if err != nil {
		return out, AskedDip("query:volume_l").Refusal(err)
	}
	full, err := honey.Gauge(tank, tank.RimCm(), 0, moisturePct, temperatureC)
	if err != nil {
		return out, AskedDip("query:volume_l").Refusal(err)
	}
	out = openapi.DipAnswer{
		DipCm: rounded(dipCm), StdUncertaintyCm: rounded(dipStdUncertaintyCm),
		VolumeL: rounded(content.Litres), MassKg: rounded(content.Kilograms), MassLb: rounded(content.Kilograms / units.KilogramsPerPound),
		StdUncertaintyKg: rounded(content.StdUncertaintyKg), FullL: rounded(full.Litres), FullKg: rounded(full.Kilograms),
		Formulas: []openapi.FormulaUsed{formulaTank(form), formulaDensity}, Flags: moistureFlags(moisturePct), Cautions: []string{},
	}
	out.ValidFor, out.Flags = validFor(out.Flags, figureAsked{honey.DensityMoisture, moisturePct}, figureAsked{honey.DensityTemperature, temperatureC})
	return out, nil
}

// askedTank is a tank as a question gives it.
type askedTank struct {
	form                                                            openapi.TankForm
	diameterCm, lengthCm, widthCm, heightCm, coneDeepCm, dishDeepCm *float64
	dipsCm, litres                                                  *[]float64
}

func (t askedTank) tank() (tank honey.Tank, err error) {
	if err := t.complete(); err != nil {
		return nil, err
	}
	switch t.form {
	case openapi.TankFormUprightCylinder:
		tank, err = honey.UprightCylinder(*t.diameterCm, *t.heightCm)
	case openapi.TankFormConeBottom:
		tank, err = honey.ConeBottom(*t.diameterCm, *t.heightCm, *t.coneDeepCm)
	case openapi.TankFormLyingCylinder:
		tank, err = honey.LyingCylinder(*t.diameterCm, *t.lengthCm, wire.OrZero(t.dishDeepCm))
	case openapi.TankFormBox:
		tank, err = honey.Box(*t.lengthCm, *t.widthCm, *t.heightCm)
	default:
		tank, err = t.byTable()
	}
	if err != nil {
		return nil, AskedDip("").Refusal(err)
	}
	return tank, nil
}

// complete refuses a form that does not exist or lacks a measure.
func (t askedTank) complete() error {
	measures := map[string]*float64{"diameter_cm": t.diameterCm, "length_cm": t.lengthCm, "width_cm": t.widthCm, "height_cm": t.heightCm, "cone_depth_cm": t.coneDeepCm}
	needed := map[openapi.TankForm][]string{
		openapi.TankFormUprightCylinder: {"diameter_cm", "height_cm"},
		openapi.TankFormConeBottom:      {"diameter_cm", "height_cm", "cone_depth_cm"},
		openapi.TankFormLyingCylinder:   {"diameter_cm", "length_cm"},
		openapi.TankFormBox:             {"length_cm", "width_cm", "height_cm"},
		openapi.TankFormDipTable:        {},
	}
	names, known := needed[t.form]
	if !known {
		return unanswerable(fault.Field{Pointer: "query:form", Sent: t.form, Message: message.F("This should be one of upright_cylinder, cone_bottom, lying_cylinder, box, dip_table.")})
	}
	var missing []fault.Field
	for _, name := range names {
		if measures[name] == nil {
			missing = append(missing, fault.Field{Pointer: "query:" + name, Message: message.F("A tank of the form %s needs %s.", t.form, strings.Join(names, ", "))})
		}
	}
	if missing != nil {
		return unanswerable(missing...)
	}
	return nil
}

func (t askedTank) byTable() (honey.Tank, error) {
	dips, litres := wire.OrZero(t.dipsCm), wire.OrZero(t.litres)
	if len(dips) != len(litres) || len(dips) < 2 || len(dips) > mostDips {
		return nil, unanswerable(fault.Field{Pointer: "query:dip_table_cm", Sent: fmt.Sprintf("%d dips, %d volumes", len(dips), len(litres)),
			Message: message.F("A dip table needs 2 to %s dips in dip_table_cm and as many volumes in dip_table_l, with commas between.", mostDips)})
	}
	rows := make([]honey.DipPoint, len(dips))
	for i := range dips {
		rows[i] = honey.DipPoint{DipCm: dips[i], Litres: litres[i]}
	}
	tank, err := honey.DipTable(rows)
	if err != nil && strings.HasPrefix(err.Error(), "volume") {
		return nil, asked{otherwise: "query:dip_table_l"}.Refusal(err)
	}
	return tank, err
}

const mostDips = 500

// AskedDip points at the parameters of a dip; wanted is that of the mass or the
// volume, where a dip is asked for.
func AskedDip(wanted string) asked {
	return asked{fields: map[string]string{
		"dip": "query:dip_cm", "dip uncertainty": "query:dip_std_uncertainty_cm", "mass": wanted, "volume": wanted,
		"diameter": "query:diameter_cm", "length": "query:length_cm", "width": "query:width_cm", "height": "query:height_cm",
		"cone depth": "query:cone_depth_cm", "dish depth": "query:dish_depth_cm", "moisture": "query:moisture_pct", "temperature": "query:temperature_c",
	}, otherwise: "query:dip_table_cm"}
}
