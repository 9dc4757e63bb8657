package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"net/http"
	"slices"
	"sync"
	"time"
)

// sending is one entry about to be sent.
type sending struct {
	url, token string
	body       []byte
}

// loaded is what came of a load.
type loaded struct {
	perSecond float64
	// entries is how many were stored.
	entries int
	// took is how long each answer took, the shortest first; nil where nobody looked.
	took []time.Duration
	// used is the processor time that it took.
	used processorTime
}

// next makes the entry that a connection sends as its nth, from 0.
type next func(connection, nth int) sending

// load sends entries over so many connections, each waiting for its answer before it sends
// the next. Each connection sends one at least.
func load(ctx context.Context, connections int, lasting time.Duration, next next) (loaded, error) {
	client := &http.Client{Transport: &http.Transport{MaxIdleConnsPerHost: connections, MaxConnsPerHost: connections}}
	defer client.CloseIdleConnections()
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	took := make([][]time.Duration, connections)
	var group sync.WaitGroup
	began := time.Now()
	for i := range connections {
		group.Go(func() {
			for n := 0; n == 0 || time.Since(began) < lasting && ctx.Err() == nil; n++ {
				sent := time.Now()
				if err := send(ctx, client, next(i, n)); err != nil {
					cancel(err)
					return
				}
				took[i] = append(took[i], time.Since(sent))
			}
		})
	}
	group.Wait()
	lasted := time.Since(began)
	if err := context.Cause(ctx); err != nil {
		return loaded{}, err
	}
	all := slices.Sorted(slices.Values(slices.Concat(took...)))
	return loaded{perSecond: float64(len(all)) / lasted.Seconds(), entries: len(all), took: all}, nil
}

func send(ctx context.Context, client *http.Client, r sending) error {
	req, err := http.NewRequestWithContext(ctx, http.MethodPost, r.url, bytes.NewReader(r.body))
	if err != nil {
		return err
	}
	req.Header.Set("Content-Type", "application/json")
	if r.token != "" {
		req.Header.Set("Authorization", "Bearer "+r.token)
	}
	res, err := client.Do(req)
	if err != nil {
		return err
	}
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	if err != nil {
		return err
	}
	if res.StatusCode != http.StatusCreated {
		return fmt.Errorf("%s: %s", res.Status, body)
	}
	return nil
}
