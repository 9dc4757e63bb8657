package calculator

import (
	"pullbook/api/request"
	"pullbook/domain/heat"
	"pullbook/domain/message"
	"pullbook/domain/quality"
)

// heatCautions are those of an answer about warm honey.
func heatCautions(hottestC float64) []message.Text {
	out := []message.Text{quality.CautionEstimate, quality.CautionInfants}
	if hottestC > quality.ScaldsFromC {
		out = append(out, quality.CautionScald)
	}
	return out
}

// jobCautions are those of a job at a temperature, which something has to heat.
func jobCautions(band heat.Band) []string {
	out := append([]message.Text{quality.CautionLowest}, heatCautions(band.High)...)
	return request.Said(append(out, quality.CautionHeater))
}
