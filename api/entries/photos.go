package entries

import (
	"net/http"

	"github.com/labstack/echo/v4"
	openapi_types "github.com/oapi-codegen/runtime/types"

	"pullbook/api/request"
	"pullbook/db"
	"pullbook/domain/document"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/openapi"
)

var photoFiling = filing{"entry_id", message.F("the id of the entry that the picture was taken with"), document.MostPictureBytes, document.PictureTooLarge}

// PutPhoto takes a picture that was taken with an entry.
func (s Handler) PutPhoto(ctx echo.Context) error {
	p, err := s.Current(ctx)
	if err != nil {
		return err
	}
	f, err := photoFiling.read(ctx)
	if err != nil {
		return err
	}
	file, err := db.NewPhotoFile(f.Content)
	if err != nil {
		return err
	}
	e := &ledger.Entry{ID: f.ID, Kind: ledger.KindPhoto, OccurredAt: s.Now(), Body: &ledger.Photo{
		EntryID: f.Of, SHA256: file.Hex(), MediaType: file.MediaType, Bytes: int64(len(f.Content)), FileName: document.SafeName(f.Name, file.MediaType),
	}}
	e, again, err := put(s.Service, ctx, p, e, file, func(b *ledger.Book) []*ledger.Entry { return b.PhotosOf(f.Of) })
	if err != nil {
		return err
	}
	if again {
		return ctx.JSON(http.StatusOK, photoOut(e, false))
	}
	ctx.Response().Header().Set("Location", PhotoFilePath(e.ID))
	return ctx.JSON(http.StatusCreated, photoOut(e, false))
}

// PhotoFilePath is where the file of a picture is.
func PhotoFilePath(id ledger.ID) string { return request.PhotosPath + "/" + id.String() + "/file" }

func photoOut(e *ledger.Entry, withdrawn bool) openapi.Photo {
	x := e.Body.(*ledger.Photo)
	return openapi.Photo{
		Number: e.Number, ID: e.ID, RecordedAt: e.RecordedAt, RecordedBy: e.RecordedBy, EntryID: x.EntryID,
		FileName: x.FileName, MediaType: string(x.MediaType), Bytes: x.Bytes, Sha256: x.SHA256, Withdrawn: withdrawn,
	}
}

// ListPhotos lists pictures, withdrawn ones too.
func (s Handler) ListPhotos(ctx echo.Context, params openapi.ListPhotosParams) error {
	return listFilings(s, ctx, ledger.KindPhoto, params.Entry, photoOut)
}

// GetPhotoFile hands out the bytes of a picture as they came.
func (s Handler) GetPhotoFile(ctx echo.Context, id openapi_types.UUID) error {
	return s.handOut(ctx, id, ledger.KindPhoto, fault.New(fault.NotFound, "There is no picture %s.", id.String()))
}
