package main

import (
	"reflect"
	"testing"
	"time"
)

// The processor time of a server is that of its processes and of those that ended.
func TestTheProcessorTimeOfAServerCountsItsProcesses(t *testing.T) {
	const server = 4711
	for name, one := range map[string]struct {
		stat string
		want time.Duration
	}{
		"the server, with those that ended": {"4711 (postgres) S 1 4711 4711 0 -1 4194560 1 2 3 4 10 20 30 40 20 0 1 0", time.Second},
		"one of its processes, by a name with blanks": {"4712 (postgres: a (b) c) S 4711 4712 4712 0 -1 4194560 1 2 3 4 10 20 30 40 20 0 1 0",
			300 * time.Millisecond},
		"another program": {"47 (bash) S 1 47 47 0 -1 4194560 1 2 3 4 10 20 30 40 20 0 1 0", 0},
	} {
		if got, err := ofServer(server, []byte(one.stat)); err != nil || got != one.want {
			t.Errorf("%s: %v, %v; it is %v", name, got, err, one.want)
		}
	}
	if _, err := ofServer(server, []byte("4711 (postgres) S 1")); err == nil {
		t.Error("a line that is cut off tells nothing, and nobody says so")
	}
}

// A stack counts to the package whose code ran, or to whoever called Go's own packages.
func TestAProfileIsReadByParts(t *testing.T) {
	const told = `File: measure
Type: cpu
-----------+-------------------------------------------------------
 20000us   encoding/json.(*decodeState).object
             encoding/json.Unmarshal (inline)
             pullbook/api/request.(*contract).Bind
             net/http.(*conn).serve
-----------+-------------------------------------------------------
               who:  client
 10000us   runtime.mallocgc
             net/http.(*persistConn).writeLoop
-----------+-------------------------------------------------------
  1000us   aeshashbody
             pullbook/db/books.(*Books).live
-----------+-------------------------------------------------------
 30000us   runtime.scanobject
             runtime.gcDrain
             runtime.gcBgMarkWorker
-----------+-------------------------------------------------------
  5000us   internal/runtime/syscall.Syscall6
             github.com/jackc/pgx/v5/pgconn.(*PgConn).flushWithPotentialWriteReadDeadlock
             pullbook/db.(*DB).Append
-----------+-------------------------------------------------------
`
	type part struct {
		client        bool
		used          time.Duration
		ran, calledBy string
	}
	var got []part
	for _, trace := range tracesIn([]byte(told)) {
		got = append(got, part{trace.client, trace.used, ranIn(trace.stack), calledBy(trace.stack)})
	}
	want := []part{
		{false, 20 * time.Millisecond, "encoding/json", "pullbook/api/request"},
		{true, 10 * time.Millisecond, "runtime", "net/http"},
		{false, time.Millisecond, "runtime", "pullbook/db/books"},
		{false, 30 * time.Millisecond, "runtime", "collector of garbage"},
		{false, 5 * time.Millisecond, "internal/runtime/syscall", "github.com/jackc/pgx/v5/pgconn"},
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("it was read as %v, and is %v", got, want)
	}
}

// A row of the table says what the benchmarks report, in the units that suit it.
func TestARowSaysWhatTheBenchmarksReport(t *testing.T) {
	const output = `goos: linux
BenchmarkLate/reading/0         	  130514	      8123 ns/op	         8.000 cpu-µs/entry	       9.100 µs/entry	    2510 B/op	      31 allocs/op
BenchmarkReplay/1000000-2       	       1	2538512345 ns/op	   1070123 entries/cpu-s	    393932 entries/s
    past_internal_test.go:101: 480 of 500 are served; 92 MiB more are in use at most, 256 MiB are stated
PASS`
	b := benchmark{figures: []figure{{"Late/reading/0", "µs/entry"}, {"Replay/1000000", "ns/op"}, {"Replay/1000000", "entries/cpu-s"}, {`(\d+ MiB) more are in use`, found}}}
	said, err := b.read(output)
	if err != nil || said != "9.1 µs, 2.5 s, 1,070,123, 92 MiB" {
		t.Errorf("it says %q, %v", said, err)
	}
	for _, missing := range []figure{{"Late/reading/10", "µs/entry"}, {"Late/reading/0", "ms/entry"}, {`(\d+) KiB`, found}} {
		if said, err := (benchmark{figures: []figure{missing}}).read(output); err == nil {
			t.Errorf("nothing reports %v, and the row says %q", missing, said)
		}
	}
}
