package local

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// isPostmaster says whether pid is a living server of the cluster: its number
// may have gone to another program since, which must not be stopped. The
// command line of a process that has ended reads empty, also before its parent
// has taken notice.
func isPostmaster(pid int, clusterDir string) bool {
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/cmdline", pid))
	if err != nil {
		return false
	}
	args := strings.Split(string(text), "\x00")
	return filepath.Base(args[0]) == "postgres" && slices.Contains(args, clusterDir)
}
