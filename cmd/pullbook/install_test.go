//go:build linux

package main

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// shed is a machine within this one: a systemd of its own over a copy of the file system that
// is thrown away, with its own processes, network, host name and accounts.
type shed struct {
	root, control string
	init          *exec.Cmd
	// ended is closed when the machine is off.
	ended chan struct{}
}

// bootShed starts systemd from the copy. What this machine starts by itself it does not.
const bootShed = `set -e
mount --make-rprivate /
mount --bind / "$1/lower"
mount -t overlay overlay -o "lowerdir=$1/lower,upperdir=$1/upper,workdir=$1/work" "$1/root"
mount --make-rshared "$1/root"
cd "$1/root"
mount -t proc proc proc
mount -t tmpfs tmpfs run
mount -t tmpfs tmpfs sys
mkdir -p sys/fs/cgroup
mount -t cgroup2 cgroup2 sys/fs/cgroup
mount -t tmpfs -o mode=755 tmpfs dev
mkdir dev/shm dev/pts dev/mqueue dev/hugepages
mount -t devpts -o newinstance,ptmxmode=0666 devpts dev/pts
ln -s pts/ptmx dev/ptmx
for d in null zero full random urandom tty; do touch dev/$d; mount --bind /dev/$d dev/$d; done
mount -t tmpfs -o mode=1777 tmpfs dev/shm
mount -o bind,ro proc/sys proc/sys
if [ ! -e opt/booted ]; then
	touch opt/booted
	rm -rf usr/lib/systemd/system-generators etc/systemd/system
	for u in usr/lib/systemd/system/*.wants/*; do case $u in *journald*) ;; *) rm -rf "$u" ;; esac; done
	mkdir -p etc/systemd/system
	: > etc/fstab
	echo 0123456789abcdef0123456789abcdef > etc/machine-id
fi
ip link set lo up
export container=test
exec chroot . /lib/systemd/systemd --system --unit=multi-user.target
`

// newShed boots such a machine. It is nil, and the files of the service were looked at instead,
// where nobody may make a machine within this one: without root, or in a container that is
// not let mount.
func newShed(t *testing.T) *shed {
	t.Helper()
	if why := mayNotBoot(); why != nil {
		t.Logf("no systemd boots here (%v): the files of the service are looked at", why)
		theFilesOfAServiceAreAsTheyShouldBe(t)
		return nil
	}
	for _, program := range []string{"/lib/systemd/systemd", "nsenter", "ip", "useradd"} {
		if _, err := exec.LookPath(program); err != nil {
			t.Fatalf("this test boots a systemd of its own: %v; apt-get install systemd util-linux iproute2 passwd", err)
		}
	}
	s := &shed{root: t.TempDir()}
	if out, err := exec.Command("mount", "-t", "tmpfs", "pullbook-test", s.root).CombinedOutput(); err != nil {
		t.Fatalf("%v, %s", err, out)
	}
	t.Cleanup(func() {
		if err := syscall.Unmount(s.root, syscall.MNT_DETACH); err != nil {
			t.Error(err)
		}
	})
	for _, dir := range []string{"lower", "upper/opt", "work", "root"} {
		if err := os.MkdirAll(filepath.Join(s.root, dir), 0o755); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.Chmod(s.root, 0o755); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"pullbook", "newer"} {
		if err := copyProgram(binary, filepath.Join(s.root, "upper/opt", name)); err != nil {
			t.Fatal(err)
		}
	}
	s.control = controlGroup(t)
	s.boot(t)
	t.Cleanup(func() { s.off(t) })
	return s
}

// mayNotBoot says what keeps this account from mounts, namespaces and control groups of its own.
func mayNotBoot() error {
	dir, err := os.MkdirTemp("", "pullbook-mount-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	const tried = `mount --make-rprivate / && mount -t tmpfs none "$1" && mkdir "$1/a" "$1/b" "$1/c" "$1/d" && mount -t overlay overlay -o "lowerdir=$1/a,upperdir=$1/b,workdir=$1/c" "$1/d" && mount -t cgroup2 cgroup2 "$1/a"`
	cmd := exec.Command("/bin/sh", "-c", tried, "sh", dir)
	cmd.SysProcAttr = &syscall.SysProcAttr{Cloneflags: syscall.CLONE_NEWNS | syscall.CLONE_NEWPID | syscall.CLONE_NEWUTS | syscall.CLONE_NEWIPC | syscall.CLONE_NEWNET | syscall.CLONE_NEWCGROUP}
	if out, err := cmd.CombinedOutput(); err != nil {
		return fmt.Errorf("%w, %s", err, out)
	}
	mounts, err := os.ReadFile("/proc/mounts")
	if err != nil {
		return err
	}
	for line := range strings.Lines(string(mounts)) {
		if f := strings.Fields(line); f[2] == "cgroup2" {
			dir, err := os.MkdirTemp(f[1], "pullbook-test-")
			if err != nil {
				return err
			}
			return os.Remove(dir)
		}
	}
	return errors.New("there is no cgroup2")
}

// theFilesOfAServiceAreAsTheyShouldBe looks at the unit without a systemd: an account of its
// own, with few rights, started with the machine and again after an end.
func theFilesOfAServiceAreAsTheyShouldBe(t *testing.T) {
	t.Helper()
	i := installation{account: "pullbook", data: installedData, backups: []string{installedBackups}}
	for _, line := range []string{"User={{UserName}}", "EnvironmentFile=" + settingsFile, "Restart=always", "ProtectSystem=strict", "ProtectHome=yes", "NoNewPrivileges=yes",
		"CapabilityBoundingSet=", "MemoryMax=80%", `ReadWritePaths="` + installedData + `" -"/media" -"/mnt" -"/run/media" -"` + installedBackups + `"`, "WantedBy=multi-user.target"} {
		if !slices.Contains(strings.Split(i.unit(), "\n"), line) {
			t.Errorf("the unit has no line %q:\n%s", line, i.unit())
		}
	}
}

// controlGroup is one of cgroup2 that the machine within has for itself.
func controlGroup(t *testing.T) string {
	t.Helper()
	mounts, err := os.ReadFile("/proc/mounts")
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(mounts)) {
		if f := strings.Fields(line); f[2] == "cgroup2" {
			dir, err := os.MkdirTemp(f[1], "pullbook-test-")
			if err != nil {
				t.Fatal(err)
			}
			t.Cleanup(func() {
				// The kernel takes notice of the end of each process by and by.
				for deadline := time.Now().Add(10 * time.Second); ; time.Sleep(50 * time.Millisecond) {
					_ = exec.Command("find", dir, "-depth", "-type", "d", "-exec", "rmdir", "{}", ";").Run()
					if _, err := os.Stat(dir); os.IsNotExist(err) {
						return
					} else if time.Now().After(deadline) {
						t.Errorf("the control group %s is left: %v", dir, err)
						return
					}
				}
			})
			return dir
		}
	}
	t.Fatal("this test boots a systemd of its own, and there is no cgroup2")
	return ""
}

func (s *shed) boot(t *testing.T) {
	t.Helper()
	group, err := os.Open(s.control)
	if err != nil {
		t.Fatal(err)
	}
	defer group.Close()
	s.init = exec.Command("/bin/sh", "-c", bootShed, "sh", s.root)
	var said bytes.Buffer
	s.init.Stdout, s.init.Stderr = &said, &said
	s.init.SysProcAttr = &syscall.SysProcAttr{
		Cloneflags:  syscall.CLONE_NEWNS | syscall.CLONE_NEWPID | syscall.CLONE_NEWUTS | syscall.CLONE_NEWIPC | syscall.CLONE_NEWNET | syscall.CLONE_NEWCGROUP,
		UseCgroupFD: true, CgroupFD: int(group.Fd()), Pdeathsig: syscall.SIGKILL,
	}
	started := make(chan error)
	s.ended = make(chan struct{})
	go func() {
		// The kernel takes the end of this thread for the death of the test, and threads
		// that waited for a PostgreSQL end with it: this one waits as long as the machine runs.
		runtime.LockOSThread()
		err := s.init.Start()
		started <- err
		if err == nil {
			_ = s.init.Wait() // it is killed in the end
			close(s.ended)
		}
	}()
	if err := <-started; err != nil {
		t.Fatal(err)
	}
	for deadline := time.Now().Add(time.Minute); ; time.Sleep(50 * time.Millisecond) {
		if s.in("systemctl", "is-active", "multi-user.target").status == 0 {
			return
		}
		if time.Now().After(deadline) {
			s.off(t)
			t.Fatalf("the machine does not boot:\n%s", said.String())
		}
	}
}

// off is the plug pulled: every process of the machine ends with its first.
func (s *shed) off(t *testing.T) {
	t.Helper()
	_ = s.init.Process.Kill() // it may be off already
	<-s.ended
}

// in runs a command on the machine.
func (s *shed) in(args ...string) outcome {
	cmd := exec.Command("nsenter", append([]string{"-t", strconv.Itoa(s.init.Process.Pid), "-m", "-u", "-i", "-n", "-p", "-C", "-r", "-w"}, args...)...)
	cmd.Env = []string{"PATH=/usr/local/sbin:/usr/local/bin:/usr/sbin:/usr/bin:/sbin:/bin", "LC_ALL=C.UTF-8"}
	var out, errs bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &errs
	err := cmd.Run()
	if cmd.ProcessState == nil {
		return outcome{err: err.Error(), status: -1}
	}
	return outcome{out.String(), errs.String(), cmd.ProcessState.ExitCode()}
}

func (s *shed) must(t *testing.T, args ...string) string {
	t.Helper()
	got := s.in(args...)
	if got.status != 0 {
		t.Fatalf("%s: status %d\n%s%s\n%s", strings.Join(args, " "), got.status, got.out, got.err, s.in("journalctl", "--no-pager", "-n", "60").out)
	}
	return strings.TrimSpace(got.out)
}

// digest is that of the one book, as the operator's own command says it beside the service.
func (s *shed) digest(t *testing.T) string {
	t.Helper()
	_, digest, _ := strings.Cut(s.must(t, "pullbook", "audit"), "last digest ")
	if len(digest) != 64 {
		t.Fatalf("the audit says no digest: %q", digest)
	}
	return digest
}

func (s *shed) await(t *testing.T, what string, is func() bool) {
	t.Helper()
	for deadline := time.Now().Add(time.Minute); !is(); time.Sleep(100 * time.Millisecond) {
		if time.Now().After(deadline) {
			t.Fatalf("%s did not come\n%s", what, s.in("journalctl", "--no-pager", "-n", "60").out)
		}
	}
}

// The whole life of a service on a real systemd: made, killed, started with the machine, given
// a newer program with a new schema, and taken away.
func TestAServiceIsInstalledUpdatedAndTakenAway(t *testing.T) {
	t.Parallel()
	s := newShed(t)
	if s == nil {
		return
	}
	began := time.Now()
	said := s.must(t, "/opt/pullbook", "install", "--within", "20s")
	t.Logf("from install to serving: %.1f s", time.Since(began).Seconds())
	for _, words := range []string{"starts with the machine", installedData, installedBackups, settingsFile, "journalctl -u pullbook", ":8080/trust"} {
		if !strings.Contains(said, words) {
			t.Errorf("install does not say %q:\n%s", words, said)
		}
	}
	if got := s.in("/opt/pullbook", "install"); got.status != exitFailed || !strings.Contains(got.err, "installed here already") {
		t.Errorf("installed twice: %d, %s", got.status, got.err)
	}

	// What account, what rights.
	main := s.must(t, "systemctl", "show", "-P", "MainPID", "pullbook")
	uid := s.must(t, "id", "-u", "pullbook")
	if uid == "0" {
		t.Fatal("the account is root")
	}
	for _, line := range strings.Split(s.must(t, "ps", "-e", "-o", "uid=,comm="), "\n") {
		if f := strings.Fields(line); (f[1] == "pullbook" || f[1] == "postgres") && f[0] != uid {
			t.Errorf("%s runs as %s, and the account is %s", f[1], f[0], uid)
		}
	}
	if shell := s.must(t, "getent", "passwd", "pullbook"); !strings.HasSuffix(shell, ":/usr/sbin/nologin") || !strings.Contains(shell, installedData) {
		t.Errorf("the account is %s", shell)
	}
	for path, want := range map[string]string{
		installedData: "700 pullbook:pullbook", installedBackups: "700 pullbook:pullbook", settingsFile: "640 root:pullbook",
		installedProgram: "755 root:root", systemdUnit: "644 root:root", installedData + "/tls/" + authorityFile: "600 pullbook:pullbook",
	} {
		if is := s.must(t, "stat", "-c", "%a %U:%G", path); is != want {
			t.Errorf("%s is %s, want %s", path, is, want)
		}
	}
	for property, want := range map[string]string{
		"NoNewPrivileges": "yes", "ProtectSystem": "strict", "ProtectHome": "yes", "PrivateTmp": "yes", "CapabilityBoundingSet": "", "OOMPolicy": "continue", "UnitFileState": "enabled",
	} {
		if is := s.must(t, "systemctl", "show", "-P", property, "pullbook"); is != want {
			t.Errorf("%s is %q, want %q", property, is, want)
		}
	}
	if s.must(t, "systemctl", "show", "-P", "MemoryMax", "pullbook") == "infinity" {
		t.Error("nothing bounds the service's memory")
	}
	exposure := s.must(t, "systemd-analyze", "security", "--no-pager", "--threshold=25", "pullbook")
	t.Log(exposure[strings.LastIndex(exposure, "\n")+1:])
	if log := s.must(t, "journalctl", "--no-pager", "-u", "pullbook"); strings.Contains(log, "Failed to") || strings.Contains(log, "Unknown key") {
		t.Errorf("the unit is not understood:\n%s", log)
	}

	// A book, by root beside the service.
	s.must(t, "pullbook", "outfit", "add", "Fern Gully Honey", "--time-zone", "America/Winnipeg")
	s.must(t, "pullbook", "person", "add", "Mirren", "--role", "manager")
	digest := s.digest(t)
	isReady := func() bool { return s.in("pullbook", "health").status == 0 }

	s.await(t, "the first backup", func() bool {
		return s.in("sh", "-c", "ls "+installedBackups+"/pullbook-*"+goodEnd).status == 0
	})

	// Killed, it comes back; switched off and on, too.
	s.must(t, "kill", "-9", main)
	s.await(t, "the service that was killed", func() bool {
		now := s.in("systemctl", "show", "-P", "MainPID", "pullbook").out
		return strings.TrimSpace(now) != main && isReady()
	})
	s.off(t)
	s.boot(t)
	s.await(t, "the service, with the machine,", isReady)
	if is := s.digest(t); is != digest {
		t.Errorf("after the machine was switched off the digest is %s, was %s", is, digest)
	}

	// A newer program with a new schema.
	s.must(t, "systemctl", "stop", "pullbook")
	s.must(t, "pullbook", "migrate", "--down-to", "10", "--lose-books")
	began = time.Now()
	said = s.must(t, "/opt/newer", "update")
	t.Logf("update, with a backup and a new schema: %.1f s", time.Since(began).Seconds())
	if !strings.Contains(said, "The database has schema version "+newest(t)+schemaChanged+" 10.") || !strings.Contains(said, "updated and serves") {
		t.Errorf("update says %s", said)
	}
	if is := s.digest(t); is != digest || !isReady() {
		t.Errorf("after the update the digest is %s, was %s", is, digest)
	}
	names := strings.Fields(s.must(t, "ls", installedBackups))
	at := slices.IndexFunc(names, func(name string) bool { return strings.HasSuffix(name, "-before-schema-"+newest(t)+".backup") })
	if at < 0 {
		t.Fatalf("the backups are %v, want one from before the new schema", names)
	}
	before := filepath.Join(installedBackups, names[at])
	if is := s.must(t, "stat", "-c", "%a %U", before); is != "600 pullbook" {
		t.Errorf("the backup is %s", is)
	}
	if said := s.must(t, "pullbook", "restore", before, "--data", "/srv/restored"); !strings.Contains(said, digest) {
		t.Errorf("restored from before the update: %s, want %s", said, digest)
	}

	// Taken away.
	said = s.must(t, "pullbook", "uninstall")
	if !strings.Contains(said, installedData) || !strings.Contains(said, installedBackups) {
		t.Errorf("uninstall does not say what stays: %s", said)
	}
	for _, gone := range []string{installedProgram, installedProgram + beforeEnd, systemdUnit, "/etc/systemd/system/multi-user.target.wants/pullbook.service"} {
		if s.in("test", "-e", gone).status == 0 {
			t.Errorf("%s is left", gone)
		}
	}
	if got := s.in("/opt/pullbook", "update"); got.status != exitFailed || !strings.Contains(got.err, "pullbook install") {
		t.Errorf("without a service, update says %s", got.err)
	}
	_, left, _ := strings.Cut(s.must(t, "/opt/pullbook", "audit"), "last digest ")
	if left != digest {
		t.Errorf("the book that is left has the digest %s, was %s", left, digest)
	}
	// And again, with the book that is there.
	s.must(t, "/opt/pullbook", "install")
	if is := s.digest(t); is != digest {
		t.Errorf("installed again the book has the digest %s, was %s", is, digest)
	}
}

// The service reaches a stick that is put in while it runs, and holds no stick back.
func TestAStickThatIsPutInGetsItsBackup(t *testing.T) {
	t.Parallel()
	s := newShed(t)
	if s == nil {
		return
	}
	got := s.in("/opt/pullbook", "install", "--backup-to", "/media/stick/honey")
	if got.status != 0 || !strings.Contains(got.err, "/media/stick/honey is not there now") {
		t.Fatalf("%d, %s%s", got.status, got.out, got.err)
	}
	s.must(t, "pullbook", "outfit", "add", "Fern Gully Honey", "--time-zone", "America/Winnipeg")
	digest := s.digest(t)
	s.must(t, "mkdir", "-p", "/media/stick")
	s.must(t, "mount", "-t", "tmpfs", "-o", "size=100m", "stick", "/media/stick")
	s.must(t, "install", "-d", "-o", "pullbook", "-m", "700", "/media/stick/honey")
	var file string
	// The service's backup lets all other work go first.
	for deadline := time.Now().Add(10 * time.Minute); file == ""; time.Sleep(100 * time.Millisecond) {
		file = strings.TrimSpace(s.in("sh", "-c", "ls /media/stick/honey/pullbook-*"+goodEnd).out)
		if time.Now().After(deadline) {
			t.Fatalf("the stick got no backup\n%s", s.in("journalctl", "--no-pager", "-n", "60").out)
		}
	}
	if said := s.must(t, "pullbook", "restore", file, "--data", "/srv/restored"); !strings.Contains(said, digest) {
		t.Errorf("restored from the stick: %s, want %s", said, digest)
	}
	s.must(t, "umount", "/media/stick")
	if left := s.must(t, "ls", "/media/stick"); left != "" {
		t.Errorf("where the stick was there is %s", left)
	}
}

// An update that cannot be goes back by itself.
func TestAnUpdateThatFailsLeavesTheInstalledProgram(t *testing.T) {
	t.Parallel()
	s := newShed(t)
	if s == nil {
		return
	}
	// The book is root's, and PostgreSQL's account's; then it is the service's.
	s.must(t, "/opt/pullbook", "outfit", "add", "Fern Gully Honey", "--time-zone", "America/Winnipeg")
	s.must(t, "/opt/pullbook", "install")
	if is := s.must(t, "stat", "-c", "%U", installedData, installedData+"/data"); is != "pullbook\npullbook" {
		t.Errorf("the book belongs to %s", is)
	}
	digest := s.digest(t)
	was := s.must(t, "sha256sum", installedProgram)
	s.must(t, "sh", "-c", "echo >> /opt/newer; mkdir /opt/none; echo 'PULLBOOK_PG_BINDIR=/opt/none' >> "+settingsFile)
	got := s.in("/opt/newer", "update", "--within", "2s")
	if got.status != exitFailed || !strings.Contains(got.err, "nothing was updated") || !strings.Contains(got.err, "/opt/none") {
		t.Errorf("an update without PostgreSQL: %d, %s", got.status, got.err)
	}
	s.must(t, "sed", "-i", "/PG_BINDIR/d", settingsFile)
	s.must(t, "systemctl", "restart", "pullbook")
	s.await(t, "the service", func() bool { return s.in("pullbook", "health").status == 0 })
	if is := s.must(t, "sha256sum", installedProgram); is != was || s.digest(t) != digest {
		t.Errorf("the program is %s, was %s", is, was)
	}
	// With the same schema, a program that does not come to serve gives way to the one before.
	s.must(t, "sh", "-c", "echo 'PULLBOOK_BACKUP_AT=later' >> "+settingsFile)
	got = s.in("/opt/newer", "update", "--within", "2s")
	if got.status != exitFailed || !strings.Contains(got.err, "was put back") {
		t.Errorf("an update to what does not serve: %d, %s", got.status, got.err)
	}
	if is := s.must(t, "sha256sum", installedProgram); is != was {
		t.Errorf("the program is %s, was %s", is, was)
	}
}

func TestAnInstallationThatCannotServeMakesNothing(t *testing.T) {
	t.Parallel()
	s := newShed(t)
	if s == nil {
		return
	}
	for _, tt := range []struct {
		args  []string
		words string
	}{
		{[]string{"--data", "/home/odell/honey"}, "does not enter the folders of people"},
		{[]string{"--data", "/opt"}, "files of something else"},
		{[]string{"--account", "root"}, "does not run as root"},
		{[]string{"--backup-at", "dusk"}, "--backup-at"},
		{[]string{"--addr", "192.0.2.1:80"}, "cannot listen on"},
		{[]string{"--pg-bindir", "/opt"}, "PostgreSQL was not found"},
	} {
		got := s.in(append([]string{"/opt/pullbook", "install"}, tt.args...)...)
		if got.status != exitFailed || !strings.Contains(got.err, tt.words) {
			t.Errorf("install %v: %d, %s", tt.args, got.status, got.err)
		}
		if s.in("test", "-e", systemdUnit).status == 0 || s.in("test", "-e", installedProgram).status == 0 {
			t.Fatalf("install %v left something", tt.args)
		}
	}
	if account := s.in("getent", "passwd", "pullbook"); account.status == 0 {
		t.Errorf("there is an account now: %s", account.out)
	}
}

// What a setting is, the file of settings gives back.
func TestSettingsAreReadAsTheyWereWritten(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		value := rapid.StringMatching(`[ -~é€]{0,20}`).Draw(t, "value")
		if got := unquoted(quoted(value)); got != value {
			t.Fatalf("%q was read as %q", value, got)
		}
	})
	for text, want := range map[string]string{"own": "own", ` "a b" `: "a b", `"`: `"`, "": ""} {
		if got := unquoted(text); got != want {
			t.Errorf("%q is read as %q", text, got)
		}
	}
}

func TestTheServiceHasAnAccountAndFewRights(t *testing.T) {
	t.Parallel()
	theFilesOfAServiceAreAsTheyShouldBe(t)
}

// A folder on a stick needs no leave: it may come and go. What lies elsewhere does.
func TestTheUnitLetsTheServiceWriteWhereItMust(t *testing.T) {
	t.Parallel()
	i := installation{account: "pullbook", data: "/srv/honey book", backups: []string{"/media/stick/honey", "/srv/50%"}}
	if want := "\nReadWritePaths=\"/srv/honey book\" -\"/media\" -\"/mnt\" -\"/run/media\" -\"/srv/50%%\"\n"; !strings.Contains(i.unit(), want) {
		t.Errorf("the unit has not %q:\n%s", want, i.unit())
	}
	for low, want := range map[bool]string{true: "AmbientCapabilities=CAP_NET_BIND_SERVICE\n", false: "AmbientCapabilities=\n"} {
		i.lowPort = low
		if !strings.Contains(i.unit(), want) {
			t.Errorf("the unit has not %q", want)
		}
	}
}
