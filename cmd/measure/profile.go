package main

import (
	"bufio"
	"bytes"
	"cmp"
	"context"
	"fmt"
	"io"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"runtime/pprof"
	"slices"
	"strings"
	"time"

	"pullbook/db"
	"pullbook/db/local"
)

// clientLabel marks the processor time of the client, which is in one process with the
// service. Goroutines that the client's start inherit it.
const clientLabel = "client"

// profiles writes a profile of the service under each load into a folder, and tables of where
// the processor time of a request goes. Each column of a table is of one profile.
func profiles(ctx context.Context, server *local.Server, folder string, lasting time.Duration) error {
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return err
	}
	book, err := serveBook(ctx, server.URLFor(db.ServiceRole, "pullbook"), time.Now)
	if err != nil {
		return err
	}
	defer book.stop()
	houses, err := setUpHouses(ctx, server.URLFor(local.Superuser, "pullbook"), book.url)
	if err != nil {
		return err
	}
	c := contender{name: "pullbook", load: func(ctx context.Context, n int, lasting time.Duration) (l loaded, err error) {
		pprof.Do(ctx, pprof.Labels("who", clientLabel), func(ctx context.Context) {
			l, err = load(ctx, n, lasting, func(int, int) sending { return houses[0].reading(book.url) })
		})
		return l, err
	}}
	running, calling := parts{}, parts{}
	for column, n := range loads {
		if _, err := c.load(ctx, n, lasting/10); err != nil {
			return err
		}
		path := filepath.Join(folder, fmt.Sprintf("%d-connections.pprof", n))
		var l loaded
		err := profiled(path, func() (err error) { l, err = c.measured(ctx, server, n, lasting); return err })
		if err != nil {
			return err
		}
		if err := running.read(ctx, path, column, l, ranIn); err != nil {
			return err
		}
		if err := calling.read(ctx, path, column, l, calledBy); err != nil {
			return err
		}
	}
	calling.write(os.Stdout, "µs of processor time an entry, Go's own packages counted to who called them")
	fmt.Println()
	running.write(os.Stdout, "µs of processor time an entry, by the package whose code ran")
	return nil
}

// parts are microseconds of processor time an entry, by part and by column.
type parts map[string][]float64

func (p parts) add(part string, column int, us float64) {
	if p[part] == nil {
		p[part] = make([]float64, len(loads))
	}
	p[part][column] += us
}

// read reads a profile of a load into a column. part is the part that a stack counts to, whose
// innermost function comes first.
func (p parts) read(ctx context.Context, path string, column int, l loaded, part func(stack []string) string) error {
	out, err := exec.CommandContext(ctx, "go", "tool", "pprof", "-traces", "-unit", "us", path).Output()
	if err != nil {
		return fmt.Errorf("go tool pprof: %w", err)
	}
	for _, t := range tracesIn(out) {
		name := clientLabel
		if !t.client {
			name = part(t.stack)
		}
		p.add(name, column, float64(t.used.Microseconds())/float64(l.entries))
	}
	p.add("PostgreSQL", column, l.postgresUS())
	return nil
}

// trace is one stack of a profile.
type trace struct {
	client bool
	used   time.Duration
	stack  []string
}

// tracesIn reads what pprof's -traces writes: between lines of dashes the labels, then the
// time before the innermost function, then the functions that called it.
func tracesIn(out []byte) (traces []trace) {
	var t *trace
	for lines := bufio.NewScanner(bytes.NewReader(out)); lines.Scan(); {
		line := lines.Text()
		if strings.HasPrefix(line, "-----------+") {
			traces = append(traces, trace{})
			t = &traces[len(traces)-1]
			continue
		}
		if t == nil {
			continue // what comes before the first
		}
		words := strings.Fields(strings.TrimSuffix(line, " (inline)"))
		switch {
		case len(words) == 2 && words[0] == "who:":
			t.client = words[1] == clientLabel
		case len(words) > 1 && t.used == 0:
			used, err := time.ParseDuration(words[0])
			if err == nil {
				t.used, t.stack = used, append(t.stack, words[1])
			}
		case len(words) > 0:
			t.stack = append(t.stack, words[0])
		}
	}
	return slices.DeleteFunc(traces, func(t trace) bool { return t.used == 0 })
}

// ranIn is the package whose code ran.
func ranIn(stack []string) string { return packageOf(stack[0]) }

// calledBy is the first package on the way out that is not one of Go's own; else net/http or
// what the runtime did for itself.
func calledBy(stack []string) string {
	rest := "scheduler"
	for _, function := range stack {
		in := packageOf(function)
		first, _, _ := strings.Cut(in, "/")
		switch {
		case first == "pullbook" || strings.Contains(first, "."):
			return in
		case in == "net/http":
			rest = in
		case function == "runtime.gcBgMarkWorker" || function == "runtime.bgsweep" || function == "runtime.bgscavenge":
			rest = "collector of garbage"
		}
	}
	return rest
}

// packageOf is the path of a function's package. What is written for the processor has none,
// and is the runtime's.
func packageOf(function string) string {
	slash := strings.LastIndexByte(function, '/') + 1
	name, _, has := strings.Cut(function[slash:], ".")
	if !has {
		return "runtime"
	}
	return function[:slash] + name
}

// write writes the parts as a table, the largest of one connection first, and those under a
// hundredth of the whole together.
func (p parts) write(out io.Writer, what string) {
	all, rest := make([]float64, len(loads)), make([]float64, len(loads))
	for _, us := range p {
		for i := range all {
			all[i] += us[i]
		}
	}
	head(out, what)
	line := func(name string, us []float64) {
		fmt.Fprintf(out, "| %s |", name)
		for _, one := range us {
			fmt.Fprintf(out, " %.1f |", one)
		}
		fmt.Fprintln(out)
	}
	names := slices.SortedFunc(maps.Keys(p), func(a, b string) int {
		return cmp.Or(cmp.Compare(p[b][0], p[a][0]), cmp.Compare(a, b))
	})
	for _, name := range names {
		if p[name][0] < all[0]/100 {
			for i, us := range p[name] {
				rest[i] += us
			}
			continue
		}
		line(name, p[name])
	}
	line("all others", rest)
	line("together", all)
}
