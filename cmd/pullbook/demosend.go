package main

import (
	"context"
	"fmt"
	"net/http"
	"reflect"
	"strings"

	"pullbook/openapi"
)

// send records one of the contract's New types with the client's method for it.
// The contract names the two alike: NewPull is sent by RecordPull.
func send(ctx context.Context, c *openapi.ClientWithResponses, request any) (*http.Response, error) {
	body := reflect.Indirect(reflect.ValueOf(request))
	noun, isNew := strings.CutPrefix(body.Type().Name(), "New")
	method := reflect.ValueOf(c.ClientInterface).MethodByName("Record" + noun)
	if !isNew || !method.IsValid() {
		return nil, fmt.Errorf("the contract has no way to record a %T", request)
	}
	got := method.Call([]reflect.Value{reflect.ValueOf(ctx), body})
	err, _ := got[1].Interface().(error)
	response, _ := got[0].Interface().(*http.Response)
	return response, err
}
