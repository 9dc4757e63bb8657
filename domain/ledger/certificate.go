package ledger

import (
	"time"

	"pullbook/domain/document"
	"pullbook/domain/message"
)

// LaboratoryCertificate says that a file is the certificate of a laboratory's result. The
// file's bytes are kept beside the book; SHA256 holds them to it.
type LaboratoryCertificate struct {
	ReadingID ID `json:"reading_id"`
	// SHA256 is the hexadecimal digest of the file's bytes.
	SHA256    string        `json:"sha256"`
	MediaType document.Type `json:"media_type"`
	Bytes     int64         `json:"bytes"`
	// FileName is what it is called, made safe.
	FileName string `json:"file_name"`
}

func (*LaboratoryCertificate) Kind() Kind { return KindLaboratoryCertificate }

// How many files an outfit may keep, certificates and pictures together, so that none fills the disk that others need too.
// What was withdrawn counts as well: its file stays.
const (
	// MostCertificatesOfResult is how many certificates that stand a result may have.
	MostCertificatesOfResult = 5
	// MostCertificateBytesOfDay is for the last 24 hours, and MostCertificateBytes for
	// all time, in bytes.
	MostCertificateBytesOfDay = 100 << 20
	MostCertificateBytes      = 4 << 30
	// MostCertificates is how many files there may be.
	MostCertificates = 10_000
)

// laboratoryCertificate checks that a file belongs to a laboratory's result, and that
// there is room for it. That the file is what is said of it, whoever stores it has seen.
func (c *checker) laboratoryCertificate(x *LaboratoryCertificate, now time.Time) {
	if !x.File().names() {
		c.wrong("/file", x.SHA256, "This does not name a file that is kept.")
		return
	}
	if result := c.names("/reading_id", x.ReadingID, KindReading); result != nil {
		c.ofResult(x, result)
	}
	c.roomFor(x.File(), now)
}

func (c *checker) ofResult(x *LaboratoryCertificate, result *fact) {
	r, readable := result.subject.(*Reading)
	switch {
	case result.withdrawn() || result.takenBack:
		c.clash("/reading_id", x.ReadingID, "The result of entry %s was withdrawn. Put the certificate with the result that stands.", result.Number)
		return
	case readable && r.Laboratory == "":
		c.wrong("/reading_id", x.ReadingID, "Entry %s is no laboratory's result, so it has no certificate. Correct it to name the laboratory first, or name the result that the certificate is of.", result.Number)
		return
	}
	for _, f := range c.book.certificates[result.ID] {
		if f.Body.(*LaboratoryCertificate).SHA256 == x.SHA256 {
			c.clash("/file", x.FileName, "This result has this very file already: entry %s.", f.Number)
			return
		}
	}
	if n := len(c.book.certificates[result.ID]); n >= MostCertificatesOfResult {
		c.wrong("/file", x.FileName, "This result has %s certificates, and no more are taken. Put several pages into one PDF, or withdraw one that is not needed.", n)
	}
}

// roomFor holds a file against what the outfit may keep, certificates and pictures together.
// A file that is kept already takes no room.
func (c *checker) roomFor(x File, now time.Time) {
	files, all, today := map[string]bool{}, x.Bytes, x.Bytes
	for e, had := range c.book.Filings() {
		switch {
		case files[had.SHA256]:
			continue
		case had.SHA256 == x.SHA256:
			return
		}
		files[had.SHA256], all = true, all+had.Bytes
		if now.Sub(e.RecordedAt) < 24*time.Hour {
			today += had.Bytes
		}
	}
	switch {
	case today > MostCertificateBytesOfDay:
		c.wrong("/file", x.Bytes, "The outfit's certificates and pictures of the last 24 hours would come to %s MB with this one, and %s MB are taken. Send it tomorrow, or make the files smaller.", wholeMB(today), wholeMB(MostCertificateBytesOfDay))
	case all > MostCertificateBytes || len(files) >= MostCertificates:
		c.wrong("/file", x.Bytes, "The outfit keeps %s certificates and pictures of %s MB together, and there is room for %s files and %s MB. Those stay where they are. Keep this one on paper, and write its number into the entry.",
			len(files), wholeMB(all-x.Bytes), MostCertificates, wholeMB(MostCertificateBytes))
	}
}

// wholeMB is a size in MB of 1024 x 1024 bytes, what is begun counted whole.
func wholeMB(bytes int64) message.Number {
	return message.Number{V: float64((bytes + 1<<20 - 1) >> 20)}
}

// CertificatesOf gives the certificates that stand of a laboratory's result, in order of
// when they were put in.
func (b *Book) CertificatesOf(reading ID) []*Entry {
	var out []*Entry
	for _, f := range b.certificates[b.rootID(reading)] {
		out = append(out, f.Entry)
	}
	return out
}
