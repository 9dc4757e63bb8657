package local

import (
	"strconv"
	"strings"
)

// isPostmaster says whether pid is a living server of the cluster: its number
// may have gone to another program since, which must not be stopped.
func isPostmaster(pid int, clusterDir string) bool {
	command, err := output("/bin/ps", "-ww", "-o", "command=", "-p", strconv.Itoa(pid))
	return err == nil && strings.Contains(command, "postgres") && strings.Contains(command, clusterDir+" ")
}
