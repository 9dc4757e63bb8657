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

	"pullbook/api/request"
	"pullbook/db"
	"pullbook/domain/document"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// FilingForm is a file as it was sent, with the id of its entry and of what it belongs to.
type FilingForm struct {
	ID, Of uuid.UUID
	// Name is what the file was called by whoever sent it.
	Name    string
	Content []byte
}

// filing is a sort of files that come with entries of their own.
type filing struct {
	// of is the part of the form that names what the file belongs to, said so in a sentence.
	of   string
	said message.Text
	// most is how many bytes a file may have, and tooLarge says so of one that has more; 0
	// where it was not read to its end.
	most     int64
	tooLarge func(size int64) error
}

// read reads the parts of a form, the file as the last. It holds no more of the file than
// may be kept.
func (k filing) read(ctx echo.Context) (*FilingForm, error) {
	parts, err := ctx.Request().MultipartReader()
	if err != nil {
		return nil, fault.New(fault.Malformed, "The request is not a form. Send it as multipart/form-data with the parts id, %s and, last, file.", message.Verbatim(k.of))
	}
	f := &FilingForm{}
	for {
		part, err := parts.NextPart()
		switch {
		case err == io.EOF:
			return nil, formFault("file", nil, "This is missing: the file, as the last part.")
		case err != nil:
			return nil, k.broke(err)
		case part.FormName() != "file":
			if err := k.readPart(f, part); err != nil {
				return nil, err
			}
			continue
		case f.ID == uuid.Nil:
			return nil, formFault("id", nil, "This is missing: a UUID, made anew for it, before the file.")
		case f.Of == uuid.Nil:
			return nil, formFault(k.of, nil, "This is missing: %s, before the file.", k.said)
		}
		f.Name = part.FileName()
		if f.Content, err = k.contentOf(part, ctx.Request().ContentLength); err != nil {
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
		return nil, k.broke(err)
	}
}

func (k filing) readPart(f *FilingForm, part *multipart.Part) error {
	const most = 100 // an id has 36 characters
	text, err := io.ReadAll(io.LimitReader(part, most))
	if err != nil {
		return k.broke(err)
	}
	name, value := part.FormName(), string(text)
	into := map[string]*uuid.UUID{"id": &f.ID, k.of: &f.Of}[name]
	if into == nil {
		return formFault(name, nil, "There is no such part. Known here: id, %s, file.", message.Verbatim(k.of))
	}
	if *into, err = uuid.Parse(value); err != nil || request.ProperUUID(value) != nil {
		return formFault(name, request.Sent(value), "This should be a UUID.")
	}
	return nil
}

// contentOf reads a file into memory once, and gives up where it is larger than any. whole
// is the length of the form, less than 0 where it is not known.
func (k filing) contentOf(part io.Reader, whole int64) ([]byte, error) {
	room := k.most + 1
	if whole >= 0 {
		room = min(room, whole)
	}
	content := make([]byte, room)
	for n := 0; ; {
		got, err := part.Read(content[n:])
		switch n += got; {
		case int64(n) > k.most:
			return nil, k.tooLarge(0)
		case err == io.EOF:
			return content[:n], nil
		case err != nil:
			return nil, k.broke(err)
		case n == len(content):
			return nil, NotWhole(io.ErrUnexpectedEOF) // more than the form was said to have
		}
	}
}

// broke says why a file could not be read to its end.
func (k filing) broke(err error) error {
	if tooLarge := new(http.MaxBytesError); errors.As(err, &tooLarge) {
		return k.tooLarge(0)
	}
	return NotWhole(err)
}

// put stores a file with its entry. same are the entries that name files of the same thing:
// again is true where the book had it, under the same id or as the same bytes.
func put(s *request.Service, ctx echo.Context, p db.Principal, e *ledger.Entry, file *db.CertificateFile, same func(*ledger.Book) []*ledger.Entry) (had *ledger.Entry, again bool, err error) {
	if err := request.MayBring(p.Role, e); err != nil {
		return nil, false, err
	}
	err = s.Books.Read(ctx.Request().Context(), p, func(_ db.Outfit, b *ledger.Book) error {
		if sent, _ := b.Entry(e.ID); sent != nil {
			e.OccurredAt = sent.OccurredAt // it happened when it came the first time
			return nil
		}
		for _, c := range same(b) {
			if c.Body.(ledger.Filing).File().SHA256 == file.Hex() {
				had = c
			}
		}
		return nil
	})
	if err != nil || had != nil {
		return had, true, err
	}
	got, err := s.Books.AppendFiling(ctx.Request().Context(), p, e, file)
	if err == nil && !got.Again {
		s.Metrics.Entries.WithLabelValues(string(e.Kind)).Inc()
	}
	return got.Entry, got.Again, err
}

// handOut hands out the bytes of a file as they came. Nothing in them is believed: they
// come to be saved, and in a sandbox. missing says that no entry of the kind has the id.
func (s Handler) handOut(ctx echo.Context, id ledger.ID, kind ledger.Kind, missing error) error {
	p := request.Principal(ctx)
	within := ctx.Request().Context()
	var c ledger.File
	err := s.Books.Read(within, p, func(_ db.Outfit, b *ledger.Book) error {
		if e, _ := b.Entry(id); e != nil && e.Kind == kind {
			c = e.Body.(ledger.Filing).File()
		}
		return nil
	})
	if err == nil && c.SHA256 == "" {
		err = missing
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
		return fmt.Errorf("the file of entry %s was altered in the database: it is not handed out", id)
	}
	header.Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": document.SafeName(c.Name, c.MediaType)}))
	header.Set("Content-Security-Policy", "default-src 'none'; sandbox")
	header.Set("X-Content-Type-Options", "nosniff")
	return ctx.Blob(http.StatusOK, string(c.MediaType), file.Content)
}

// listFilings lists the files of a kind, withdrawn ones too; those that belong to one entry
// where of names it.
func listFilings[T any](s Handler, ctx echo.Context, kind ledger.Kind, of *uuid.UUID, say func(e *ledger.Entry, withdrawn bool) T) error {
	return s.Read(ctx, func(_ db.Outfit, b *ledger.Book) (any, error) {
		f, err := s.filterOf(ctx, b)
		if err != nil {
			return nil, err
		}
		if of != nil {
			f.about = append(f.about, *of)
		}
		f.all = true
		out, last := []T{}, int64(0)
		for e := range b.RecordedOf(kind, f.after) {
			if !f.takes(b, e) {
				continue
			}
			if len(out) == f.limit {
				request.NextPage(ctx, last)
				break
			}
			out, last = append(out, say(e, b.InForce(e.ID) == nil)), e.Number
		}
		return out, nil
	})
}
