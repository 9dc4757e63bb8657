package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"sync"
	"time"

	"github.com/mattn/go-isatty"

	"pullbook/api/locale"
	"pullbook/db/progress"
)

// statusLine is the last line of a terminal, which says how far work is. What else is written
// to it stands above.
type statusLine struct {
	mu    sync.Mutex
	out   io.Writer
	shown string
}

// statusLineOf is the line of a terminal; nil where out is none, so that nobody looks on.
func statusLineOf(out *os.File) *statusLine {
	if !isatty.IsTerminal(out.Fd()) {
		return nil
	}
	return &statusLine{out: out}
}

// clearLine goes back to the beginning of a terminal's line, and leaves nothing behind it.
const clearLine = "\r\033[K"

// show has the line say something else; nothing, where text is empty.
func (l *statusLine) show(text string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if text != l.shown {
		fmt.Fprint(l.out, clearLine, text)
		l.shown = text
	}
}

// Write writes lines above the one that is shown.
func (l *statusLine) Write(lines []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.shown == "" {
		return l.out.Write(lines)
	}
	fmt.Fprint(l.out, clearLine)
	n, err := l.out.Write(lines)
	fmt.Fprint(l.out, l.shown)
	return n, err
}

// log is where a log goes that is written beside work.
func (t *terminal) log() io.Writer {
	if t.Line != nil {
		return t.Line
	}
	return t.Err
}

// lineShownAfter is how long work goes on before its line is shown: what is over sooner needs
// none. Tests link a program with none: then its last word is shown however soon it is over.
var lineShownAfter = "300ms"

// lineShownEvery is how often the line is shown anew.
const lineShownEvery = 200 * time.Millisecond

// watch shows, until done is called, how far the work is that is done with the context that it
// returns: what is being done, and to what. Where nobody looks on it shows nothing.
func (t *terminal) watch(ctx context.Context, doing string, plan progress.Plan) (watched context.Context, done func()) {
	if t.Line == nil {
		return ctx, func() {}
	}
	after, err := time.ParseDuration(lineShownAfter)
	if err != nil {
		panic(err) // it was linked so
	}
	work := progress.Begin(plan, time.Now())
	over, gone := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(gone)
		defer t.Line.show("")
		next := time.NewTimer(after)
		defer next.Stop()
		for {
			select {
			case now := <-next.C:
				t.Line.show(progressLine(doing, work.At(now)))
				next.Reset(lineShownEvery)
			case <-over:
				if after == 0 {
					t.Line.show(progressLine(doing, work.At(time.Now())))
				}
				return
			}
		}
	}()
	return progress.With(ctx, work.Tell), func() {
		close(over)
		<-gone
	}
}

// lineWidth is the width of a terminal that was never made wider: a line that wraps around
// cannot be taken back.
const lineWidth = 79

// progressLine says how far work is: "Auditing Fern Gully: 430,000 of 1,000,000 entries
// checked, 3 s left".
func progressLine(doing string, s progress.State) string {
	line := doing
	if sum := counted(s); sum != "" {
		line += ": " + sum
	}
	if s.Left > 0 {
		line += ", " + roughly(s.Left) + " left"
	}
	if short := []rune(line); len(short) > lineWidth {
		line = string(short[:lineWidth-1]) + "…"
	}
	return line
}

// counted says how much of what is done.
func counted(s progress.State) string {
	done, of := s.Done, s.Of
	if s.Step == progress.Loaded {
		done, of = done/1e6, (of+1e6-1)/1e6
	}
	f := locale.NewVoice(locale.English, "", time.UTC)
	sum := f.Number(float64(done), 0)
	if of > 0 {
		sum += " of " + f.Number(float64(of), 0)
	}
	switch s.Step {
	case progress.Rows:
		return sum + " rows read"
	case progress.Loaded:
		return sum + " MB loaded"
	case progress.Tabled:
		return sum + " tables written"
	}
	return sum + " entries " + string(s.Step)
}

// roughly is a time that is not known to the second.
func roughly(d time.Duration) string {
	if d > 2*time.Minute {
		return fmt.Sprintf("%d min", int(d.Round(time.Minute).Minutes()))
	}
	return fmt.Sprintf("%d s", max(1, int(d.Round(time.Second).Seconds())))
}
