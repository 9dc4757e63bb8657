package pages

import (
	"encoding/json"
	"net/http"

	"github.com/labstack/echo/v4"

	"pullbook/api/locale"
	"pullbook/api/request"
)

// worker answers with the script that keeps the recording page on a device. Its
// first line names the files to keep and a version made from them, so that it
// changes when any of them does, and browsers take that for a new worker.
func (p *pages) worker(ctx echo.Context) error {
	ctx.Response().Header().Set("Cache-Control", "no-cache")
	return ctx.Blob(http.StatusOK, "text/javascript; charset=utf-8", p.workerScript)
}

// manifest says how the recording page is put on a device's home screen.
func (p *pages) manifest(ctx echo.Context) error {
	t := request.LanguageOf(ctx)
	icon := func(name, sizes, mime, purpose string) map[string]string {
		return map[string]string{"src": p.addresses[name], "sizes": sizes, "type": mime, "purpose": purpose}
	}
	f := locale.Voice{Language: t}
	body, err := json.Marshal(map[string]any{
		"id": recordPath, "name": "pullbook", "short_name": "pullbook", "lang": t.Tag(), "description": f.Say("The book of the honey house, also without network"),
		"start_url": recordPath, "scope": "/", "display": "standalone", "background_color": "#f6f7f2", "theme_color": "#f6f7f2",
		"icons": []any{
			icon("favicon.svg", "any", "image/svg+xml", "any"), icon("icon-192.png", "192x192", "image/png", "any"),
			icon("icon-512.png", "512x512", "image/png", "any"), icon("icon-512.png", "512x512", "image/png", "maskable"),
		},
		"shortcuts": []any{
			map[string]string{"name": f.Say("Moisture"), "url": recordPath + "#reading"},
			map[string]string{"name": f.Say("Fill drums"), "url": recordPath + "#fill"},
		},
	})
	if err != nil {
		return err
	}
	ctx.Response().Header().Set("Cache-Control", "no-cache")
	ctx.Response().Header().Set("Vary", "Accept-Language, Cookie")
	return ctx.Blob(http.StatusOK, "application/manifest+json", body)
}
