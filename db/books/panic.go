package books

import (
	"fmt"
)

// recovered turns a panic into an error. It is for what runs beside the requests: nothing
// else catches a panic there, and the whole process would end.
func recovered(err *error) {
	if p := recover(); p != nil {
		*err = fmt.Errorf("panic: %v", p)
	}
}
