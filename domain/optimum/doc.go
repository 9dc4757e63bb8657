// Package optimum finds the best choice among those that keep to linear limits, where
// some of what is chosen may come in whole numbers only: a mixed-integer linear program.
//
// The search is HiGHS's (highs.dev, MIT licence), the solver of this kind that is free
// and kept best. It is written in C++. The folder highs holds it compiled to WebAssembly,
// as npm package highs 1.15.3 ships it, and wazero runs that in the program itself: no C
// compiler, no other program, no file. What the solver sees is its own memory alone.
//
// The package knows nothing of honey.
package optimum
