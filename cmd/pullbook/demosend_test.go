package main

import (
	"io"
	"net/http"
	"net/http/httptest"
	"reflect"
	"strings"
	"testing"

	"github.com/google/uuid"

	"pullbook/openapi"
)

// Whatever the contract lets be recorded, the demo can send.
func TestEveryKindOfEntryCanBeSent(t *testing.T) {
	t.Parallel()
	asked := make(chan string, 1)
	service := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		body, _ := io.ReadAll(r.Body)
		asked <- r.Method + " " + r.URL.Path + " " + r.Header.Get("Authorization") + " " + string(body)
	}))
	defer service.Close()
	client, err := signedIn(service.URL, "secret")
	if err != nil {
		t.Fatal(err)
	}
	methods := reflect.TypeOf((*openapi.ClientInterface)(nil)).Elem()
	recorded := 0
	for i := range methods.NumMethod() {
		m := methods.Method(i)
		if !strings.HasPrefix(m.Name, "Record") || strings.HasSuffix(m.Name, "WithBody") {
			continue
		}
		recorded++
		request := reflect.New(m.Type.In(1))
		id := uuid.New()
		request.Elem().FieldByName("ID").Set(reflect.ValueOf(id))
		response, err := send(t.Context(), client, request.Interface())
		if err != nil {
			t.Errorf("%s: %v", m.Name, err)
			continue
		}
		response.Body.Close()
		if got := <-asked; !strings.HasPrefix(got, "POST /v1/") || !strings.Contains(got, "Bearer secret") || !strings.Contains(got, id.String()) {
			t.Errorf("%s asked %s", m.Name, got)
		}
	}
	if recorded < 25 {
		t.Errorf("the contract records %d kinds of entries", recorded)
	}
	if _, err := send(t.Context(), client, &openapi.Outfit{}); err == nil {
		t.Error("an outfit was sent as an entry")
	}
}
