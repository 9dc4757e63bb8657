// Package entries records entries and lists them: the contract's types on one side, the
// book's on the other. Sheets of others come in here, and whoever follows the book is told.
package entries

import "pullbook/api/request"

// Handler answers the operations of the contract that are this room's.
type Handler struct{ *request.Service }
