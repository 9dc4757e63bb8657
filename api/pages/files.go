package pages

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"html/template"
	"io/fs"
	"mime"
	"path"
	"regexp"
	"strings"
	"sync"

	"pullbook/api/locale"
	"pullbook/api/request"
	"pullbook/api/web"
	"pullbook/domain/message"
)

// files are what the program carries to make pages of: templates, styles, scripts and
// pictures. They are the same for every service.
type files struct {
	// templates are by language, then by name.
	templates map[string]map[string]*template.Template
	assets    map[string]asset // by address
	addresses map[string]string
	// workerScript keeps the recording page on devices.
	workerScript []byte
}

// readFiles parses the templates once in a process.
var readFiles = sync.OnceValue(func() *files {
	f := &files{templates: map[string]map[string]*template.Template{}, assets: map[string]asset{}, addresses: map[string]string{}}
	for _, name := range web.Names("assets") {
		f.addAsset(name)
	}
	f.workerScript = f.makeWorker()
	for _, choice := range request.LanguageChoices(locale.English) {
		f.templates[choice.Lang] = f.templatesIn(locale.LanguageFor(choice.Lang))
	}
	return f
})

// templatesIn are the pages in one language: {{t "Season %s" .Name}} says a
// sentence of the catalogue.
func (f *files) templatesIn(t locale.Language) map[string]*template.Template {
	layout := template.Must(template.New("layout.html").Funcs(template.FuncMap{
		"asset":   func(name string) string { return f.addresses[name] },
		"prose":   prose,
		"address": address,
		"t": func(format string, args ...any) string {
			return message.F(format, args...).In(locale.Voice{Language: t})
		},
	}).ParseFS(web.Files, "layout.html", "parts/*.html"))
	out := map[string]*template.Template{}
	for _, name := range web.Names("pages") {
		out[name] = template.Must(template.Must(layout.Clone()).ParseFS(web.Files, "pages/"+name))
	}
	return out
}

// asset is a file that pages refer to. Its address holds a digest of its
// content, so that a browser may keep it for ever.
type asset struct {
	mime string
	body []byte
}

func (f *files) addAsset(name string) {
	if f.addresses[name] != "" {
		return
	}
	body, err := fs.ReadFile(web.Files, "assets/"+name)
	if err != nil {
		panic(err)
	}
	ext := path.Ext(name)
	if ext == ".js" {
		body = f.linked(path.Dir(name), body)
	}
	sum := sha256.Sum256(body)
	plain := strings.ReplaceAll(strings.TrimSuffix(name, ext), "/", "-")
	address := fmt.Sprintf("/assets/%s.%s%s", plain, hex.EncodeToString(sum[:6]), ext)
	f.assets[address] = asset{mime.TypeByExtension(ext), body}
	f.addresses[name] = address
}

// scriptImport is an import at a script's head, or one that is only made where it is needed.
var scriptImport = regexp.MustCompile(`(from |import\()["']\./([a-z/]+\.js)["']`)

// linked is a script of a folder whose imports name the addresses that the other scripts are
// served at. Scripts cannot import each other in a circle.
func (f *files) linked(folder string, script []byte) []byte {
	return scriptImport.ReplaceAllFunc(script, func(m []byte) []byte {
		parts := scriptImport.FindSubmatch(m)
		name := path.Join(folder, string(parts[2]))
		f.addAsset(name)
		return fmt.Appendf(nil, "%s%q", parts[1], f.addresses[name])
	})
}

func (f *files) makeWorker() []byte {
	script, err := fs.ReadFile(web.Files, "worker.js")
	if err != nil {
		panic(err)
	}
	shell, err := fs.ReadFile(web.Files, "pages/record.html")
	if err != nil {
		panic(err)
	}
	var keep []string
	for _, name := range keptOnDevices() {
		keep = append(keep, f.addresses[name])
	}
	sum := sha256.Sum256([]byte(strings.Join(keep, " ") + string(script) + string(shell)))
	first, err := json.Marshal(map[string]any{"version": hex.EncodeToString(sum[:6]), "page": recordPath, "keep": keep})
	if err != nil {
		panic(err)
	}
	return append([]byte("const program = "+string(first)+"\n"), script...)
}
