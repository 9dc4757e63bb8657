// Package sale proposes which honey on hand goes to which buyer, and what stays.
//
// It makes one program of all containers and all open contracts: whole containers, each at most
// once; no contract takes more than was agreed; honey goes only where it keeps each limit with the
// probability asked for. What was promised comes first. Beside that the assignment brings the most:
// price less discount less freight, and what a kilogram that is kept is said to be worth. The same
// program says what it would bring to mix honey for a contract first, so that the mix keeps the limits.
package sale
