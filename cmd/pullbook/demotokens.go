package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"

	"github.com/google/uuid"

	"pullbook/db"
	"pullbook/domain/demo"
)

// The people of the demo whose tokens are shown. The crew of the invented book
// recorded what they recorded in their own names.
const (
	demoManager = "Tamsin"
	demoCrew    = "Odell"
	demoReader  = "Juno"
)

// demoOutfit is the invented outfit's id.
var demoOutfit = uuid.MustParse("5ed9e401-0026-4a10-8b0e-ca11ab1e5eed")

// demoKeys are the demo's tokens by person. They are kept in the demo's folder,
// because the database has only their hashes.
type demoKeys struct {
	Tokens    map[string]string `json:"tokens"`
	Passwords map[string]string `json:"passwords"`
}

const (
	demoKeysFile  = "tokens.json"
	demoTokenName = "demo"
)

// demoTokens makes the invented outfit and its people where they are missing,
// and a token for each that works.
func demoTokens(ctx context.Context, s *store, book *demo.Book) (keys demoKeys, err error) {
	d, err := s.operator(ctx)
	if err != nil {
		return keys, err
	}
	defer d.Close()
	people := demoPeople(book)
	if err := makeDemoOutfit(ctx, d, book, people); err != nil {
		return keys, err
	}
	file := filepath.Join(s.server.DataDir(), demoKeysFile)
	if keys, err = readKeys(file); err != nil {
		return keys, err
	}
	changed, err := demoPasswords(ctx, d, keys)
	if err != nil {
		return keys, err
	}
	for _, p := range people {
		had, err := d.Principal(ctx, keys.Tokens[p.Name])
		if err == nil && had.Outfit == demoOutfit && had.Name == p.Name {
			continue
		}
		if keys.Tokens[p.Name], err = replaceToken(ctx, d, p.Name); err != nil {
			return keys, err
		}
		changed = true
	}
	if changed {
		err = keys.write(file)
	}
	return keys, err
}

// demoPasswords gives those who are shown a password, where they have none.
func demoPasswords(ctx context.Context, d *db.DB, keys demoKeys) (changed bool, err error) {
	for _, name := range []string{demoManager, demoCrew, demoReader} {
		p, err := d.PersonCalled(ctx, demoOutfit, name)
		if err != nil {
			return changed, err
		}
		if p.HasPassword && keys.Passwords[name] != "" {
			continue
		}
		keys.Passwords[name], changed = db.NewPassword(), true
		if err := d.SetPassword(ctx, demoOutfit, p.ID, keys.Passwords[name]); err != nil {
			return changed, err
		}
	}
	return changed, nil
}

// demoPeople are all who recorded something, and a reader.
func demoPeople(book *demo.Book) []db.Person {
	people := []db.Person{{Name: demoManager, Role: db.Manager}, {Name: demoReader, Role: db.Reader}}
	for _, e := range book.Entries {
		if !slices.ContainsFunc(people, func(p db.Person) bool { return p.Name == e.RecordedBy }) {
			people = append(people, db.Person{Name: e.RecordedBy, Role: db.Crew})
		}
	}
	return people
}

func makeDemoOutfit(ctx context.Context, d *db.DB, book *demo.Book, people []db.Person) error {
	outfits, err := d.Outfits(ctx)
	if err != nil {
		return err
	}
	if !slices.ContainsFunc(outfits, func(o db.Outfit) bool { return o.ID == demoOutfit }) {
		// It has no decimal mark: who tries it opens its tables in a spreadsheet of the own region.
		o := db.Outfit{ID: demoOutfit, Name: book.Name, TimeZone: demoTimeZone, Units: "metric"}
		if err := d.CreateOutfit(ctx, o); err != nil {
			return err
		}
	}
	there, err := d.People(ctx, demoOutfit)
	if err != nil {
		return err
	}
	for _, p := range people {
		if slices.ContainsFunc(there, func(t db.Person) bool { return t.Name == p.Name }) {
			continue
		}
		p.ID = uuid.New()
		if err := d.CreatePerson(ctx, demoOutfit, p); err != nil {
			return err
		}
	}
	return nil
}

// replaceToken makes a person's token anew and ends those that were lost.
func replaceToken(ctx context.Context, d *db.DB, person string) (string, error) {
	tokens, err := d.Tokens(ctx, demoOutfit)
	if err != nil {
		return "", err
	}
	for _, t := range tokens {
		if t.Person == person && t.Name == demoTokenName && t.RevokedAt == nil {
			if _, err := d.RevokeToken(ctx, demoOutfit, t.ID); err != nil {
				return "", err
			}
		}
	}
	return d.CreateToken(ctx, demoOutfit, person, demoTokenName)
}

func readKeys(file string) (demoKeys, error) {
	keys := demoKeys{}
	text, err := os.ReadFile(file)
	if err == nil {
		err = json.Unmarshal(text, &keys)
	} else if errors.Is(err, fs.ErrNotExist) {
		err = nil
	}
	if err != nil {
		return keys, fmt.Errorf("the demo's tokens in %s cannot be read (remove the file to have new ones made): %w", file, err)
	}
	if keys.Tokens == nil {
		keys.Tokens = map[string]string{}
	}
	if keys.Passwords == nil {
		keys.Passwords = map[string]string{}
	}
	return keys, nil
}

func (k demoKeys) write(file string) error {
	text, err := json.MarshalIndent(k, "", "  ")
	if err != nil {
		return err
	}
	if err := os.WriteFile(file+".new", text, 0o600); err != nil {
		return err
	}
	return os.Rename(file+".new", file)
}
