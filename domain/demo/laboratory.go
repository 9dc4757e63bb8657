package demo

import (
	"fmt"
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/standard"
)

// sendToLaboratory has every lot of the season analysed about a week after it
// was packed.
func (s *season) sendToLaboratory() {
	lots := map[ledger.ID][]*container{}
	var order []ledger.ID
	for _, c := range s.h.containers {
		if c.filled.In(s.o.Location).Year() == s.year {
			if lots[c.lot] == nil {
				order = append(order, c.lot)
			}
			lots[c.lot] = append(lots[c.lot], c)
		}
	}
	for i, lot := range order {
		at := s.clock(lots[lot][0].filled, 6+s.rng.IntN(3), 15, 0).Add(s.minutes(0, 90))
		var all parcel
		for _, c := range lots[lot] {
			all = all.mixed(c.honey.stored(c.filled, at, s.quick))
		}
		s.analysed(at, lot, all, fmt.Sprintf("%d-%04d", s.year, 412+17*i))
	}
}

// analysed is a laboratory's certificate: HMF by HPLC, diastase by Schade's
// method in Gothe units, conductivity, moisture.
func (s *season) analysed(at time.Time, lot ledger.ID, p parcel, certificate string) {
	hmfSD := hmfSDMg + hmfSDShare*p.hmf
	s.known(at, lot, p)
	r := &ledger.Reading{
		On: ledger.Place{Kind: ledger.PlaceLot, ID: lot}, Point: ledger.PointMixed, Laboratory: "Fern Valley Laboratory",
		CertificateNumber: certificate, Accreditation: "ISO/IEC 17025, no. L-4411", AnalysedOn: standard.Date(at.In(s.o.Location).Format(time.DateOnly)),
		Moisture: instrument{honeyScale: true}.read(s.rng, p.moisturePct, 0),
		Measured: []ledger.Measured{
			{Quantity: "hmf_mg_per_kg", Value: rounded(max(0.1, p.hmf+hmfSD*s.rng.NormFloat64()), 1), StdUncertainty: new(rounded(hmfSD, 2)), LimitOfQuantification: new(0.1), Method: "HPLC"},
			{Quantity: "diastase_gothe", Value: rounded(p.diastase+diastaseSD*s.rng.NormFloat64(), 1), StdUncertainty: new(float64(diastaseSD)), Method: "Schade"},
			{Quantity: "conductivity_ms_per_cm", Value: rounded(p.msPerCM*(1+0.02*s.rng.NormFloat64()), 2), StdUncertainty: new(0.01), Method: "0.2 g/mL, 20 C"},
		},
	}
	if s.asksForResidue() {
		found, trueUgPerKg := s.residueOf()
		r.Measured = append(r.Measured, found)
		known := s.h.analysed[lot]
		known.clean = trueUgPerKg < residueWellInside
		s.h.analysed[lot] = known
	}
	e := s.add(at, owner, r)
	s.w.truth.MoisturePct[e.ID] = p.moisturePct
}

// colour reads a lot's colour as it is packed.
func (s *season) colour(at time.Time, lot ledger.ID, p parcel) {
	s.add(at.Add(s.minutes(2, 6)), packer, &ledger.Reading{
		On: ledger.Place{Kind: ledger.PlaceLot, ID: lot}, Point: ledger.PointMixed, InstrumentID: s.s.colour,
		Measured: []ledger.Measured{{Quantity: "colour_mm_pfund",
			Value: rounded(max(1, p.pfundMM+colourSDMM*s.rng.NormFloat64()), 0), StdUncertainty: new(float64(colourSDMM))}},
	})
}
