package standard

import (
	"errors"
	"fmt"
	"strings"
)

// FieldError is one thing wrong with what was sent: where, what came, what would do.
type FieldError struct {
	Field string // path within what was sent, such as "limits/3/unit"
	Got   string
	Want  string
}

func (e FieldError) Error() string {
	if e.Got == "" {
		return fmt.Sprintf("%s is missing: %s", e.Field, e.Want)
	}
	return fmt.Sprintf("%s is %q: %s", e.Field, e.Got, e.Want)
}

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
	*p = append(*p, FieldError{Field: field, Got: got, Want: fmt.Sprintf(want, args...)})
}

func (p problems) err() error { return errors.Join(p...) }

func quotedList(words []string) string { return strings.Join(words, ", ") }
