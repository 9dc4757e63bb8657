// Package balance makes the weights of a season agree, watches honey dry, and
// says what an instrument found wrong has touched. It only reads the book: what
// it works out stands beside what was written down and replaces nothing.
//
// # Reconciliation
//
// Three weights claim to be the harvest: full boxes less empty ones, the rise
// of the tanks, and the containers with what the tanks still hold. Reconcile
// writes them as a network of flows for the package reconcile. Each run is a
// node; so is each tank from one dip, weighing or wash to the next, with what
// it held at the time as the flow from one to the next. Every weight brings its
// uncertainty, and errors that weights share (one hoist, one drum scale, one
// way of emptying boxes) go together. README.md lists them.
//
// # Drying
//
// Drying follows the readings at the top and bottom of the stacks in a hot
// room, its air and the water emptied from its dehumidifier.
//
// # Instruments
//
// Instrument lists the checks of an instrument, and for each that it failed
// every reading since the last good one with the lots and dispatches that
// rested on them.
package balance
