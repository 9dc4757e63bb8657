package openapi

import "github.com/getkin/kin-openapi/openapi3"

// Bounds is what one request to an operation may take: memory of the program above what
// the open book takes, time, and the size of the answer.
type Bounds struct{ MemoryMiB, Seconds, AnswerKiB int64 }

// usual are the bounds of an operation that states none: x-memory-mib, x-seconds and
// x-answer-kib.
var usual = Bounds{MemoryMiB: 64, Seconds: 30, AnswerKiB: 1024}

// BoundsOf reads the bounds of an operation.
func BoundsOf(op *openapi3.Operation) Bounds {
	out := usual
	for name, into := range map[string]*int64{"x-memory-mib": &out.MemoryMiB, "x-seconds": &out.Seconds, "x-answer-kib": &out.AnswerKiB} {
		if stated, is := op.Extensions[name].(float64); is {
			*into = int64(stated)
		}
	}
	return out
}
