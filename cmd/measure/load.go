package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"net/http"
	"sync"
	"sync/atomic"
	"time"
)

// sending is one entry about to be sent.
type sending struct {
	url, token string
	body       []byte
}

// load sends entries over so many connections, each waiting for its answer
// before it sends the next, and returns how many were answered a second.
func load(ctx context.Context, connections int, lasting time.Duration, next func(connection int) sending) (float64, error) {
	client := &http.Client{Transport: &http.Transport{MaxIdleConnsPerHost: connections, MaxConnsPerHost: connections}}
	defer client.CloseIdleConnections()
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	var answered atomic.Int64
	var group sync.WaitGroup
	began := time.Now()
	for i := range connections {
		group.Go(func() {
			for time.Since(began) < lasting && ctx.Err() == nil {
				if err := send(ctx, client, next(i)); err != nil {
					cancel(err)
					return
				}
				answered.Add(1)
			}
		})
	}
	group.Wait()
	if err := context.Cause(ctx); err != nil {
		return 0, err
	}
	return float64(answered.Load()) / time.Since(began).Seconds(), nil
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
