package locale

import (
	"encoding/json"
	"fmt"
	"io/fs"
	"path"

	"pullbook/api/web"
	"pullbook/domain/message"
)

// Catalogue has each English sentence of pages and domain in each other language. The
// first key is the language, the second the English sentence. api/web/words has a folder
// for each language and a file for each part of the program, so that translators find
// things.
var Catalogue = readCatalogue()

func readCatalogue() map[string]map[string]string {
	out := map[string]map[string]string{}
	languages, err := fs.ReadDir(web.Files, "words")
	if err != nil {
		panic(err)
	}
	for _, l := range languages {
		words := map[string]string{}
		for _, name := range web.Names("words/" + l.Name()) {
			if err := readWords(words, path.Join("words", l.Name(), name)); err != nil {
				panic(err)
			}
		}
		out[l.Name()] = words
	}
	return out
}

// readWords adds a file to words. A sentence may stand in two files, for the parts
// of the program that both say it, but is never said in two ways.
func readWords(words map[string]string, name string) error {
	data, err := fs.ReadFile(web.Files, name)
	if err != nil {
		return err
	}
	var file map[string]string
	if err := json.Unmarshal(data, &file); err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	for english, said := range file {
		if other, twice := words[english]; twice && other != said {
			return fmt.Errorf("%s: %q is %q, and %q in another file", name, english, said, other)
		}
		words[english] = said
	}
	return nil
}

// words returns an English sentence in the language, and in English where the catalogue
// lacks it, for which a test fails.
func (t Language) words(format string) string {
	if said, ok := Catalogue[t.Lang][format]; ok {
		return message.WithoutContext(said)
	}
	return message.WithoutContext(format)
}
