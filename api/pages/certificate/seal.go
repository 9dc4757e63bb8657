package certificate

import (
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base64"
	"encoding/binary"
	"encoding/hex"
	"encoding/json"
	"fmt"

	"github.com/google/uuid"

	"pullbook/api/wire"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/season"
)

// VerifyPath begins the address that a certificate's code leads to.
const VerifyPath = "/verify/"

// seal names a lot as a book had it, in a way that only who has the book can
// make up: its mark rests on the whole digest of the book's last entry then, of
// which a certificate shows the beginning only.
type seal struct {
	Outfit uuid.UUID
	lot    ledger.ID
	entry  int64
	mark   [sealMarkSize]byte
}

const (
	sealMarkSize = 16
	sealSize     = 16 + 16 + 8 + sealMarkSize
)

// sealOf is the seal of a lot as the book has it, which has an entry.
func sealOf(outfit uuid.UUID, b *ledger.Book, lot ledger.ID) seal {
	s := seal{Outfit: outfit, lot: b.Root(lot), entry: b.Len()}
	s.mark = s.markBy(b.Numbered(s.entry).Digest)
	return s
}

// head is all but the mark.
func (s seal) head() []byte {
	out := append(make([]byte, 0, sealSize), s.Outfit[:]...)
	out = append(out, s.lot[:]...)
	return binary.BigEndian.AppendUint64(out, uint64(s.entry))
}

// markBy is the first half of SHA-256 over the seal's head and the digest of
// its entry.
func (s seal) markBy(digest [sha256.Size]byte) (mark [sealMarkSize]byte) {
	sum := sha256.Sum256(append(s.head(), digest[:]...))
	copy(mark[:], sum[:])
	return mark
}

func (s seal) String() string {
	return base64.RawURLEncoding.EncodeToString(append(s.head(), s.mark[:]...))
}

// ParseSeal reads a seal as String wrote it.
func ParseSeal(text string) (s seal, ok bool) {
	raw, err := base64.RawURLEncoding.Strict().DecodeString(text)
	if err != nil || len(raw) != sealSize {
		return s, false
	}
	copy(s.Outfit[:], raw)
	copy(s.lot[:], raw[16:])
	s.entry = int64(binary.BigEndian.Uint64(raw[32:]))
	copy(s.mark[:], raw[40:])
	return s, true
}

// genuine reports whether the book gave the seal.
func (s seal) genuine(b *ledger.Book) bool {
	if s.entry < 1 || s.entry > b.Len() {
		return false
	}
	mark := s.markBy(b.Numbered(s.entry).Digest)
	return subtle.ConstantTimeCompare(mark[:], s.mark[:]) == 1
}

// vouched is what a certificate says that must not change after the drum has left.
// Where containers are, the store's temperatures and the forecast are not part
// of it: they go on by themselves.
type vouched struct {
	Lot        ledger.Lot
	Containers []vouchedContainer
	MakeUp     []season.Source
	Readings   []reading
	Checks     []vouchedCheck
	Status     ledger.Status
	Override   string
	Sent       []onAWord `json:",omitempty"`
}

type vouchedContainer struct {
	Number, Kind, Seal  string
	TareG, GrossG, NetG int64
}

type vouchedCheck struct {
	On       string
	Entry    int64
	Outdated string
	Result   ledger.RuleSetResult
}

// vouchedOf takes from a book what its certificate of a lot vouches for, and returns what
// makes the SHA-256 of that. It fails where no such lot stands.
func vouchedOf(b *ledger.Book, lot ledger.ID) (digest func() ([sha256.Size]byte, error), err error) {
	r, err := season.Lot(b, lot)
	if err != nil {
		return nil, err
	}
	decided := b.Decided(lot, EndOfTime)
	checks, err := checksOf(b, r.LotID)
	if err != nil {
		return nil, err
	}
	v := vouched{Lot: r.Lot, MakeUp: r.MakeUp, Status: decided.Status, Override: overrideOf(decided), Sent: sentOnAWord(b, r)}
	for _, c := range r.Containers {
		v.Containers = append(v.Containers, vouchedContainer{c.Number, c.Kind, c.Seal, c.TareG, c.GrossG, c.NetG})
	}
	readings := readingsOf(b, r)
	return func() (digest [sha256.Size]byte, err error) {
		v.Readings = figuresRead(readings)
		v.Checks = wire.Each(checks, func(c check) vouchedCheck { return vouchedCheck{c.On, c.Entry, c.Outdated.String(), c.Result} })
		content, err := json.Marshal(v)
		if err != nil {
			return digest, fmt.Errorf("certificate of lot %s: %w", r.Code, err)
		}
		return sha256.Sum256(content), nil
	}, nil
}

// What a holder of a certificate is told, and all that is told.
const (
	sealStands     = "stands"
	sealSuperseded = "superseded since"
	Unknown        = "unknown"
)

// Standing says whether a certificate says what the book says now.
type Standing func() (string, error)

func always(what string) Standing { return func() (string, error) { return what, nil } }

// StandingOf takes from a book what a certificate said and what it would say now.
func (s seal) StandingOf(b *ledger.Book) (Standing, error) {
	if !s.genuine(b) {
		return always(Unknown), nil
	}
	then, err := b.AsKnown(s.entry)
	if err != nil {
		return nil, err
	}
	was, err := vouchedOf(then, s.lot)
	if fault.CodeOf(err) == fault.NotFound {
		return always(Unknown), nil
	}
	if err != nil {
		return nil, err
	}
	is, err := vouchedOf(b, s.lot)
	if fault.CodeOf(err) == fault.NotFound {
		return always(sealSuperseded), nil
	}
	return func() (string, error) { return compare(was, is) }, err
}

func compare(was, is func() ([sha256.Size]byte, error)) (string, error) {
	before, err := was()
	if err != nil {
		return "", err
	}
	now, err := is()
	if err == nil && now != before {
		return sealSuperseded, nil
	}
	return sealStands, err
}

// shownDigest is how much of an entry's digest a certificate shows: enough to compare
// it by, not enough to make a seal of.
func shownDigest(digest [sha256.Size]byte) string { return hex.EncodeToString(digest[:8]) }
