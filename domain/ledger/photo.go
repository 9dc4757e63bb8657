package ledger

import (
	"encoding/hex"
	"iter"
	"time"

	"pullbook/domain/document"
)

// Photo says that a picture was taken with another entry: the label, the prism, the gauge.
// The picture's bytes are kept beside the book as those of a certificate are; SHA256 holds
// them to it.
type Photo struct {
	EntryID   ID            `json:"entry_id"`
	SHA256    string        `json:"sha256"`
	MediaType document.Type `json:"media_type"`
	Bytes     int64         `json:"bytes"`
	FileName  string        `json:"file_name"`
}

func (*Photo) Kind() Kind { return KindPhoto }

// MostPhotosOfEntry is how many pictures that stand an entry may have.
const MostPhotosOfEntry = 3

// File is what an entry says of a file that is kept beside the book: the hexadecimal
// digest of its bytes, how many there are, and what it is and is called.
type File struct {
	SHA256    string
	MediaType document.Type
	Bytes     int64
	Name      string
}

// Filing is the body of an entry that names a file.
type Filing interface {
	Body
	File() File
}

// File is the picture's.
func (x *Photo) File() File { return File{x.SHA256, x.MediaType, x.Bytes, x.FileName} }

// File is the certificate's.
func (x *LaboratoryCertificate) File() File {
	return File{x.SHA256, x.MediaType, x.Bytes, x.FileName}
}

// Files reports whether entries of a kind name a file that is kept beside the book.
func (k Kind) Files() bool { return k == KindLaboratoryCertificate || k == KindPhoto }

// Filings lists all entries that name a file and can be read, withdrawn ones too.
func (b *Book) Filings() iter.Seq2[*Entry, File] {
	return func(yield func(*Entry, File) bool) {
		for _, kind := range []Kind{KindLaboratoryCertificate, KindPhoto} {
			for e := range b.RecordedOf(kind, 0) {
				if x, readable := e.Body.(Filing); readable && !yield(e, x.File()) {
					return
				}
			}
		}
	}
}

// names reports whether what is said of a file can be so.
func (f File) names() bool {
	digest, err := hex.DecodeString(f.SHA256)
	return err == nil && len(digest) == 32 && f.Bytes > 0 && f.Bytes <= document.MostBytes && f.MediaType.Ending() != "" && f.Name != ""
}

// photo checks that a picture belongs to an entry, and that there is room for it. That it
// is a picture, whoever stores it has seen.
func (c *checker) photo(x *Photo, now time.Time) {
	if !x.File().names() || x.Bytes > document.MostPictureBytes {
		c.wrong("/file", x.SHA256, "This does not name a picture that is kept.")
		return
	}
	f := c.book.fact(x.EntryID)
	switch {
	case f == nil:
		c.wrong("/entry_id", x.EntryID, "The book has no entry with this id: record the entry first, then its picture.")
		return
	case !f.root.pictured():
		c.wrong("/entry_id", x.EntryID, "Entry %s is a %s, which has no pictures. Name the entry that the picture was taken with.", f.Number, f.root.Kind.Noun())
		return
	case f.root.withdrawn() || f.root.takenBack:
		c.clash("/entry_id", x.EntryID, "Entry %s was withdrawn. Put the picture with the entry that stands.", f.Number)
		return
	}
	had := c.book.photos[f.root.ID]
	for _, p := range had {
		if p.Body.(*Photo).SHA256 == x.SHA256 {
			c.clash("/file", x.FileName, "Entry %s has this very picture already: entry %s.", f.Number, p.Number)
			return
		}
	}
	if len(had) >= MostPhotosOfEntry {
		c.wrong("/file", x.FileName, "Entry %s has %s pictures, and no more are taken. Withdraw one that is not needed.", f.Number, len(had))
	}
	c.roomFor(x.File(), now)
}

// pictured reports whether a picture may be taken with what an entry tells.
func (f *fact) pictured() bool {
	switch f.Kind {
	case KindOperator, KindImport, KindLaboratoryCertificate, KindPhoto, KindWithdrawal, KindAcceptance, KindUnreadable:
		return false
	}
	return true
}

// PhotosOf gives the pictures that stand of an entry, in order of when they were put in.
func (b *Book) PhotosOf(entry ID) []*Entry {
	var out []*Entry
	for _, f := range b.photos[b.rootID(entry)] {
		out = append(out, f.Entry)
	}
	return out
}
