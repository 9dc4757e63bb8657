package apitest

import (
	"time"

	"pullbook/api/request"
)

// WithAnAuthority has a machine be its own authority, as its pages show it: no device trusts it.
func WithAnAuthority(config *request.Config) {
	config.Own = func() request.OwnAuthority {
		return request.OwnAuthority{
			Root: []byte("no certificate"), Name: "pullbook of hive, 2026-11-29 (3F9A01)", Until: time.Date(2036, time.November, 26, 0, 0, 0, 0, time.UTC),
			Fingerprint: "0A:1B:2C:3D:4E:5F:60:71:82:93:A4:B5:C6:D7:E8:F9:0A:1B:2C:3D:4E:5F:60:71:82:93:A4:B5:C6:D7:E8:F9",
			Hosts:       []string{"hive.example:8443", "127.0.0.2:8443", "[::1]:8443"}, // nobody answers
		}
	}
}
