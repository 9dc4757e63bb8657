// Package yards proposes which yards to keep and which to move, from what each gave beside the
// others in the seasons of the book.
//
// What a yard gives is taken as a share of what its season gave to the average yard: a good season
// gives more everywhere, and differences grow with it. Honey of nothing has a share, a logarithm it
// has not. The seasons are fixed effects, the yards random ones (package mixed), so that a yard of few
// seasons is put near the average, and each effect has a band. The package is pure: the same book, the
// same question and the same instant give the same plan.
package yards
