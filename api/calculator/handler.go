// Package calculator answers questions about honey that need no book: moisture, density,
// colour, what a tank holds, what warming does.
package calculator

import "pullbook/api/request"

// Handler answers the operations of the contract that are this room's.
type Handler struct{ *request.Service }
