package dbtest

import "os"

// Whole reports whether everything is to be tried that can be: every screen in every
// window and language, every job at every origin, ten kills instead of three. Each change
// lands after that: `.ci/run` sets PULLBOOK_TEST_WHOLE. Without it a test does each sort of
// thing, but not in each combination, so that all tests can be run before every commit.
func Whole() bool { return os.Getenv("PULLBOOK_TEST_WHOLE") != "" }
