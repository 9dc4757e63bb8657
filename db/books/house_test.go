package books_test

import (
	"os"
	"testing"

	"pullbook/db/books/bookstest"
)

func TestMain(m *testing.M) { os.Exit(bookstest.Main(m)) }

type honeyHouse struct{ *bookstest.House }

func open(t testing.TB) *honeyHouse { return &honeyHouse{bookstest.Open(t)} }
