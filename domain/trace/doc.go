// Package trace follows honey through the book: from a container back to the
// pulls, yards, runs, tanks, days, instruments and people behind it, and from a
// pull, yard, run, tank or day forward to every container that may hold its
// honey.
//
// Three answers stand side by side, because nobody knows how well a tank mixes:
//
//   - the share under perfect mixing, which is the ledger's own make-up;
//   - the least and the most that may be in a holder however badly it mixed. Of
//     m grams drawn from M grams of which between least and most are of the
//     source, at most min(m, most) and at least max(0, m-(M-least)) are. These
//     follow the movements in order; they hold for each holder by itself, so
//     that the sums over several are bounds too, though not the tightest;
//   - whether it may contain any at all. A tank run empty keeps a heel, an
//     amount that the book does not know; only a wash takes it away. So all that
//     was in a tank since it was last washed may be in what it holds next.
//
// Honey that no entry explains counts as of no source under perfect mixing, and
// towards the most of all that was in the tank it was drawn from. What is shared
// among the pulls of a run is taken as the ledger shares it, and so is what the
// line itself holds back between runs: only tanks have heels here.
package trace
