// Package feeds gives the book as tables for spreadsheets: CSV, JSON Lines and workbooks, the
// season's workbook, and the archive.
package feeds

import "pullbook/api/request"

// Handler answers the operations of the contract that are this room's.
type Handler struct{ *request.Service }
