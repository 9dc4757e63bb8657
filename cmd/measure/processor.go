package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"time"
)

// processorTime is how long the processors worked, which others on the machine do not
// lengthen as they do the time by the clock.
type processorTime struct {
	// own is of this process, which is client and service in one, and of what it ran.
	own time.Duration
	// postgres is of PostgreSQL; zero where the system does not tell.
	postgres time.Duration
}

func (p processorTime) less(before processorTime) processorTime {
	return processorTime{p.own - before.own, p.postgres - before.postgres}
}

// processorTimeNow is what was used so far, with the server of that number.
func processorTimeNow(postmaster int) (p processorTime, err error) {
	for _, who := range []int{syscall.RUSAGE_SELF, syscall.RUSAGE_CHILDREN} {
		var u syscall.Rusage
		if err := syscall.Getrusage(who, &u); err != nil {
			return p, err
		}
		p.own += time.Duration(u.Utime.Nano() + u.Stime.Nano())
	}
	stats, err := filepath.Glob("/proc/[0-9]*/stat")
	if err != nil {
		return p, err
	}
	for _, path := range stats {
		text, err := os.ReadFile(path)
		if err != nil {
			continue // it ended meanwhile, and counts to the server's
		}
		used, err := ofServer(postmaster, text)
		if err != nil {
			return p, fmt.Errorf("%s: %w", path, err)
		}
		p.postgres += used
	}
	return p, nil
}

// tick is the unit of times under /proc.
const tick = time.Second / 100

// ofServer reads a process's line under /proc: what it used if it is the server's, with
// those of the server's that ended; else nothing.
func ofServer(postmaster int, stat []byte) (time.Duration, error) {
	// The fields before the last parenthesis are its number and its name.
	number, _, _ := strings.Cut(string(stat), " ")
	fields := strings.Fields(string(stat[bytes.LastIndexByte(stat, ')')+1:]))
	if len(fields) < 15 {
		return 0, fmt.Errorf("%d fields follow the name; 15 were to be there", len(fields))
	}
	const parent, user, system, endedUser, endedSystem = 1, 11, 12, 13, 14
	count := []int{user, system}
	switch strconv.Itoa(postmaster) {
	case number:
		count = append(count, endedUser, endedSystem)
	case fields[parent]:
	default:
		return 0, nil
	}
	var all time.Duration
	for _, i := range count {
		ticks, err := strconv.ParseInt(fields[i], 10, 64)
		if err != nil {
			return 0, err
		}
		all += time.Duration(ticks) * tick
	}
	return all, nil
}
