package pages

import (
	"strings"

	"github.com/labstack/echo/v4"

	"pullbook/api/locale"
	"pullbook/api/request"
	"pullbook/db"
)

// decimalMark is what stands before the decimals of the CSV that a page leads to, and whose
// word that is. Every address and link of CSV goes by it.
type decimalMark struct {
	// Mark is db.Point or db.Comma.
	Mark string
	By   markBy
}

// markBy is whose word a decimal mark is.
type markBy string

const (
	// markOfOutfit: the outfit's spreadsheets write it.
	markOfOutfit markBy = "outfit"
	// markOfReader: nobody said what the outfit's spreadsheets write, and the reader's region
	// writes it.
	markOfReader markBy = "reader"
	// markAsked: it was asked for on this page, and is the other one.
	markAsked markBy = "asked"
)

// markParameter is the part of an address that says the mark, here and for the tables.
const markParameter = "decimal"

// decimalMarkOf returns the mark for a reader: the one that the page was asked for, else that
// of the outfit's spreadsheets, else that of the reader's region. It refuses any other mark
// that was asked for.
func decimalMarkOf(ctx echo.Context, o db.Outfit, reader locale.Language) (decimalMark, error) {
	usual := decimalMark{o.DecimalMark, markOfOutfit}
	if o.DecimalMark == "" {
		usual = decimalMark{db.Point, markOfReader}
		if reader.DecimalMark() == "," {
			usual.Mark = db.Comma
		}
	}
	switch asked := ctx.FormValue(markParameter); asked {
	case "", usual.Mark:
		return usual, nil
	case db.Point, db.Comma:
		return decimalMark{asked, markAsked}, nil
	default:
		return usual, request.ParameterFault(markParameter, asked, "The decimal mark is point or comma. Without one, it is that of the outfit's spreadsheets, or of the reader's region where nobody said it.")
	}
}

// Other is the other mark, to be asked for.
func (m decimalMark) Other() decimalMark {
	if m.Mark == db.Comma {
		return decimalMark{db.Point, markAsked}
	}
	return decimalMark{db.Comma, markAsked}
}

// Like is a figure as the mark has it.
func (m decimalMark) Like() string {
	if m.Mark == db.Comma {
		return "1134,4"
	}
	return "1134.4"
}

// address adds the mark to the address of a CSV. Without it, a table has points.
func (m decimalMark) address(to string) string {
	switch {
	case m.Mark == db.Point:
		return to
	case strings.Contains(to, "?"):
		return to + "&" + markParameter + "=" + m.Mark
	}
	return to + "?" + markParameter + "=" + m.Mark
}
