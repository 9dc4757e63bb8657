package main

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"net/url"
	"path/filepath"
	"slices"
	"strings"

	"golang.org/x/crypto/acme"
	"golang.org/x/crypto/acme/autocert"

	"pullbook/api/authority"
	"pullbook/api/request"
)

// acmeCertificates come from a directory on the internet that finds out whether the names are
// this machine's (ACME, RFC 8555). It asks over plain HTTP at port 80, or over TLS at port 443.
type acmeCertificates struct {
	*autocert.Manager
	names []string
	log   *slog.Logger
}

func (s tlsSettings) checkACME() error {
	for _, name := range s.Names {
		if !strings.Contains(strings.Trim(name, "."), ".") || strings.ContainsAny(name, ":/ *") || net.ParseIP(name) != nil {
			return fmt.Errorf("--tls-name is %q; a whole name of the internet is needed, as book.example", name)
		}
		if authority.Permits(name) {
			return fmt.Errorf("--tls-name is %q, a name of a private network, which nobody on the internet vouches for; --tls own does", name)
		}
	}
	if s.Directory == "" {
		return nil
	}
	if u, err := url.Parse(s.Directory); err != nil || u.Scheme != "https" || u.Host == "" {
		return fmt.Errorf("--tls-directory is %q; the address of a directory begins with https://", s.Directory)
	}
	if len(s.Names) == 0 {
		return errors.New("--tls-directory gives certificates for --tls-name, and there is none")
	}
	return nil
}

// openACME keeps what a directory gave in a folder, so that a restart asks for nothing.
func openACME(names []string, directory, folder string, log *slog.Logger) *acmeCertificates {
	return &acmeCertificates{&autocert.Manager{
		Prompt: autocert.AcceptTOS, // who sets --tls-name accepts them: its help says so
		Cache:  autocert.DirCache(filepath.Join(folder, "acme")),
		HostPolicy: func(_ context.Context, host string) error {
			if h, _, err := net.SplitHostPort(host); err == nil {
				host = h
			}
			if !slices.Contains(names, host) {
				return fmt.Errorf("%q is none of --tls-name", host)
			}
			return nil
		},
		Client: &acme.Client{DirectoryURL: directory},
	}, names, log}
}

func (a *acmeCertificates) config() *tls.Config { return a.TLSConfig() }

func (a *acmeCertificates) own() func() request.OwnAuthority { return nil }

func (a *acmeCertificates) challenges(next http.Handler) http.Handler { return a.HTTPHandler(next) }

// begin asks for the certificates, so that the first device need not wait for one.
func (a *acmeCertificates) begin() {
	for _, name := range a.names {
		go func() {
			hello := &tls.ClientHelloInfo{ServerName: name, SignatureSchemes: []tls.SignatureScheme{tls.ECDSAWithP256AndSHA256}, CipherSuites: []uint16{tls.TLS_ECDHE_ECDSA_WITH_AES_128_GCM_SHA256}}
			if c, err := a.GetCertificate(hello); err != nil {
				a.log.Warn("no certificate came; the next device that asks for the name has it tried again", "name", name, "error", err)
			} else {
				a.log.Info("there is a certificate", "name", name, "until", c.Leaf.NotAfter)
			}
		}()
	}
}
