package main

import (
	"math"
	"os"
	"path"
	"runtime/debug"
	"strconv"
	"strings"
)

// memoryToUse is how much memory the program may use, in bytes: the least of what GOMEMLIMIT
// says, of what the control groups allow in which the program runs, and of what the machine
// has. It is 0 where none of them is known, as on systems without /proc.
func memoryToUse() int64 {
	bounds := []int64{debug.SetMemoryLimit(-1)}
	read := func(name string) string {
		text, _ := os.ReadFile(name) // what is not there says nothing
		return string(text)
	}
	bounds = append(bounds, memoryOfMachine(read("/proc/meminfo")))
	for _, file := range limitFiles(read("/proc/self/cgroup")) {
		bounds = append(bounds, memoryLimit(read(file)))
	}
	least := int64(math.MaxInt64)
	for _, bound := range bounds {
		if bound > 0 {
			least = min(least, bound)
		}
	}
	if least == math.MaxInt64 {
		return 0
	}
	return least
}

// garbage is how much of it the service lets lie about beside a small book, in bytes: what
// some thousand requests leave, and a sixteenth of the memory at most.
func garbage(memory int64) int64 {
	const usual = 64 << 20
	if memory == 0 {
		return usual
	}
	return min(usual, memory/16)
}

// memoryOfMachine reads /proc/meminfo; 0 where it does not say.
func memoryOfMachine(meminfo string) int64 {
	for line := range strings.Lines(meminfo) {
		if kib, is := strings.CutPrefix(line, "MemTotal:"); is {
			n, _ := strconv.ParseInt(strings.TrimSuffix(strings.TrimSpace(kib), " kB"), 10, 64)
			return n << 10
		}
	}
	return 0
}

// limitFiles are the files with the memory that each control group of a process may use,
// which the kernel lists in /proc/self/cgroup: of version 2, or of version 1.
func limitFiles(cgroup string) (files []string) {
	const mounted = "/sys/fs/cgroup"
	for line := range strings.Lines(cgroup) {
		parts := strings.SplitN(strings.TrimSpace(line), ":", 3)
		if len(parts) < 3 {
			continue
		}
		root, name := mounted, "memory.max"
		switch {
		case parts[1] == "memory":
			root, name = mounted+"/memory", "memory.limit_in_bytes"
		case parts[0] != "0":
			continue
		}
		// The least of all groups around it holds. In a container the path may be that of
		// the machine, of which only the end is there.
		for at := path.Clean("/" + parts[2]); ; at = path.Dir(at) {
			files = append(files, path.Join(root, at, name))
			if at == "/" {
				break
			}
		}
	}
	return files
}

// memoryLimit reads such a file; 0 where there is no limit.
func memoryLimit(text string) int64 {
	n, err := strconv.ParseInt(strings.TrimSpace(text), 10, 64)
	if err != nil {
		return 0 // max, or the file is not there
	}
	return n
}
