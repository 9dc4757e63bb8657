package main

import (
	"context"
	"fmt"
	"runtime"
	"runtime/debug"

	"pullbook/migrations"
)

// version is set by cmd/release.
var version string

// programVersion is the release that the program is of, or the commit where it is of none.
func programVersion() string {
	if version != "" {
		return version
	}
	if info, ok := debug.ReadBuildInfo(); ok {
		for _, s := range info.Settings {
			if s.Key == "vcs.revision" && len(s.Value) >= 12 {
				return "unreleased-" + s.Value[:12]
			}
		}
	}
	return "unreleased"
}

type versionCommand struct{}

func (*versionCommand) Run(_ context.Context, term *terminal) error {
	schema, err := migrations.Latest()
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(term.Out, "pullbook %s (%s/%s, %s, schema %d)\n", programVersion(), runtime.GOOS, runtime.GOARCH, runtime.Version(), schema)
	return err
}
