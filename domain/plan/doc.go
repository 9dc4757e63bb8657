// Package plan proposes what to do next, from what the book knows: which honey to blend
// with which.
//
// A plan says what it rests on, how sure it is, what the next best choices would cost and
// what would change its mind. It records nothing: what is done is written down when it is
// done. The package is pure: the same book, the same question and the same day give the
// same plan, unless the search was stopped by its clock, which the plan then says.
package plan
