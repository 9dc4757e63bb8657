//go:build linux || darwin

package local_test

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"pullbook/db/local"
)

func TestRowsStayBetweenStarts(t *testing.T) {
	t.Parallel()
	opts := local.Options{DataDir: folder(t)}
	first := start(t, opts)
	conn := connect(t, first.URL())
	if _, err := conn.Exec(t.Context(), `CREATE TABLE yard (name text); INSERT INTO yard VALUES ('Lower Meadow')`); err != nil {
		t.Fatal(err)
	}
	stop(t, first) // with the session still open

	second := start(t, opts)
	var name string
	if err := connect(t, second.URL()).QueryRow(t.Context(), `SELECT name FROM yard`).Scan(&name); err != nil {
		t.Fatal(err)
	}
	if name != "Lower Meadow" {
		t.Errorf("got yard %q", name)
	}
}

func TestServerIsPrivateAndDurable(t *testing.T) {
	t.Parallel()
	server := start(t, local.Options{DataDir: folder(t)})
	conn := connect(t, server.URL())
	for setting, want := range map[string]string{
		"listen_addresses":   "",
		"fsync":              "on",
		"full_page_writes":   "on",
		"synchronous_commit": "on",
		"data_checksums":     "on",
		"server_encoding":    "UTF8",
		"lc_messages":        "C",
	} {
		var got string
		if err := conn.QueryRow(t.Context(), `SELECT current_setting($1)`, setting).Scan(&got); err != nil {
			t.Fatal(err)
		}
		if got != want {
			t.Errorf("%s is %q, want %q", setting, got, want)
		}
	}
	for _, dir := range []string{conn.Config().Host, filepath.Join(server.DataDir(), "data")} {
		info, err := os.Stat(dir)
		if err != nil {
			t.Fatal(err)
		}
		if info.Mode().Perm() != 0o700 {
			t.Errorf("%s has mode %v, want open to its account alone", dir, info.Mode())
		}
		if owner := info.Sys().(*syscall.Stat_t).Uid; owner == 0 {
			t.Errorf("%s belongs to root", dir)
		}
	}
}

func TestSecondProgramIsRefusedNamingTheFirst(t *testing.T) {
	t.Parallel()
	dir := folder(t)
	load := startLoad(t, dir)
	_, err := local.Start(t.Context(), local.Options{DataDir: dir})
	if !errors.Is(err, local.ErrInUse) {
		t.Fatalf("got %v, want ErrInUse", err)
	}
	if want := fmt.Sprintf("process %d ", load.cmd.Process.Pid); !strings.Contains(err.Error(), want) {
		t.Errorf("%q does not name the holder, %q", err, want)
	}
	if pid, held := local.Holder(dir); !held || pid != load.cmd.Process.Pid {
		t.Errorf("holder is %d, %v; want %d", pid, held, load.cmd.Process.Pid)
	}
	load.awaitRows(t, 10) // the first goes on
	load.kill(t, load.cmd.Process.Pid)
	load.end(t)
	if pid, held := local.Holder(dir); held {
		t.Errorf("process %d is dead and still holds the folder", pid)
	}
	server := start(t, local.Options{DataDir: dir})
	if pid, held := local.Holder(dir); !held || pid != os.Getpid() {
		t.Errorf("holder is %d, %v; want this test, %d", pid, held, os.Getpid())
	}
	stop(t, server)
	if pid, held := local.Holder(dir); held {
		t.Errorf("process %d stopped its server and still holds the folder", pid)
	}
}

// Where the kernel does not end the server with its program, the next start does.
func TestServerLeftBehindIsReplaced(t *testing.T) {
	t.Parallel()
	opts := local.Options{DataDir: folder(t)}
	first := start(t, opts)
	stop(t, first)
	left := leaveBehind(t, first)

	second := start(t, opts)
	if second.PID() == left.Process.Pid {
		t.Errorf("process %d was taken over", left.Process.Pid)
	}
	if err := left.Wait(); err != nil {
		t.Errorf("the server left behind did not end in order: %v", err)
	}
	if err := connect(t, second.URL()).Ping(t.Context()); err != nil {
		t.Error(err)
	}
}

// leaveBehind runs PostgreSQL on the folder of a stopped server with no
// program to look after it.
func leaveBehind(t *testing.T, stopped *local.Server) *exec.Cmd {
	t.Helper()
	cluster := filepath.Join(stopped.DataDir(), "data")
	info, err := os.Stat(cluster)
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(stopped.Binaries().Path("postgres"), "-D", cluster,
		"-c", "listen_addresses=", "-c", "unix_socket_directories="+filepath.Join(stopped.DataDir(), "run"))
	cmd.Dir = cluster
	if owner := info.Sys().(*syscall.Stat_t); os.Geteuid() == 0 {
		cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: owner.Uid, Gid: owner.Gid}}
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = cmd.Process.Signal(syscall.SIGINT) }) // it has ended unless the test failed
	for deadline := time.Now().Add(10 * time.Second); ; time.Sleep(10 * time.Millisecond) {
		status, err := os.ReadFile(filepath.Join(cluster, "postmaster.pid"))
		if err == nil && strings.Contains(string(status), "ready") {
			return cmd
		}
		if time.Now().After(deadline) {
			t.Fatalf("PostgreSQL is not ready: %q, %v", status, err)
		}
	}
}

func TestServerThatDiesIsNoticed(t *testing.T) {
	t.Parallel()
	server, err := local.Start(t.Context(), local.Options{DataDir: folder(t), NoFsync: true})
	if err != nil {
		t.Fatal(err)
	}
	if err := syscall.Kill(server.PID(), syscall.SIGKILL); err != nil {
		t.Fatal(err)
	}
	select {
	case <-server.Done():
	case <-time.After(10 * time.Second):
		t.Error("Done is still open")
	}
	if err := server.Stop(t.Context()); err == nil {
		t.Error("Stop calls a killed server's end orderly")
	}
}

func TestLongFolderNamesStillGetASocket(t *testing.T) {
	t.Parallel()
	server := start(t, local.Options{DataDir: filepath.Join(folder(t), strings.Repeat("n", 120)), NoFsync: true})
	socketDir := connect(t, server.URL()).Config().Host
	stop(t, server)
	if _, err := os.Stat(socketDir); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("the temporary socket folder %s was left: %v", socketDir, err)
	}
}

func TestFolderClosedToTheAccountIsExplained(t *testing.T) {
	t.Parallel()
	dir := folder(t)
	closed := filepath.Dir(dir)
	if err := os.Chmod(closed, 0); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = os.Chmod(closed, 0o711) }) // or an ordinary user could not remove it
	_, err := local.Start(t.Context(), local.Options{DataDir: dir})
	if err == nil || !strings.Contains(err.Error(), closed) {
		t.Fatalf("got %v, want an error that names %s", err, closed)
	}
	if os.Geteuid() == 0 && !strings.Contains(err.Error(), "chmod a+x "+closed) {
		t.Errorf("%q does not say how to open the folder", err)
	}
}

func TestEmptyClusterFolderIsFilled(t *testing.T) {
	t.Parallel()
	dir := folder(t)
	for _, made := range []string{dir, filepath.Join(dir, "data")} {
		if err := os.Mkdir(made, 0o711); err != nil {
			t.Fatal(err)
		}
	}
	server := start(t, local.Options{DataDir: dir, NoFsync: true})
	if err := connect(t, server.URL()).Ping(t.Context()); err != nil {
		t.Error(err)
	}
}

func TestClusterFolderWithOtherFilesIsLeftAlone(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	other := filepath.Join(dir, "data", "letters.txt")
	writeFile(t, other, "not PostgreSQL's", 0o600)
	if _, err := local.Start(t.Context(), local.Options{DataDir: dir}); err == nil {
		t.Error("a folder with other files was taken for a new one")
	}
	if text, err := os.ReadFile(other); err != nil || string(text) != "not PostgreSQL's" {
		t.Errorf("the other file now holds %q, %v", text, err)
	}
}

func TestAnotherServersFolderIsRefused(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	writeFile(t, filepath.Join(dir, "PG_VERSION"), "15\n", 0o600)
	if _, err := local.Start(t.Context(), local.Options{DataDir: dir}); err == nil {
		t.Error("a server was made inside another's folder")
	}
}
