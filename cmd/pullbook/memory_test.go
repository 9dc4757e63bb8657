package main

import (
	"runtime/debug"
	"slices"
	"testing"
)

// A program in a group with a limit is held to the least limit of the groups around it.
func TestTheMemoryOfAGroupIsFoundWhereTheKernelSaysIt(t *testing.T) {
	t.Parallel()
	for cgroup, want := range map[string][]string{
		"0::/system.slice/pullbook.service\n": {"/sys/fs/cgroup/system.slice/pullbook.service/memory.max", "/sys/fs/cgroup/system.slice/memory.max", "/sys/fs/cgroup/memory.max"},
		"0::/\n":                              {"/sys/fs/cgroup/memory.max"},
		"9:memory:/a\n1:cpu:/b\n":             {"/sys/fs/cgroup/memory/a/memory.limit_in_bytes", "/sys/fs/cgroup/memory/memory.limit_in_bytes"},
		"":                                    nil,
		"nothing of the kind\n":               nil,
	} {
		if got := limitFiles(cgroup); !slices.Equal(got, want) {
			t.Errorf("%q: %q", cgroup, got)
		}
	}
	for text, want := range map[string]int64{"max\n": 0, "536870912\n": 512 << 20, "": 0} {
		if got := memoryLimit(text); got != want {
			t.Errorf("a limit of %q is taken for %d", text, got)
		}
	}
	if got := memoryOfMachine("MemTotal:       24600000 kB\nMemFree: 1 kB\n"); got != 24_600_000<<10 {
		t.Errorf("the machine has %d", got)
	}
}

// What GOMEMLIMIT says holds, if it is less than what the machine has.
func TestTheMemoryToUseIsAtMostWhatTheProgramIsTold(t *testing.T) {
	const told = 300 << 20
	before := debug.SetMemoryLimit(told)
	defer debug.SetMemoryLimit(before)
	if got := memoryToUse(); got != told {
		t.Errorf("told to use %d bytes, the program would use %d", told, got)
	}
}

func TestGarbageTakesASixteenthOfTheMemoryAtMost(t *testing.T) {
	t.Parallel()
	for memory, want := range map[int64]int64{0: 64 << 20, 256 << 20: 16 << 20, 1 << 30: 64 << 20, 64 << 30: 64 << 20} {
		if got := garbage(memory); got != want {
			t.Errorf("of %d MiB of memory %d MiB", memory>>20, got>>20)
		}
	}
}
