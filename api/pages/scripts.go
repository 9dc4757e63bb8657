package pages

import (
	"fmt"
	"regexp"
)

var scriptImport = regexp.MustCompile(`from "\./([a-z]+\.js)"`)

// linked is a script whose imports name the addresses that the other scripts are
// served at. Scripts cannot import each other in a circle.
func (p *pages) linked(script []byte) []byte {
	return scriptImport.ReplaceAllFunc(script, func(m []byte) []byte {
		name := string(scriptImport.FindSubmatch(m)[1])
		p.addAsset(name)
		return fmt.Appendf(nil, "from %q", p.addresses[name])
	})
}
