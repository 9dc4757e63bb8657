package main

import (
	"context"
	"log/slog"
	"net"
	"net/http"
	"time"

	"pullbook/api"
	"pullbook/api/request"
	"pullbook/db"
	"pullbook/db/books"
)

// poolSize is how many connections to the database a service has.
const poolSize = 16

// longEnough is more than any answer takes that is measured.
const longEnough = 10 * time.Minute

// served is pullbook, serving in this process.
type served struct {
	url  string
	stop func()
}

// serveBook serves pullbook over a database that the service's role may enter. Its clock is
// now.
func serveBook(ctx context.Context, database string, now func() time.Time) (served, error) {
	service, err := db.Open(ctx, database, db.ServiceRole, poolSize)
	if err != nil {
		return served{}, err
	}
	service.Now = now
	books.LetGarbageLie(64 << 20) // as the program does; the floors are served in this process too
	books := books.Open(service, 64)
	config := request.DefaultConfig()
	config.Log, config.Now, config.RequestTimeout = slog.New(slog.DiscardHandler), now, longEnough
	handler, err := api.New(service, books, config)
	if err != nil {
		return served{}, err
	}
	url, stop, err := serve(handler)
	return served{url, func() { stop(); books.Close(); service.Close() }}, err
}

// serve answers on a free port of this machine.
func serve(h http.Handler) (url string, stop func(), err error) {
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return "", nil, err
	}
	s := &http.Server{Handler: h}
	go s.Serve(listener)
	return "http://" + listener.Addr().String(), func() { s.Close() }, nil
}
