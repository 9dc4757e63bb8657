// Package certificate makes a lot's printed certificate: what it says, how it is laid out on
// paper, and the seal that tells whether it is still true.
package certificate

import "pullbook/api/request"

// Handler answers the operations of the contract that are this room's.
type Handler struct{ *request.Service }
