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

var certificateFiling = filing{"reading_id", message.F("the id of the laboratory's result"), document.MostBytes, document.TooLarge}

// ReadCertificate reads a laboratory's certificate as it was sent.
func ReadCertificate(ctx echo.Context) (*FilingForm, error) { return certificateFiling.read(ctx) }

// PutCertificate puts a certificate with its result. again is true where the book had it:
// under the same id, or the same bytes for the same result.
func PutCertificate(s *request.Service, ctx echo.Context, p db.Principal, f *FilingForm) (e *ledger.Entry, again bool, err error) {
	file, err := db.NewCertificateFile(f.Content)
	if err != nil {
		return nil, false, err
	}
	e = &ledger.Entry{ID: f.ID, Kind: ledger.KindLaboratoryCertificate, OccurredAt: s.Now(), Body: &ledger.LaboratoryCertificate{
		ReadingID: f.Of, SHA256: file.Hex(), MediaType: file.MediaType, Bytes: int64(len(f.Content)), FileName: document.SafeName(f.Name, file.MediaType),
	}}
	return put(s, ctx, p, e, file, func(b *ledger.Book) []*ledger.Entry { return b.CertificatesOf(f.Of) })
}

// PutLaboratoryCertificate takes the file of a laboratory's certificate.
func (s Handler) PutLaboratoryCertificate(ctx echo.Context) error {
	p, err := s.Current(ctx)
	if err != nil {
		return err
	}
	form, err := ReadCertificate(ctx)
	if err != nil {
		return err
	}
	e, again, err := PutCertificate(s.Service, ctx, p, form)
	if err != nil {
		return err
	}
	if again {
		return ctx.JSON(http.StatusOK, certificateOut(e, false))
	}
	ctx.Response().Header().Set("Location", CertificateFilePath(e.ID))
	return ctx.JSON(http.StatusCreated, certificateOut(e, false))
}

// CertificateFilePath is where the file of a certificate is.
func CertificateFilePath(id ledger.ID) string {
	return request.CertificatesPath + "/" + id.String() + "/file"
}

func certificateOut(e *ledger.Entry, withdrawn bool) openapi.LaboratoryCertificate {
	c := e.Body.(*ledger.LaboratoryCertificate)
	return openapi.LaboratoryCertificate{
		Number: e.Number, ID: e.ID, RecordedAt: e.RecordedAt, RecordedBy: e.RecordedBy, ReadingID: c.ReadingID,
		FileName: c.FileName, MediaType: string(c.MediaType), Bytes: c.Bytes, Sha256: c.SHA256, Withdrawn: withdrawn,
	}
}

// certificatesOut are the certificates that stand of a laboratory's result.
func certificatesOut(b *ledger.Book, reading ledger.ID) (out []openapi.LaboratoryCertificate) {
	for _, e := range b.CertificatesOf(reading) {
		out = append(out, certificateOut(e, false))
	}
	return out
}

// ListLaboratoryCertificates lists certificates, withdrawn ones too.
func (s Handler) ListLaboratoryCertificates(ctx echo.Context, params openapi.ListLaboratoryCertificatesParams) error {
	return listFilings(s, ctx, ledger.KindLaboratoryCertificate, params.Reading, certificateOut)
}

// GetLaboratoryCertificateFile hands out the bytes of a certificate as they came.
func (s Handler) GetLaboratoryCertificateFile(ctx echo.Context, id openapi_types.UUID) error {
	return s.handOut(ctx, id, ledger.KindLaboratoryCertificate, fault.New(fault.NotFound, "There is no laboratory's certificate %s.", id.String()))
}
