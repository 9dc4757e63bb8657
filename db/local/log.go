package local

import (
	"bytes"
	"context"
	"log/slog"
	"strings"
	"sync"
)

// serverLog hands PostgreSQL's log lines to slog and keeps the last ones, for
// the error when a start fails.
type serverLog struct {
	mu      sync.Mutex
	to      *slog.Logger
	quiet   bool // sessions that cannot be served are no news while starting and stopping
	partial []byte
	tail    []string
}

const tailLines = 12

func (l *serverLog) Write(text []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.partial = append(l.partial, text...)
	for {
		line, rest, found := bytes.Cut(l.partial, []byte("\n"))
		if !found {
			return len(text), nil
		}
		l.line(strings.TrimSpace(string(line)))
		l.partial = rest
	}
}

func (l *serverLog) line(line string) {
	if line == "" {
		return
	}
	l.tail = append(l.tail, line)
	if len(l.tail) > tailLines {
		l.tail = l.tail[1:]
	}
	level := slog.LevelDebug
	severity, message, found := strings.Cut(line, ":  ")
	if !found {
		severity, message = "", line
	}
	// An ERROR is the answer to a statement, which its sender sees and handles.
	switch severity {
	case "WARNING", "FATAL", "PANIC":
		if !l.quiet {
			level = slog.LevelWarn
		}
	}
	l.to.Log(context.Background(), level, "postgres: "+message, "severity", severity)
}

func (l *serverLog) setQuiet(quiet bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.quiet = quiet
}

// lastLines empties the kept lines and returns them.
func (l *serverLog) lastLines() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	text := strings.Join(l.tail, "\n")
	l.tail = nil
	return text
}
