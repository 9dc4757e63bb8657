package main

import (
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/mattn/go-isatty"
	"rsc.io/qr"

	"pullbook/api/request"
)

// tellDevices says how devices on the network come to the book, where this machine is its own
// authority.
func (s *service) tellDevices(term *terminal) error {
	if s.certificates == nil {
		return nil
	}
	own := s.certificates.own()
	if own == nil {
		return nil
	}
	o := own()
	fmt.Fprintf(term.Out, "\nOther devices on this network reach the book over HTTPS. Each has to be told once to trust this machine. Open there:\n")
	for _, host := range o.Hosts {
		fmt.Fprintf(term.Out, "  http://%s%s\n", host, request.TrustPath)
	}
	fmt.Fprintf(term.Out, "The certificate has this fingerprint (SHA-256); a device that shows another was given another's:\n  %s\n", o.Fingerprint)
	if out, ok := term.Out.(*os.File); ok && isatty.IsTerminal(out.Fd()) {
		return writeQR(out, "http://"+o.Hosts[0]+request.TrustPath)
	}
	return nil
}

// writeQR writes a code into a terminal, two rows of it in a line, with the margin of four that
// readers want.
func writeQR(out io.Writer, text string) error {
	code, err := qr.Encode(text, qr.L)
	if err != nil {
		return err
	}
	const margin = 4
	var lines strings.Builder
	for y := -margin; y < code.Size+margin; y += 2 {
		lines.WriteString("  \x1b[30;47m") // black on white whatever the terminal's colours
		for x := -margin; x < code.Size+margin; x++ {
			lines.WriteString(halves[code.Black(x, y)][code.Black(x, y+1)])
		}
		lines.WriteString("\x1b[0m\n")
	}
	_, err = io.WriteString(out, lines.String())
	return err
}

// halves are the upper and the lower half of a character, black or not.
var halves = map[bool]map[bool]string{false: {false: " ", true: "▄"}, true: {false: "▀", true: "█"}}
