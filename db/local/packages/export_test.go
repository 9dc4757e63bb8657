package packages

import "slices"

// On is Command for a platform described by its programs.
func On(root bool, release string, programs []string, needs ...Need) Installation {
	return platform{root: root, release: release, has: func(name string) bool { return slices.Contains(programs, name) }}.install(needs)
}
