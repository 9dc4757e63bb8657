// Package fault is the one error type that crosses the rooms: what went wrong,
// in words for a beekeeper, and for bad input which field, what came and what
// would do. The api room alone turns it into HTTP.
package fault

import (
	"errors"
	"fmt"
	"strings"

	"pullbook/domain/message"
)

// Code is the sort of fault.
type Code string

const (
	// Malformed: the input cannot be read at all.
	Malformed Code = "malformed"
	// Invalid: the input cannot be right; Fields say where.
	Invalid Code = "invalid"
	// NotFound: what was asked for is not in this outfit's book.
	NotFound Code = "not-found"
	// Conflict: it clashes with what is in the book already.
	Conflict Code = "conflict"
	// RestsOnRefused: it names something sent with it that was refused.
	RestsOnRefused Code = "rests-on-refused"
	// SignIn: no token, a wrong one or a revoked one.
	SignIn Code = "sign-in"
	// NotYours: the token may not do this.
	NotYours Code = "not-yours"
	// TooOften: tried more often than is let.
	TooOften Code = "too-often"
	// TooLarge: more than a request may hold.
	TooLarge Code = "too-large"
	// TooSlow: it did not come in the time that there was for it.
	TooSlow Code = "too-slow"
	// Busy: too much at once; try again.
	Busy Code = "busy"
	// Full: the disk of the book has no room for more.
	Full Code = "full"
	// Internal: our fault; the message is not shown.
	Internal Code = "internal"
)

// Field is one thing wrong with the input.
type Field struct {
	// Pointer is a JSON pointer into the body, or "query:name" for a parameter.
	Pointer string
	// Sent is what came, nil where nothing came.
	Sent any
	// Message says what is wrong and what would do.
	Message message.Text
	// DidYouMean is a value that may have been meant; nil where none is near.
	DidYouMean any
}

// Error is a fault.
type Error struct {
	Code    Code
	Message message.Text
	Fields  []Field
	// More counts the problems beyond Fields that are not named.
	More int64
}

func (e *Error) Error() string {
	var b strings.Builder
	b.WriteString(e.Message.String())
	for _, f := range e.Fields {
		fmt.Fprintf(&b, "; %s: %s", f.Pointer, f.Message)
	}
	return b.String()
}

// New makes a fault. Its format is a literal of the catalogue (see message.Text).
func New(code Code, format string, args ...any) *Error {
	return &Error{Code: code, Message: message.F(format, args...)}
}

// CodeOf is the code of the fault in err's chain; Internal where there is none.
func CodeOf(err error) Code {
	var e *Error
	if errors.As(err, &e) {
		return e.Code
	}
	return Internal
}

// Wrap adds what was being done to an error, so that it reads like a call
// stack. Use it deferred: defer fault.Wrap(&err, "entries of outfit %s", id).
func Wrap(err *error, format string, args ...any) {
	if *err != nil {
		*err = fmt.Errorf("%s: %w", fmt.Sprintf(format, args...), *err)
	}
}
