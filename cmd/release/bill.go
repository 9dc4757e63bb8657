package main

import (
	"debug/buildinfo"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"runtime/debug"
	"strings"

	cdx "github.com/CycloneDX/cyclonedx-go"
	"github.com/google/uuid"
)

// carriedPackages are the packages of others that the program carries beside its modules, to serve
// with its pages or to run: what they say of themselves, by a path within the sources.
var carriedPackages = []string{"api/web/assets/qr/package.json", "domain/optimum/highs/package.json"}

// writeBill writes the bill of materials of a program: the modules that Go linked into it, as
// the program itself lists them, Go's own library, and the scripts of others.
func (r release) writeBill(program, to string) (err error) {
	info, err := buildinfo.ReadFile(program)
	if err != nil {
		return err
	}
	sum, err := sumOf(program)
	if err != nil {
		return err
	}
	var scripts []cdx.Component
	for _, path := range r.scripts {
		script, err := scriptOf(filepath.Join(r.source, path))
		if err != nil {
			return err
		}
		scripts = append(scripts, script)
	}
	f, err := os.Create(to)
	if err != nil {
		return err
	}
	bill := r.bill(info, sum, scripts)
	if err := cdx.NewBOMEncoder(f, cdx.BOMFileFormatJSON).SetPretty(true).EncodeVersion(bill, cdx.SpecVersion1_6); err != nil {
		f.Close()
		return err
	}
	return f.Close()
}

// bill has no time, and a serial number that follows from the program's bytes, so that the same
// program has the same bill.
func (r release) bill(info *debug.BuildInfo, sum []byte, scripts []cdx.Component) *cdx.BOM {
	own := cdx.Component{
		BOMRef: r.name, Type: cdx.ComponentTypeApplication, Name: r.name, Version: r.version,
		Hashes: &[]cdx.Hash{{Algorithm: cdx.HashAlgoSHA256, Value: hex.EncodeToString(sum)}},
	}
	library := strings.TrimPrefix(info.GoVersion, "go")
	if at := strings.IndexByte(library, ' '); at > 0 { // experiments stand behind the version
		library = library[:at]
	}
	components := []cdx.Component{component("std", library, "")}
	for _, m := range info.Deps {
		if m.Replace != nil {
			m = m.Replace
		}
		components = append(components, component(m.Path, m.Version, m.Sum))
	}
	components = append(components, scripts...)
	rests := cdx.Dependency{Ref: r.name, Dependencies: &[]string{}}
	for _, c := range components {
		*rests.Dependencies = append(*rests.Dependencies, c.BOMRef)
	}
	bill := cdx.NewBOM()
	bill.SerialNumber = "urn:uuid:" + uuid.NewSHA1(uuid.NameSpaceOID, sum).String()
	bill.Metadata = &cdx.Metadata{Component: &own}
	bill.Components = &components
	bill.Dependencies = &[]cdx.Dependency{rests}
	return bill
}

// component is a module. Sum is go.sum's digest of the module's files, which is none of the
// digests that CycloneDX knows.
func component(path, version, sum string) cdx.Component {
	purl := "pkg:golang/" + path + "@" + version
	c := cdx.Component{BOMRef: purl, Type: cdx.ComponentTypeLibrary, Name: path, Version: version, PackageURL: purl, Scope: cdx.ScopeRequired}
	if sum != "" {
		c.Properties = &[]cdx.Property{{Name: "go:sum", Value: sum}}
	}
	return c
}

// scriptOf is a library as its package.json describes it.
func scriptOf(path string) (cdx.Component, error) {
	text, err := os.ReadFile(path)
	if err != nil {
		return cdx.Component{}, err
	}
	var described struct{ Name, Version, License string }
	if err := json.Unmarshal(text, &described); err != nil {
		return cdx.Component{}, fmt.Errorf("%s: %w", path, err)
	}
	purl := "pkg:npm/" + described.Name + "@" + described.Version
	return cdx.Component{
		BOMRef: purl, Type: cdx.ComponentTypeLibrary, Name: described.Name, Version: described.Version, PackageURL: purl, Scope: cdx.ScopeRequired,
		Licenses: &cdx.Licenses{{Expression: described.License}},
	}, nil
}
