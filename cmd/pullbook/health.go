package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"strings"
	"time"
)

type healthCommand struct {
	Addr   string        `name:"addr" env:"PULLBOOK_ADDR" default:"127.0.0.1:8080" placeholder:"HOST:PORT" help:"Address at which the pullbook to ask listens, ${default} unless given."`
	Within time.Duration `name:"within" default:"3s" help:"How long it may take to answer."`
}

func (c *healthCommand) Help() string {
	return `The exit status is 0 if that pullbook is ready to record, and 1 if it is not. A container has no other program to check itself with.`
}

func (c *healthCommand) Run(ctx context.Context, term *terminal) error {
	host, port, err := net.SplitHostPort(c.Addr)
	if err != nil {
		return fmt.Errorf("--addr %q: %w; 127.0.0.1:8080 would do", c.Addr, err)
	}
	if ip := net.ParseIP(host); host == "" || ip != nil && ip.IsUnspecified() {
		host = "127.0.0.1" // what listens everywhere listens here
	}
	ctx, cancel := context.WithTimeout(ctx, c.Within)
	defer cancel()
	request, err := http.NewRequestWithContext(ctx, http.MethodGet, "http://"+net.JoinHostPort(host, port)+"/readyz", nil)
	if err != nil {
		return err
	}
	response, err := http.DefaultClient.Do(request)
	if err != nil {
		return fmt.Errorf("no pullbook answers: %w", err)
	}
	defer response.Body.Close()
	text, err := io.ReadAll(io.LimitReader(response.Body, 1<<10))
	if err != nil {
		return err
	}
	answer := strings.TrimSpace(string(text))
	if response.StatusCode != http.StatusOK {
		return errors.New("it is not ready: " + answer)
	}
	fmt.Fprintln(term.Out, answer)
	return nil
}
