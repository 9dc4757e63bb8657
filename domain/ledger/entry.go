// Package ledger is the book: entries that are never changed, and the replay
// that turns them into the state of the honey house at any instant.
//
// It does no I/O and asks no clock: the same entries give the same state, byte
// for byte, whatever the order in which they were recorded.
package ledger

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"time"

	jsonv2 "github.com/go-json-experiment/json"
	"github.com/google/uuid"
)

// ID names an entry for ever. The client makes it before it sends.
type ID = uuid.UUID

// Entry is one fact in an outfit's book.
type Entry struct {
	// Number is the entry's place in the outfit's book: 1, 2, 3 without a gap.
	Number int64
	ID     ID
	Kind   Kind
	// OccurredAt is when it happened in the shed.
	OccurredAt time.Time
	// RecordedAt is when the book learned of it.
	RecordedAt time.Time
	// RecordedBy is the name of the person or program, as it was then.
	RecordedBy string
	// Replaces names the entry that this one corrects or withdraws; the zero
	// ID for a first entry.
	Replaces ID
	// Reason says why a correction or withdrawal was made.
	Reason string
	// AsEntered keeps what was typed, by field: "net_kg": "652 lb".
	AsEntered map[string]string
	// Via says how it came: Import for figures taken over from older records,
	// whose lateness is no oddity; empty for entries as they happen.
	Via  Via
	Body Body
	// Digest chains this entry to the one before it; see Chain.
	Digest [sha256.Size]byte
}

// Via says how an entry came to the book.
type Via string

const (
	// ViaPaper is an entry typed from a clipboard sheet.
	ViaPaper Via = "paper"
	// ViaImport is an entry taken over from older records.
	ViaImport Via = "import"
	// ViaDevice is an entry sent by a scale, logger or the like.
	ViaDevice Via = "device"
)

// Body is what an entry says. Each kind has one Go type.
type Body interface {
	Kind() Kind
}

// Content is the body and what was typed as the compact JSON that the book
// stores. Its bytes are covered by the digest.
func (e *Entry) Content() ([]byte, error) {
	if u, is := e.Body.(*Unreadable); is {
		return u.Raw, nil
	}
	content, err := json.Marshal(struct {
		Body      Body              `json:"body"`
		AsEntered map[string]string `json:"as_entered,omitempty"`
		Via       Via               `json:"via,omitempty"`
	}{e.Body, e.AsEntered, e.Via})
	if err != nil {
		return nil, fmt.Errorf("entry %s (%s): %w", e.ID, e.Kind, err)
	}
	return content, nil
}

// SetContent reads what Content wrote. The kind must be set.
func (e *Entry) SetContent(content []byte) (err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("entry %d (%s): the reader gave up: %v", e.Number, e.Kind, p)
		}
	}()
	if tooDeep(content) {
		return fmt.Errorf("entry %d (%s): its content nests deeper than %d", e.Number, e.Kind, MostDepth)
	}
	if endless(e.OccurredAt) || endless(e.RecordedAt) {
		return fmt.Errorf("entry %d (%s): it happened at %s and was recorded at %s", e.Number, e.Kind, timeText(e.OccurredAt), timeText(e.RecordedAt))
	}
	if body, asEntered, via, plain := readPlain(e.Kind, content); plain {
		e.Body, e.AsEntered, e.Via = body, asEntered, via
		return nil
	}
	body, err := newBody(e.Kind)
	if err != nil {
		return err
	}
	in := struct {
		Body      Body              `json:"body"`
		AsEntered map[string]string `json:"as_entered"`
		Via       Via               `json:"via"`
	}{Body: body}
	// A book is opened by decoding each of its entries, which this does in half the
	// time of encoding/json where it is not plain.
	if err := jsonv2.Unmarshal(content, &in); err != nil {
		return fmt.Errorf("entry %d (%s): %w", e.Number, e.Kind, err)
	}
	if in.Body == nil {
		return fmt.Errorf("entry %d (%s): its body is null", e.Number, e.Kind)
	}
	e.Body, e.AsEntered, e.Via = in.Body, in.AsEntered, in.Via
	return nil
}

// timeLayout keeps microseconds, the precision the database has.
const timeLayout = "2006-01-02T15:04:05.000000Z"

// Canonical is the byte form of an entry that its digest covers: one JSON
// object with the fields in this order and the content exactly as stored.
func (e *Entry) Canonical(content []byte) []byte {
	kind := e.Kind
	if u, is := e.Body.(*Unreadable); is {
		kind = u.Was
	}
	const around = 256 // names, ids and times
	out := make([]byte, 0, around+len(e.RecordedBy)+len(e.Reason)+len(content))
	for _, field := range [...]struct{ name, value string }{
		{`{"id":`, e.ID.String()}, {`,"kind":`, string(kind)},
		{`,"occurred_at":`, timeText(e.OccurredAt)}, {`,"recorded_at":`, timeText(e.RecordedAt)},
		{`,"recorded_by":`, e.RecordedBy}, {`,"replaces":`, idText(e.Replaces)}, {`,"reason":`, e.Reason},
	} {
		out = appendText(append(out, field.name...), field.value)
	}
	out = append(append(out, `,"content":`...), content...)
	return append(out, '}')
}

// appendText appends a text as encoding/json writes it.
func appendText(to []byte, text string) []byte {
	for i := range len(text) {
		if c := text[i]; c < ' ' || c > '~' || c == '"' || c == '\\' || c == '<' || c == '>' || c == '&' {
			written, err := json.Marshal(text)
			if err != nil {
				panic(fmt.Sprintf("strings always marshal: %v", err))
			}
			return append(to, written...)
		}
	}
	return append(append(append(to, '"'), text...), '"')
}

// Chain is the digest of an entry: SHA-256 over the digest before it, its
// number as eight bytes (most significant first) and its canonical form. The
// digest before the first entry is 32 zero bytes.
func Chain(before [sha256.Size]byte, number int64, canonical []byte) [sha256.Size]byte {
	h := sha256.New()
	h.Write(before[:])
	var n [8]byte
	binary.BigEndian.PutUint64(n[:], uint64(number))
	h.Write(n[:])
	h.Write(canonical)
	var d [sha256.Size]byte
	h.Sum(d[:0])
	return d
}

// SameFact reports whether two entries say the same: everything but the number,
// the digest and who brought it when.
func (e *Entry) SameFact(o *Entry) bool {
	if e.ID != o.ID || e.Kind != o.Kind || !e.OccurredAt.Equal(o.OccurredAt) ||
		e.Replaces != o.Replaces || e.Reason != o.Reason {
		return false
	}
	mine, theirs := *e, *o
	mine.Body, theirs.Body = asSent(e.Body), asSent(o.Body)
	a, errA := mine.Content()
	b, errB := theirs.Content()
	return errA == nil && errB == nil && bytes.Equal(a, b)
}

func idText(id ID) string {
	if id == (ID{}) {
		return ""
	}
	return id.String()
}
