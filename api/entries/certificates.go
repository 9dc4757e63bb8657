package entries

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"mime"
	"mime/multipart"
	"net/http"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"
	openapi_types "github.com/oapi-codegen/runtime/types"

	"pullbook/api/request"
	"pullbook/db"
	"pullbook/domain/document"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/openapi"
)

// CertificateForm is a laboratory's certificate as it was sent.
type CertificateForm struct {
	ID, Reading uuid.UUID
	// Name is what the file was called by whoever sent it.
	Name    string
	Content []byte
}

// ReadCertificate reads the parts of a form, the file as the last. It holds no more of the
// file than may be kept.
func ReadCertificate(ctx echo.Context) (*CertificateForm, error) {
	parts, err := ctx.Request().MultipartReader()
	if err != nil {
		return nil, fault.New(fault.Malformed, "The request is not a form. Send it as multipart/form-data with the parts id, reading_id and, last, file.")
	}
	f := &CertificateForm{}
	for {
		part, err := parts.NextPart()
		switch {
		case err == io.EOF:
			return nil, formFault("file", nil, "This is missing: the file, as the last part.")
		case err != nil:
			return nil, uploadBroke(err)
		case part.FormName() != "file":
			if err := f.readPart(part); err != nil {
				return nil, err
			}
			continue
		case f.ID == uuid.Nil:
			return nil, formFault("id", nil, "This is missing: a UUID, made anew for it, before the file.")
		case f.Reading == uuid.Nil:
			return nil, formFault("reading_id", nil, "This is missing: the id of the laboratory's result, before the file.")
		}
		f.Name = part.FileName()
		if f.Content, err = contentOf(part, ctx.Request().ContentLength); err != nil {
			return nil, err
		}
		// Only the end of the form says that all of the file came. Where the form breaks
		// off, the error wraps io.EOF.
		switch _, err = parts.NextPart(); err {
		case io.EOF:
			return f, nil
		case nil:
			return nil, formFault("file", nil, "The file is the last part. Put the others before it.")
		}
		return nil, uploadBroke(err)
	}
}

func (f *CertificateForm) readPart(part *multipart.Part) error {
	const most = 100 // an id has 36 characters
	text, err := io.ReadAll(io.LimitReader(part, most))
	if err != nil {
		return uploadBroke(err)
	}
	name, value := part.FormName(), string(text)
	into := map[string]*uuid.UUID{"id": &f.ID, "reading_id": &f.Reading}[name]
	if into == nil {
		return formFault(name, nil, "There is no such part. Known here: id, reading_id, file.")
	}
	if *into, err = uuid.Parse(value); err != nil || request.ProperUUID(value) != nil {
		return formFault(name, request.Sent(value), "This should be a UUID.")
	}
	return nil
}

// contentOf reads a file into memory once, and gives up where it is larger than any. whole
// is the length of the form, less than 0 where it is not known.
func contentOf(part io.Reader, whole int64) ([]byte, error) {
	room := int64(document.MostBytes + 1)
	if whole >= 0 {
		room = min(room, whole)
	}
	content := make([]byte, room)
	for n := 0; ; {
		got, err := part.Read(content[n:])
		switch n += got; {
		case n > document.MostBytes:
			return nil, document.TooLarge(0)
		case err == io.EOF:
			return content[:n], nil
		case err != nil:
			return nil, uploadBroke(err)
		case n == len(content):
			return nil, NotWhole(io.ErrUnexpectedEOF) // more than the form was said to have
		}
	}
}

// uploadBroke says why a certificate could not be read to its end.
func uploadBroke(err error) error {
	if tooLarge := new(http.MaxBytesError); errors.As(err, &tooLarge) {
		return document.TooLarge(0)
	}
	return NotWhole(err)
}

// PutCertificate puts a certificate with its result. again is true where the book had it:
// under the same id, or the same bytes for the same result.
func PutCertificate(s *request.Service, ctx echo.Context, p db.Principal, f *CertificateForm) (e *ledger.Entry, again bool, err error) {
	file, err := db.NewCertificateFile(f.Content)
	if err != nil {
		return nil, false, err
	}
	e = &ledger.Entry{ID: f.ID, Kind: ledger.KindLaboratoryCertificate, OccurredAt: s.Now(), Body: &ledger.LaboratoryCertificate{
		ReadingID: f.Reading, SHA256: file.Hex(), MediaType: file.MediaType, Bytes: int64(len(f.Content)), FileName: document.SafeName(f.Name, file.MediaType),
	}}
	if err := request.MayBring(p.Role, e); err != nil {
		return nil, false, err
	}
	var had *ledger.Entry
	err = s.Books.Read(ctx.Request().Context(), p, func(_ db.Outfit, b *ledger.Book) error {
		if sent, _ := b.Entry(f.ID); sent != nil {
			e.OccurredAt = sent.OccurredAt // it happened when it came the first time
			return nil
		}
		for _, c := range b.CertificatesOf(f.Reading) {
			if c.Body.(*ledger.LaboratoryCertificate).SHA256 == file.Hex() {
				had = c
			}
		}
		return nil
	})
	if err != nil || had != nil {
		return had, true, err
	}
	got, err := s.Books.AppendCertificate(ctx.Request().Context(), p, e, file)
	if err == nil && !got.Again {
		s.Metrics.Entries.WithLabelValues(string(e.Kind)).Inc()
	}
	return got.Entry, got.Again, err
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
	return s.Read(ctx, func(_ db.Outfit, b *ledger.Book) (any, error) {
		f, err := s.filterOf(ctx, b)
		if err != nil {
			return nil, err
		}
		if params.Reading != nil {
			f.about = append(f.about, *params.Reading)
		}
		f.all = true
		out := []openapi.LaboratoryCertificate{}
		for e := range b.RecordedOf(ledger.KindLaboratoryCertificate, f.after) {
			if !f.takes(b, e) {
				continue
			}
			if len(out) == f.limit {
				request.NextPage(ctx, out[len(out)-1].Number)
				break
			}
			out = append(out, certificateOut(e, b.InForce(e.ID) == nil))
		}
		return out, nil
	})
}

// GetLaboratoryCertificateFile hands out the bytes of a certificate as they came. Nothing
// in them is believed: they come to be saved, and in a sandbox.
func (s Handler) GetLaboratoryCertificateFile(ctx echo.Context, id openapi_types.UUID) error {
	p := request.Principal(ctx)
	within := ctx.Request().Context()
	var c *ledger.LaboratoryCertificate
	err := s.Books.Read(within, p, func(_ db.Outfit, b *ledger.Book) error {
		if e, _ := b.Entry(id); e != nil {
			c, _ = e.Body.(*ledger.LaboratoryCertificate)
		}
		return nil
	})
	if err == nil && c == nil {
		err = fault.New(fault.NotFound, "There is no laboratory's certificate %s.", id.String())
	}
	if err != nil {
		return err
	}
	var digest [sha256.Size]byte
	if n, err := hex.Decode(digest[:], []byte(c.SHA256)); err != nil || n != len(digest) {
		return fmt.Errorf("entry %s names no file: %q", id, c.SHA256)
	}
	header := ctx.Response().Header()
	tag := `"` + c.SHA256 + `"`
	header.Set("ETag", tag)
	header.Set("Cache-Control", "private, no-cache")
	header.Set("Vary", "Authorization, Cookie")
	if request.SameTag(ctx.Request().Header.Get("If-None-Match"), tag) {
		return ctx.NoContent(http.StatusNotModified)
	}
	file, err := s.DB.CertificateFile(within, p.Outfit, digest)
	if err != nil {
		return err
	}
	if sha256.Sum256(file.Content) != digest {
		return fmt.Errorf("the file of the certificate %s was altered in the database: it is not handed out", id)
	}
	header.Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": document.SafeName(c.FileName, c.MediaType)}))
	header.Set("Content-Security-Policy", "default-src 'none'; sandbox")
	header.Set("X-Content-Type-Options", "nosniff")
	return ctx.Blob(http.StatusOK, string(c.MediaType), file.Content)
}
