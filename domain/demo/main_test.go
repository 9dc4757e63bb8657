package demo_test

import (
	"os"
	"runtime/debug"
	"testing"
)

// TestMain collects garbage less often: hundreds of seasons are made up and thrown away, and
// a sixth of the processor's time went into the collector.
func TestMain(m *testing.M) {
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(400)
	}
	os.Exit(m.Run())
}
