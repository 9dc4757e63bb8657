// Package standard judges a lot of honey against published standards and
// against a buyer's own limits.
//
// Everything a standard says is data: a rule set is one JSON file (see
// [RuleSet]) holding limits, the conditions under which each limit applies, its
// clause and where the text was seen. Adding a rule set, an edition or a
// sampling plan needs no code. The same schema serves a buyer's limits.
//
// The flow is: results and declarations of one lot become [Evidence] (checked
// and combined once), and [RuleSet.Check] compares the evidence with one rule
// set, giving a [Check] with one [LimitVerdict] for every limit.
//
// The package is pure: no I/O beyond its embedded data, no clock, no randomness.
package standard
