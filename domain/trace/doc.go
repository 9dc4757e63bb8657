// Package trace follows honey through the book: from a container back to the
// pulls, yards, runs, tanks, days, instruments and people behind it, and from a
// pull, yard, run, tank or day forward to every container that may hold its
// honey.
//
// Three answers stand side by side, because nobody knows how well a tank mixes:
//
//   - the share under perfect mixing, which is the ledger's own make-up;
//   - the least and the most that may be in a holder however badly it mixed. The
//     most is a maximum flow from the source to what
//     is asked over the movements in time: a node is a vessel between two of its
//     movements, and passes on to the next what it holds meanwhile, and to others
//     what they were given. The least is what a maximum flow of all else leaves.
//     Some way in which the honey can have gone attains each by the weights in the
//     book, so that none are tighter; then weights and shares of runs may be off (see
//     below). They are for a holder, or for several together, as the containers
//     of a lot or of a buyer;
//   - whether it may contain any at all. A tank run empty keeps a heel, an
//     amount that the book does not know; only a wash takes it away. So all that
//     was in a tank since it was last washed may be in what it holds next.
//
// No flow is more than what goes through any cut between sources and what is asked,
// and the smallest cut is the largest flow. So a bound is off by no more than the
// masses that its smallest cut goes through. The most is raised, and the least
// lowered, by three standard deviations of their sum: of two dips for what was moved,
// of a scale for a container, of a level for what stayed in a tank since it was last
// dipped or washed. How full boxes are shares a run among its pulls: by weights of a
// hoist, or give or take a fifth where boxes were counted. The shares of several runs
// err together, since one pull or yard is in several. The figures are those of the
// reconciliation (domain/balance); README.md says how wide that makes the bounds. All
// are parts of the net as weighed. What was written down wrong is not allowed for.
//
// A flow may be too much work where tanks are never emptied. Then wider bounds
// stand, which follow the movements in order: of m grams drawn from M grams of
// which between least and most are of the source, at most min(m, most) and at
// least max(0, m-(M-least)) are, each mass give or take what it may be off. NotTightest says so. It says so too where a
// drum was poured back and came into another that is traced with it, for its
// honey then counts in both.
//
// Honey that no entry explains counts as of no source under perfect mixing, and
// towards the most of all that was in the tank it was drawn from. What the
// line itself holds back between runs is not known: only tanks have heels here.
package trace
