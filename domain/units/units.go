// Package units holds the definitions of customary units and converts temperatures.
package units

// The definitions are exact: the international pound, the US gallon of 231 cubic
// inches and the imperial gallon.
const (
	KilogramsPerPound       = 0.45359237
	LitresPerUSGallon       = 3.785411784
	LitresPerImperialGallon = 4.54609
)

// Celsius converts a temperature in degrees Fahrenheit, not a difference.
func Celsius(fahrenheit float64) float64 { return (fahrenheit - 32) / 1.8 }

// Fahrenheit converts a temperature in degrees Celsius, not a difference.
func Fahrenheit(celsius float64) float64 { return celsius*9/5 + 32 }
