package pages

import (
	"errors"
	"net/http"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"pullbook/api/entries"
	"pullbook/api/locale"
	"pullbook/api/request"
	"pullbook/db"
	"pullbook/domain/document"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
)

// papersView are the certificates of a laboratory's result, or the one that an entry is.
type papersView struct {
	// Shown: the entry is a laboratory's result, or a certificate.
	Shown bool
	Files []paperView
	// Result is where the result of a certificate is; empty on the result's own page.
	Result string
	// MayPut: whoever looks may put a certificate with the result. NewID is its entry's.
	MayPut bool
	NewID  string
	// Why says what was wrong with the file that was sent.
	Why string
}

// paperView is one certificate, as a link to its file. Journal is where its entry is.
type paperView struct{ Address, Name, About, SHA256, Journal, Entry string }

// papers is what is told of certificates, before it is put into words.
type papers struct {
	shown, mayPut bool
	result        string
	files         []*ledger.Entry
}

// papersOf takes from a book what is told of the certificates of an entry.
func papersOf(b *ledger.Book, role db.Role, id ledger.ID) papers {
	if e, _ := b.Entry(id); e != nil {
		if c, is := e.Body.(*ledger.LaboratoryCertificate); is {
			return papers{shown: true, files: []*ledger.Entry{e}, result: journalPath + "/" + b.Root(c.ReadingID).String()}
		}
	}
	r := ledger.Named[ledger.Reading](b, id)
	if r == nil || r.Laboratory == "" {
		return papers{}
	}
	return papers{
		shown: true, files: b.CertificatesOf(id),
		mayPut: b.InForce(id) != nil && request.MayRecord(role, ledger.KindLaboratoryCertificate) == nil,
	}
}

func (p papers) inWords(f locale.Voice) papersView {
	return papersView{Shown: p.shown, MayPut: p.mayPut, NewID: uuid.NewString(), Result: p.result, Files: paperRows(f, p.files)}
}

func paperRows(f locale.Voice, files []*ledger.Entry) (out []paperView) {
	for _, e := range files {
		c := e.Body.(*ledger.LaboratoryCertificate)
		out = append(out, paperView{
			Address: entries.CertificateFilePath(e.ID), Name: c.FileName, SHA256: c.SHA256, Journal: journalPath + "/" + e.ID.String(), Entry: f.Count(int(e.Number)),
			About: f.Say("%s, %s kB, put in %s by %s", paperKind(c.MediaType), f.Count(int((c.Bytes+1023)/1024)), f.Minute(e.RecordedAt), e.RecordedBy),
		})
	}
	return out
}

// pictures are those that stand of an entry, or the one that an entry is.
func picturesOf(b *ledger.Book, id ledger.ID) (files []*ledger.Entry, of string) {
	if e, _ := b.Entry(id); e != nil {
		if x, is := e.Body.(*ledger.Photo); is {
			return []*ledger.Entry{e}, journalPath + "/" + b.Root(x.EntryID).String()
		}
	}
	return b.PhotosOf(id), ""
}

// pictureView is a picture to look at. Address is its file, Journal where its entry is.
type pictureView struct{ Address, Says, About, SHA256, Journal, Entry string }

func pictureRows(f locale.Voice, files []*ledger.Entry) (out []pictureView) {
	for i, e := range files {
		x := e.Body.(*ledger.Photo)
		out = append(out, pictureView{
			Address: entries.PhotoFilePath(e.ID), Says: f.Say("Picture %s with this entry", i+1), SHA256: x.SHA256, Journal: journalPath + "/" + e.ID.String(), Entry: f.Count(int(e.Number)),
			About: f.Say("%s, %s kB, put in %s by %s", paperKind(x.MediaType), f.Count(int((x.Bytes+1023)/1024)), f.Minute(e.RecordedAt), e.RecordedBy),
		})
	}
	return out
}

// paperKind is what a file is called among people.
func paperKind(t document.Type) string {
	switch t {
	case document.PDF:
		return "PDF"
	case document.JPEG:
		return "JPEG"
	}
	return "PNG"
}

// putCertificate takes the file that the page of a laboratory's result sends, and shows the
// page again, with what was wrong where it was refused.
func (p *pages) putCertificate(ctx echo.Context) error {
	who, err := p.Visitor(ctx)
	if err != nil {
		return err
	}
	if err := request.MayRecord(who.Role, ledger.KindLaboratoryCertificate); err != nil {
		return err
	}
	result, err := uuid.Parse(ctx.Param("id"))
	if err != nil {
		return errNoSuchEntry
	}
	form, err := entries.ReadCertificate(ctx)
	if err == nil && form.Of != result {
		return errNoSuchEntry
	}
	if err == nil {
		_, _, err = entries.PutCertificate(p.Service, ctx, who, form)
	}
	if refusal := (*fault.Error)(nil); errors.As(err, &refusal) && len(refusal.Fields) == 1 {
		return p.resultAgain(ctx, result, refusal)
	}
	if err != nil {
		return err
	}
	return ctx.Redirect(http.StatusSeeOther, journalPath+"/"+result.String()+"#papers")
}

// resultAgain shows the page of a result whose certificate was refused.
func (p *pages) resultAgain(ctx echo.Context, result ledger.ID, refusal *fault.Error) error {
	var f locale.Voice
	var words func(locale.Voice) *entryView
	err := p.look(ctx, func(who db.Principal, o db.Outfit, b *ledger.Book) (err error) {
		f = request.VoiceFor(ctx, o, b)
		words, err = p.tellEntry(b, who.Role, result)
		return err
	})
	if err != nil {
		return err
	}
	v := words(f)
	v.Papers.Why = refusal.Fields[0].Message.In(f)
	return p.page(ctx, request.ProblemOf[refusal.Code].Status, "entry.html", v)
}
