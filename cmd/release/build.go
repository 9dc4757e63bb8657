package main

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
)

// sumsFile has a line for each other file of a release, as sha256sum writes and checks them.
const sumsFile = "SHA256SUMS"

// release is what is built: a program of the module in source.
type release struct {
	source, program string
	// name begins the name of each file.
	name, version string
	// scripts are the descriptions of the libraries that it serves, by paths within source.
	scripts []string
}

// into builds the programs into a folder, each with its bill of materials, and then writes the
// sums of them all.
func (r release) into(ctx context.Context, folder string, chosen []target, out io.Writer) error {
	if strings.ContainsAny(r.version, " '\"\n") || r.version == "" {
		return fmt.Errorf("the version is %q; 1.4.0 would be one", r.version)
	}
	folder, err := filepath.Abs(folder)
	if err != nil {
		return err
	}
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return err
	}
	// A release that fails half way must not look whole.
	if err := os.RemoveAll(filepath.Join(folder, sumsFile)); err != nil {
		return err
	}
	var files []string
	for _, t := range chosen {
		program := r.fileName(t)
		if err := r.build(ctx, t, filepath.Join(folder, program)); err != nil {
			return fmt.Errorf("for %s: %w", t, err)
		}
		bill := program + ".cdx.json"
		if err := r.writeBill(filepath.Join(folder, program), filepath.Join(folder, bill)); err != nil {
			return fmt.Errorf("the bill of materials for %s: %w", t, err)
		}
		info, err := os.Stat(filepath.Join(folder, program))
		if err != nil {
			return err
		}
		fmt.Fprintf(out, "%s  %.1f MB\n", program, float64(info.Size())/1e6)
		files = append(files, program, bill)
	}
	return writeSums(folder, files)
}

// fileName is the program's name in the release: pullbook-1.4.0-linux-arm64.
func (r release) fileName(t target) string {
	name := strings.Join([]string{r.name, r.version, t.os, t.arch}, "-")
	if t.os == "windows" {
		name += ".exe"
	}
	return name
}

// build builds one program. Nothing of this machine comes into it: no folder (-trimpath), no
// state of git (-buildvcs=false), no C library, no build id, and no choice of processor
// from the environment.
func (r release) build(ctx context.Context, t target, to string) error {
	cmd := exec.CommandContext(ctx, "go", "build", "-trimpath", "-buildvcs=false", "-mod=readonly",
		"-ldflags=-s -w -buildid= -X main.version="+r.version, "-o", to, r.program)
	cmd.Dir = r.source
	cmd.Env = append(os.Environ(), "GOOS="+t.os, "GOARCH="+t.arch, "CGO_ENABLED=0",
		"GOFLAGS=", "GOEXPERIMENT=", "GOFIPS140=off", "GOAMD64=v1", "GOARM64=v8.0", "GOWORK=off")
	if told, err := cmd.CombinedOutput(); err != nil {
		return fmt.Errorf("%w\n%s", err, told)
	}
	return nil
}

// writeSums writes the SHA-256 of files in a folder, in the order of their names.
func writeSums(folder string, files []string) error {
	var sums strings.Builder
	for _, name := range slices.Sorted(slices.Values(files)) {
		sum, err := sumOf(filepath.Join(folder, name))
		if err != nil {
			return err
		}
		fmt.Fprintf(&sums, "%s  %s\n", hex.EncodeToString(sum), name)
	}
	return os.WriteFile(filepath.Join(folder, sumsFile), []byte(sums.String()), 0o644)
}

func sumOf(path string) ([]byte, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		return nil, err
	}
	return h.Sum(nil), nil
}
