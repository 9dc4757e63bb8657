package quality

import "pullbook/domain/message"

// The cautions that go with figures about honey.
var (
	CautionScreening   = message.F("A refractometer in the honey house screens. It is no laboratory result: where moisture decides about a sale, the laboratory decides.")
	CautionEstimate    = message.F("This is an estimate and no laboratory result: where a limit decides about a sale, the laboratory decides.")
	CautionScald       = message.F("Honey above %s scalds: it sticks to the skin and holds its heat, and at %s burns in about five seconds. Cover arms and eyes, and open valves and lids slowly.", message.Celsius(ScaldsFromC), message.Celsius(burnsC))
	CautionHeater      = message.F("Electric heaters near water and wet floors need residual-current protection and an over-temperature cut-out besides the thermostat. Switch the power off before cleaning, and never switch an immersion heater on dry.")
	CautionInfants     = message.F("Warming does not destroy the spores of Clostridium botulinum: honey, heated or not, is not for infants under one year.")
	CautionSensor      = message.F("A history is only as good as where the sensor sat: the lid of a tank is not its wall, and the core of a still drum lags by a day or more.")
	CautionFermenting  = message.F("Liquid honey from about this moisture on may ferment. Leave fermenting containers a vent: a closed one builds up pressure and can burst.")
	CautionStanding    = message.F("The honey at the wall is as hot as what is around it for days before the core is warm: judge HMF by the wall, and draw liquid honey off as it melts.")
	CautionStirred     = message.F("This is one temperature for a tank that is stirred. In a drum that stands still the core lags by a day or more; melting crystals take up heat (those of set honey as much as warming by five to twelve kelvin), and the honey at the heated wall is hotter.")
	CautionThixotropic = message.F("This is for liquid honey that flows alike however fast it is stirred. Heather and manuka honey set like a jelly while they stand, and granulated honey does not flow: neither goes by this figure.")
	CautionLowest      = message.F("Work by the low figure, which is safe for a fast honey too.")
)

// Honey above ScaldsFromC, in degrees Celsius, is treated as a scald risk. At burnsC water
// burns an adult's skin in about five seconds. Both are common practice of scald prevention.
const (
	ScaldsFromC = 45
	burnsC      = 60
)

// CautionSaid returns a caution, given as its English sentence, in words that can be said in
// any language.
func CautionSaid(english string) message.Text {
	for _, c := range []message.Text{CautionScreening, CautionEstimate, CautionScald, CautionHeater, CautionInfants, CautionSensor, CautionFermenting, CautionStanding, CautionStirred, CautionThixotropic, CautionLowest} {
		if c.String() == english {
			return c
		}
	}
	return message.Verbatim(english)
}

// CertificateCautions are what the holder of a lot's certificate has to know.
var CertificateCautions = []message.Text{
	message.F("This sheet is a screening from the book of the honey house. It is no laboratory certificate: where a limit decides about a sale, the laboratory decides."),
	CautionInfants,
	message.F("Local rules prevail over every limit named here."),
	CautionScald,
}
