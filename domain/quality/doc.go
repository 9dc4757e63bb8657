// Package quality says of a lot in the book whether it may be sold, whether it
// will ferment, how long it keeps, and what a buyer owes for it.
//
// It joins the book (domain/ledger) with the standards (domain/standard), the
// properties of honey (domain/honey) and what heat does to it (domain/heat). It
// is pure: the same book and the same day give the same answer.
//
// A verdict rests on readings of the lot and its containers alone. What is
// known only from its tanks or from a forecast is an Estimate, shown beside the
// verdict, and never meets a limit.
package quality
