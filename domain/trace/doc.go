// Package trace follows honey through the book: from a container back to the
// pulls, yards, runs, tanks, days, instruments and people behind it, and from a
// pull, yard, run, tank or day forward to every container that may hold its
// honey.
//
// Three answers stand side by side, because nobody knows how well a tank mixes:
//
//   - the share under perfect mixing, which is the ledger's own make-up;
//   - the least and the most that may be in a holder however badly it mixed, by
//     the weights in the book. The most is a maximum flow from the source to what
//     is asked over the movements in time: a node is a vessel between two of its
//     movements, and passes on to the next what it holds meanwhile, and to others
//     what they were given. The least is what a maximum flow of all else leaves.
//     Some way in which the honey can have gone attains each, so that none are
//     tighter. They are for a holder, or for several together, as the containers
//     of a lot or of a buyer;
//   - whether it may contain any at all. A tank run empty keeps a heel, an
//     amount that the book does not know; only a wash takes it away. So all that
//     was in a tank since it was last washed may be in what it holds next.
//
// Weights are taken as they stand in the book, and so is how the ledger shares a
// run among its pulls. Where either is off, the bounds are off as much: in made-up
// seasons never for a drum, and for a lot of many by up to 2 % of its net.
//
// A flow may be too much work where tanks are never emptied. Then wider bounds
// stand, which follow the movements in order: of m grams drawn from M grams of
// which between least and most are of the source, at most min(m, most) and at
// least max(0, m-(M-least)) are. NotTightest says so. It says so too where a
// drum was poured back and came into another that is traced with it, for its
// honey then counts in both.
//
// Honey that no entry explains counts as of no source under perfect mixing, and
// towards the most of all that was in the tank it was drawn from. What is shared
// among the pulls of a run is taken as the ledger shares it, and so is what the
// line itself holds back between runs: only tanks have heels here.
package trace
