package api

import "github.com/labstack/echo/v4"

// Routes are all that a service has; there is no database behind these.
func Routes() ([]*echo.Route, error) {
	c, err := readContract()
	if err != nil {
		return nil, err
	}
	s := &Server{Config: DefaultConfig(), contract: c, metrics: newMetrics(nil)}
	return s.routed().Routes(), nil
}
