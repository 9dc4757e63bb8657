package standard

import (
	"errors"
	"strings"

	"pullbook/domain/message"
)

// FieldError is one thing wrong with what was sent: where, what came, what would do.
type FieldError struct {
	Field string // path within what was sent, such as "limits/3/unit"
	Got   string
	Want  message.Text
}

func (e FieldError) Error() string { return e.Said().String() }

// FieldErrors lists every FieldError inside err, so that a form can mark each field.
func FieldErrors(err error) []FieldError {
	var joined interface{ Unwrap() []error }
	if errors.As(err, &joined) {
		var all []FieldError
		for _, part := range joined.Unwrap() {
			all = append(all, FieldErrors(part)...)
		}
		return all
	}
	var field FieldError
	if errors.As(err, &field) {
		return []FieldError{field}
	}
	return nil
}

// problems gathers field errors so that a whole file is reported at once.
type problems []error

func (p *problems) add(field, got, want string, args ...any) {
	*p = append(*p, FieldError{Field: field, Got: got, Want: message.F(want, args...)})
}

func (p problems) err() error { return errors.Join(p...) }

func quotedList(words []string) string { return strings.Join(words, ", ") }

// Said is the error in the words of a reader's language.
func (e FieldError) Said() message.Text {
	if e.Got == "" {
		return message.F("%s is missing: %s", e.Field, e.Want)
	}
	return message.F("%s is %s: %s", e.Field, message.Quoted(e.Got), e.Want)
}
