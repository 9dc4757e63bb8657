package pages

import (
	"net/http"

	"github.com/labstack/echo/v4"
	"github.com/xuri/excelize/v2"
)

// mimeWorkbook is of a workbook of Office Open XML.
const mimeWorkbook = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"

// sendWorkbook answers with a workbook as a file of that name, and closes it.
func sendWorkbook(ctx echo.Context, name string, book *excelize.File) error {
	defer book.Close()
	body, err := book.WriteToBuffer()
	if err != nil {
		return err
	}
	ctx.Response().Header().Set(echo.HeaderContentDisposition, `attachment; filename="`+name+`"`)
	ctx.Response().Header().Set("Cache-Control", "no-store")
	return ctx.Blob(http.StatusOK, mimeWorkbook, body.Bytes())
}
