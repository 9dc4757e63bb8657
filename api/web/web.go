// Package web has the files that browsers and the pages' templates are made of.
package web

import (
	"embed"
	"io/fs"
)

// Files has the templates, styles, scripts and words of the pages.
//
//go:embed assets pages parts words layout.html worker.js
var Files embed.FS

// Names returns the names of the files in a folder of Files, without those of folders in it.
// A folder that is missing panics: the program was built without it.
func Names(folder string) []string {
	entries, err := fs.ReadDir(Files, folder)
	if err != nil {
		panic(err)
	}
	var names []string
	for _, e := range entries {
		if !e.IsDir() {
			names = append(names, e.Name())
		}
	}
	return names
}
