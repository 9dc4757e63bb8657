package main

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"io"
	"regexp"

	"github.com/jackc/pgx/v5/pgconn"
)

// copyLine begins the rows of a table in a script of pg_restore.
var copyLine = regexp.MustCompile(`^COPY \S+ \(.*\) FROM stdin;\n$`)

// leftOut are lines that the server need not or cannot understand: commands for
// psql, and a setting that pg_restore of version 17 gives to older servers too.
var leftOut = regexp.MustCompile(`^(\\(un)?restrict .*|SET transaction_timeout = 0;)\n$`)

// runScript runs a script of pg_restore in the transaction that c is in. It takes
// no more memory than the longest statement, whatever the length of the script.
func runScript(ctx context.Context, c *pgconn.PgConn, script io.Reader) error {
	lines := bufio.NewReaderSize(script, 1<<16)
	var statements bytes.Buffer
	flush := func() error {
		_, err := c.Exec(ctx, statements.String()).ReadAll()
		statements.Reset()
		return err
	}
	for {
		line, err := lines.ReadString('\n')
		if err == io.EOF {
			statements.WriteString(line)
			return flush()
		}
		if err != nil {
			return err
		}
		switch {
		case leftOut.MatchString(line):
		case copyLine.MatchString(line):
			if err := flush(); err != nil {
				return err
			}
			if _, err := c.CopyFrom(ctx, &copiedRows{lines: lines, lineBegins: true}, line); err != nil {
				return fmt.Errorf("%.60s: %w", line, err)
			}
		default:
			statements.WriteString(line)
		}
	}
}

// copiedRows reads rows up to the line that ends them.
type copiedRows struct {
	lines *bufio.Reader
	// rest is what was read of a line and not handed on yet.
	rest       []byte
	lineBegins bool
	ended      bool
}

func (r *copiedRows) Read(p []byte) (int, error) {
	if r.ended {
		return 0, io.EOF
	}
	if len(r.rest) == 0 {
		part, err := r.lines.ReadSlice('\n')
		switch {
		case err == io.EOF:
			return 0, io.ErrUnexpectedEOF // pg_restore ended amid the rows
		case err != nil && err != bufio.ErrBufferFull:
			return 0, err
		case r.lineBegins && string(part) == "\\.\n":
			r.ended = true
			return 0, io.EOF
		}
		r.rest, r.lineBegins = part, err == nil
	}
	n := copy(p, r.rest)
	r.rest = r.rest[n:]
	return n, nil
}
