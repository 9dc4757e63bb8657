// Package warm proposes how hot and how long to warm honey: the set points of a tank's heater, or
// of a room in which containers stand, that bring it to a state by a time with the least HMF and
// heat.
//
// A course waits, holds one set point, may hold another, and is off for the rest. Set points are
// whole degrees Celsius, and change at whole hours. The physics is that of domain/heat. The package is
// pure: the same question gives the same plan. It records nothing.
package warm
