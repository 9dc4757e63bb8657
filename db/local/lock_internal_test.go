//go:build linux || darwin

package local

import (
	"syscall"
	"testing"
)

// A process that is just being started has the files of the one that starts it until it runs its own program.
// A folder that is given up meanwhile is free all the same.
func TestAFolderThatIsGivenUpIsFreeThoughAnotherHasItsFile(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	file, err := lockDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	beside, err := syscall.Dup(int(file.Fd()))
	if err != nil {
		t.Fatal(err)
	}
	defer syscall.Close(beside)
	if err := unlockDir(file); err != nil {
		t.Fatal(err)
	}
	if pid, held := Holder(dir); held {
		t.Errorf("process %d still holds the folder", pid)
	}
}
