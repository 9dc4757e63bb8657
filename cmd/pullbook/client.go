package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"reflect"
	"strings"

	"pullbook/openapi"
)

// client asks a service that serves at base, in the name of a token.
type client struct {
	base, token string
	http        *http.Client
}

func newClient(base, token string) *client {
	return &client{base: base, token: token, http: http.DefaultClient}
}

// get reads the answer of a path below /v1 into a value of the contract's type.
func (c *client) get(ctx context.Context, path string, into any) error {
	status, body, err := c.do(ctx, http.MethodGet, "/v1/"+path, nil)
	if err != nil {
		return err
	}
	if status != http.StatusOK {
		return refusal(status, body)
	}
	return json.Unmarshal(body, into)
}

// record sends one of the contract's New types. It returns the status of the answer, and
// an error where the entry is not in the book.
func (c *client) record(ctx context.Context, request any) (status int, err error) {
	path, err := openapi.RecordingPath(reflect.Indirect(reflect.ValueOf(request)).Type().Name())
	if err != nil {
		return 0, err
	}
	data, err := json.Marshal(request)
	if err != nil {
		return 0, err
	}
	status, body, err := c.do(ctx, http.MethodPost, path, data)
	if err == nil && status >= http.StatusMultipleChoices {
		err = refusal(status, body)
	}
	return status, err
}

func (c *client) do(ctx context.Context, method, path string, data []byte) (status int, body []byte, err error) {
	r, err := http.NewRequestWithContext(ctx, method, c.base+path, bytes.NewReader(data))
	if err != nil {
		return 0, nil, err
	}
	r.Header.Set("Authorization", "Bearer "+c.token)
	if data != nil {
		r.Header.Set("Content-Type", "application/json")
	}
	response, err := c.http.Do(r)
	if err != nil {
		return 0, nil, err
	}
	defer response.Body.Close()
	body, err = io.ReadAll(response.Body)
	return response.StatusCode, body, err
}

// refusal is what the service said against a request.
func refusal(status int, body []byte) error {
	var problem openapi.Problem
	if err := json.Unmarshal(body, &problem); err != nil || problem.Detail == nil {
		return fmt.Errorf("refused with %d: %.300s", status, body)
	}
	said := []string{*problem.Detail}
	if problem.Errors != nil && len(*problem.Errors) > 0 {
		first := (*problem.Errors)[0]
		said = append(said, fmt.Sprintf("(%s: %s)", first.Pointer, first.Detail))
	}
	return fmt.Errorf("refused with %d: %s", status, strings.Join(said, " "))
}
