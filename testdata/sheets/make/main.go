// Command make writes the sheets of ten messy years beside it, and outcomes.json, which
// says of each what comes of it. The outcomes were worked by hand, from the sheet alone.
//
//	go run ./testdata/sheets/make [-to FOLDER]
package main

import (
	"bytes"
	"encoding/json"
	"flag"
	"log"
	"os"
	"path/filepath"
)

// sheet is a file and what comes of it where it is brought into the book of a small outfit:
// the yards Mill and Ridge, the boxes deep and shallow, drums, the tanks sump and large
// tank, a refractometer, a hot room and the season 2026.
type sheet struct {
	File string `json:"file"`
	// Says is what is untidy about it, From the language and region that it is written in.
	Says string `json:"says"`
	From string `json:"from"`
	// Of is what its rows are; Sheet is the one that is read, where it is not the first.
	Of    string `json:"of"`
	Sheet string `json:"sheet,omitempty"`
	// After is the file that was brought in before it, with its answers.
	After string `json:"after,omitempty"`
	// Asked are the questions that it raises: row, column and sort of problem, and how many
	// further rows raise the same.
	Asked []string `json:"asked,omitempty"`
	// Answers are parts of a mapping, columns by their names; with them nothing is asked.
	Answers map[string]any `json:"answers,omitempty"`
	// Stored is what is in the book afterwards, where nothing is left to be asked.
	Stored  []string `json:"stored,omitempty"`
	LeftOut int      `json:"left_out,omitempty"`

	bytes []byte
}

// answers are parts of a mapping.
type answers = map[string]any

func main() {
	to := flag.String("to", "testdata/sheets", "the folder that the files are written to")
	flag.Parse()
	log.SetFlags(0)
	var all []sheet
	for _, some := range [][]sheet{pulls, figures, dates, rows, readings, containers, others, loggers, wide} {
		all = append(all, some...)
	}
	for _, s := range all {
		write(*to, s.File, s.bytes)
	}
	var out bytes.Buffer
	as := json.NewEncoder(&out)
	as.SetEscapeHTML(false)
	as.SetIndent("", "  ")
	if err := as.Encode(all); err != nil {
		log.Fatal(err)
	}
	write(*to, "outcomes.json", out.Bytes())
}

func write(folder, name string, data []byte) {
	if err := os.WriteFile(filepath.Join(folder, name), data, 0o644); err != nil {
		log.Fatal(err)
	}
}
