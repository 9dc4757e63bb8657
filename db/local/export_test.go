package local

// InstallOn is InstallCommand for a platform described by its programs.
func InstallOn(root bool, release string, programs ...string) Installation {
	return installOn(platform{root: root, release: release, has: func(name string) bool {
		for _, program := range programs {
			if program == name {
				return true
			}
		}
		return false
	}})
}
