// Package heat says what temperature and time do to honey: temperature
// histories, the formation of hydroxymethylfurfural (HMF) and the loss of
// diastase and invertase over them, the questions turned round, a tank that
// warms and cools, settling, and the killing of yeasts.
//
// Temperatures are degrees Celsius, HMF mg/kg, diastase diastase numbers,
// rates per day, spans hours. Figures outside what a formula covers are
// errors, most of them *honey.RangeError; what is merely odd is a Flag. The
// package does no I/O beyond reading the reader it is given, has no clock and
// no randomness.
//
// README.md in this directory holds the models, their ranges, the fit and its
// residuals, and how the forecasts stand against published experiments. A
// forecast is an estimate and no laboratory result.
package heat
