//go:build linux || darwin

package local_test

import (
	"bufio"
	"fmt"
	"os"
	"os/exec"
	"strings"
	"syscall"
	"testing"

	"github.com/jackc/pgx/v5"

	"pullbook/db/dbtest"
	"pullbook/db/local"
)

// kills are ten where the whole is tried.
func kills() int {
	if dbtest.Whole() {
		return 10
	}
	return 3
}

// Every acknowledged row is there after kill -9, whoever is killed.
func TestAcknowledgedRowsSurviveKill(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		killed            string
		program, postgres bool
	}{
		{killed: "both", program: true, postgres: true},
		{killed: "PostgreSQL", postgres: true},
		{killed: "the program", program: true},
	} {
		t.Run(tt.killed, func(t *testing.T) {
			t.Parallel()
			dir := folder(t)
			stored := map[int64]bool{}
			for kill := range kills() {
				load := startLoad(t, dir)
				requireStored(t, load.url, stored)
				load.awaitRows(t, 200+50*kill)
				if tt.program {
					load.kill(t, load.cmd.Process.Pid)
				}
				if tt.postgres {
					load.kill(t, load.postgres)
				}
				fresh := load.end(t)
				if len(fresh) == 0 {
					t.Fatalf("kill %d: nothing was stored before it", kill+1)
				}
				for _, number := range fresh {
					stored[number] = true
				}
			}
			server := start(t, local.Options{DataDir: dir})
			requireStored(t, server.URL(), stored)
			t.Logf("%d kills, %d acknowledged rows, all there", kills(), len(stored))
		})
	}
}

// load is the program of recordPulls, running.
type load struct {
	cmd      *exec.Cmd
	lines    *bufio.Scanner
	errors   *strings.Builder
	postgres int
	url      string
	stored   []int64
}

func startLoad(t *testing.T, dir string) *load {
	t.Helper()
	l := &load{cmd: exec.Command(os.Args[0]), errors: &strings.Builder{}}
	l.cmd.Env = append(os.Environ(), dataDirVariable+"="+dir)
	l.cmd.Stderr = l.errors
	out, err := l.cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := l.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = l.cmd.Process.Kill() }) // it has ended unless the test failed
	l.lines = bufio.NewScanner(out)
	if !l.lines.Scan() {
		_ = l.cmd.Wait() // its errors say more
		t.Fatalf("the program did not start: %s", l.errors)
	}
	if _, err := fmt.Sscanf(l.lines.Text(), "server %d %s", &l.postgres, &l.url); err != nil {
		t.Fatalf("%q: %v", l.lines.Text(), err)
	}
	return l
}

// awaitRows returns in the middle of the load, after some rows were stored.
func (l *load) awaitRows(t *testing.T, rows int) {
	t.Helper()
	for range rows {
		if !l.next(t) {
			t.Fatalf("the load ended before it was killed: %s", l.errors)
		}
	}
}

func (l *load) next(t *testing.T) bool {
	t.Helper()
	if !l.lines.Scan() {
		return false
	}
	var number int64
	if _, err := fmt.Sscanf(l.lines.Text(), "stored %d", &number); err != nil {
		t.Fatalf("%q: %v", l.lines.Text(), err)
	}
	l.stored = append(l.stored, number)
	return true
}

func (l *load) kill(t *testing.T, pid int) {
	t.Helper()
	if err := syscall.Kill(pid, syscall.SIGKILL); err != nil {
		t.Fatal(err)
	}
}

// end reads what was acknowledged up to the kill and waits for the program.
func (l *load) end(t *testing.T) []int64 {
	t.Helper()
	for l.next(t) {
	}
	if err := l.cmd.Wait(); err == nil {
		t.Fatal("the program ended as if nothing had happened")
	}
	return l.stored
}

func requireStored(t *testing.T, url string, want map[int64]bool) {
	t.Helper()
	rows, err := connect(t, url).Query(t.Context(), `SELECT number FROM pull`)
	if err != nil {
		if len(want) == 0 {
			return
		}
		t.Fatal(err)
	}
	numbers, err := pgx.CollectRows(rows, pgx.RowTo[int64])
	if err != nil {
		t.Fatal(err)
	}
	have := make(map[int64]bool, len(numbers))
	for _, number := range numbers {
		have[number] = true
	}
	for number := range want {
		if !have[number] {
			t.Errorf("row %d was acknowledged and is gone", number)
		}
	}
}
