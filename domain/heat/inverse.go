package heat

import (
	"math"

	"pullbook/domain/message"
)

// HoursUntilHMF returns after how many hours at a constant temperature HMF
// passes a limit: Low for a fast honey, High for a slow one. All are zero when
// the limit is already passed.
//
// startMgPerKg and limitMgPerKg 0 to 1000, temperatureC ColdestC to HottestC.
func (k Kinetics) HoursUntilHMF(startMgPerKg, limitMgPerKg, temperatureC float64) (Band, error) {
	if err := checkJob(startMgPerKg, limitMgPerKg, "HMF", "mg/kg", 1000); err != nil {
		return Band{}, err
	}
	if err := checkTemperature("temperature", temperatureC); err != nil {
		return Band{}, err
	}
	return k.HMF.hoursFor(math.Max(limitMgPerKg-startMgPerKg, 0), temperatureC), nil
}

// HoursUntilDiastase returns after how many hours at a constant temperature
// diastase falls below a limit: Low for a fast honey, High for a slow one.
//
// startDN and limitDN above 0 to 200, temperatureC ColdestC to HottestC.
func (k Kinetics) HoursUntilDiastase(startDN, limitDN, temperatureC float64) (Band, error) {
	if err := checkJob(startDN, limitDN, "diastase", "diastase numbers", 200); err != nil {
		return Band{}, err
	}
	if err := checkTemperature("temperature", temperatureC); err != nil {
		return Band{}, err
	}
	exposure, err := diastaseExposure(startDN, limitDN)
	if err != nil {
		return Band{}, err
	}
	return k.Diastase.hoursFor(exposure, temperatureC), nil
}

// HighestTemperatureForHMF returns the highest constant temperature, in
// degrees Celsius, at which a job of some hours keeps HMF at or under a limit:
// Low is safe for a fast honey too and is the one to work by. Outside
// MeasuredFromC to MeasuredToC the answer rests on no published time; none is
// above HottestC, however short the job.
//
// hours above 0 to 10 years, startMgPerKg below limitMgPerKg.
func (k Kinetics) HighestTemperatureForHMF(hours, startMgPerKg, limitMgPerKg float64) (Band, error) {
	if err := checkJob(startMgPerKg, limitMgPerKg, "HMF", "mg/kg", 1000); err != nil {
		return Band{}, err
	}
	if startMgPerKg >= limitMgPerKg {
		return Band{}, message.Errorf("HMF is %s mg/kg at the start, which leaves nothing to the limit of %s: no temperature is low enough", message.Figure(startMgPerKg), message.Figure(limitMgPerKg))
	}
	return k.HMF.highestFor(limitMgPerKg-startMgPerKg, hours)
}

// HighestTemperatureForDiastase is HighestTemperatureForHMF for keeping
// diastase at or above a limit.
func (k Kinetics) HighestTemperatureForDiastase(hours, startDN, limitDN float64) (Band, error) {
	if err := checkJob(startDN, limitDN, "diastase", "diastase numbers", 200); err != nil {
		return Band{}, err
	}
	exposure, err := diastaseExposure(startDN, limitDN)
	if err != nil {
		return Band{}, err
	}
	if exposure <= 0 {
		return Band{}, message.Errorf("diastase is %s at the start, which leaves nothing to the limit of %s: no temperature is low enough", message.Figure(startDN), message.Figure(limitDN))
	}
	return k.Diastase.highestFor(exposure, hours)
}

func checkJob(start, limit float64, quantity, unit string, highest float64) error {
	if err := checkRange(quantity+" at the start", unit, start, 0, highest); err != nil {
		return err
	}
	return checkRange("limit of "+quantity, unit, limit, 0, highest)
}

func diastaseExposure(startDN, limitDN float64) (float64, error) {
	if startDN <= 0 || limitDN <= 0 {
		return 0, message.Errorf("diastase at the start and its limit must both be above 0: a share of nothing cannot be lost")
	}
	return math.Max(math.Log(startDN/limitDN), 0), nil
}

func (r Reaction) hoursFor(exposure, temperatureC float64) Band {
	rates := r.PerDayBand(temperatureC)
	return Band{exposure / rates.High * 24, exposure / rates.Middle * 24, exposure / rates.Low * 24}
}

func (r Reaction) highestFor(exposure, hours float64) (Band, error) {
	if !(hours > 0 && hours <= 10*365.25*24) {
		return Band{}, message.Errorf("the job lasts %s h: it must last longer than nothing and at most ten years (87660 h)", message.Figure(hours))
	}
	perDay := exposure / (hours / 24)
	at := func(z float64) float64 {
		celsius := r.curve(z).temperatureC(perDay)
		if celsius < -kelvinOfZero { // beyond the pole of the logarithm
			return HottestC
		}
		return min(celsius, HottestC)
	}
	return Band{at(bandZ), at(0), at(-bandZ)}, nil
}
