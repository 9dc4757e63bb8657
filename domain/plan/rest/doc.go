// Package rest says how many days of a season are left: it plays the rest of it many times over, hour by
// hour, with the pace, the waits and the honey that the book has recorded.
//
// Clock and Station are the machinery, and know nothing of honey. Ask takes from a book what a question
// needs, and says of each figure where it comes from. Plan plays the rest of the season and counts: the day
// on which it ends, drums, what holds up the work, what one more of it would save.
//
// The package is pure: the same book, question, day and seed give the same answer.
package rest
