package main

import (
	"regexp"
	"testing"
)

func TestTheProgramSaysWhichItIs(t *testing.T) {
	t.Parallel()
	if said := must(t, "version"); !regexp.MustCompile(`^pullbook unreleased\S* \(\w+/\w+, go1\.\S+, schema \d+\)\n$`).MatchString(said) {
		t.Errorf("it says %q", said)
	}
}
