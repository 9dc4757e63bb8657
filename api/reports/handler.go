// Package reports answers what the book says: the season, tanks, lots, verdicts, where honey
// came from and where it went, whether the weights add up.
package reports

import "pullbook/api/request"

// Handler answers the operations of the contract that are this room's.
type Handler struct{ *request.Service }
