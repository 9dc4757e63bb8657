package pages

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"pullbook/db"
	"pullbook/domain/ledger"
)

const (
	recordPath       = "/record"
	recordSignInPath = "/record/sign-in"
	workerPath       = "/worker.js"
	manifestPath     = "/manifest.webmanifest"
)

// recordPage is where the crew records. It is the same for everybody and shows
// nothing of any book: a device keeps it, and opens it without network and with
// a sign-in that has run out. What it knows of a book its scripts ask for.
func (p *pages) recordPage(ctx echo.Context) error {
	return p.page(ctx, http.StatusOK, "record.html", recordingScripts)
}

// recordSignIn asks to sign in, and goes back to recording.
func (p *pages) recordSignIn(ctx echo.Context) error {
	if err := p.look(ctx, func(db.Principal, db.Outfit, *ledger.Book) error { return nil }); err != nil {
		return err
	}
	return ctx.Redirect(http.StatusSeeOther, recordPath)
}

// recordingScripts are the scripts of the recording page, the page's own last.
var recordingScripts = []string{"store.js", "queue.js", "numbers.js", "words.js", "scales.js", "scan.js", "slips.js", "photos.js", "opinion.js", "kinds.js", "project.js", "record.js"}

// keptOnDevices is what a device keeps to open the recording page without
// network, beside the page itself. What reads codes in pictures the page loads only where it
// has to, so it is kept and not preloaded.
func keptOnDevices() []string {
	return append([]string{"style.css", "record.css", "favicon.svg", "waiting.js", "icon-192.png", "qr/decode.js", "qr/index.js"}, recordingScripts...)
}
