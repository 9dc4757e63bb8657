package ledger

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
	"unicode/utf8"

	"pullbook/domain/fault"
)

// MostDepth and MostContent bound the content of an entry: how deep its JSON may
// nest, and how many bytes it may have. Reading a book holds to the same depth, so
// that whatever can be stored can be read.
const (
	MostDepth   = 64
	MostContent = 8 << 20
)

// ReadBack gives the content that the book stores for an entry, and the entry as
// whoever opens the book will read it. Every entry goes through it before it is
// stored: an entry that could not be read again would close the book to everybody.
// The error is a fault in words, and then nothing may be stored.
func ReadBack(e *Entry) (read *Entry, content []byte, err error) {
	content, err = e.Content()
	if err != nil {
		return nil, nil, unkept(err)
	}
	if size := len(content) + len(e.Reason) + len(e.RecordedBy); size > MostContent {
		return nil, nil, fault.New(fault.Invalid, "Nothing was stored: the entry has %s bytes, and the book takes up to %s. Leave some of it out, or make several entries of it.", size, MostContent)
	}
	if !plainText(e.Reason) || !plainText(e.RecordedBy) || hasNUL(content) {
		return nil, nil, fault.New(fault.Invalid, "Nothing was stored: a text of the entry has a character that cannot be kept. Type that text anew.")
	}
	if year := e.OccurredAt.UTC().Year(); year < 1 || year > 9999 {
		return nil, nil, unkept(fmt.Errorf("it happened in the year %d", year))
	}
	again := *e
	if err := again.SetContent(content); err != nil {
		return nil, nil, unkept(err)
	}
	reread, err := again.Content()
	if err == nil && !bytes.Equal(reread, content) {
		err = errors.New("it would be read as something else than was sent")
	}
	if err != nil {
		return nil, nil, unkept(err)
	}
	return &again, content, nil
}

func unkept(err error) error {
	return fault.New(fault.Invalid, "Nothing was stored: the book could not be opened again with this entry in it (%s).", err)
}

// hasNUL reports whether JSON has a text with U+0000 in it, which the database takes
// and then cannot look into.
func hasNUL(content []byte) bool {
	for rest := content; ; {
		i := bytes.Index(rest, []byte(`\u0000`))
		if i < 0 {
			return false
		}
		before := rest[:i]
		if slashes := len(before) - len(bytes.TrimRight(before, `\`)); slashes%2 == 0 {
			return true
		}
		rest = rest[i+len(`\u0000`):]
	}
}

// plainText reports whether the database keeps a text as it is.
func plainText(s string) bool { return utf8.ValidString(s) && !strings.ContainsRune(s, 0) }

// tooDeep reports whether JSON nests deeper than MostDepth. It need not be valid.
func tooDeep(content []byte) bool {
	if bytes.Count(content, []byte{'{'})+bytes.Count(content, []byte{'['}) <= MostDepth {
		return false // as nearly all are
	}
	depth, inText := 0, false
	for i := 0; i < len(content); i++ {
		switch c := content[i]; {
		case inText:
			if c == '\\' {
				i++
			} else if c == '"' {
				inText = false
			}
		case c == '"':
			inText = true
		case c == '{', c == '[':
			if depth++; depth > MostDepth {
				return true
			}
		case c == '}', c == ']':
			depth--
		}
	}
	return false
}
