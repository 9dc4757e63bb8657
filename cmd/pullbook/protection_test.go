package main

import (
	"path/filepath"
	"testing"

	"pullbook/db"
	"pullbook/db/local"
)

// What sorts of tampering are found is tested where they are compared; here, that
// each command says so, and that the way back is what it says.
func TestBooksThatAreNotProtectedAreNotServed(t *testing.T) {
	t.Parallel()
	server := givenServer(t)
	execute(t, server.URL(), "CREATE DATABASE honey", "CREATE DATABASE empty")
	url, empty := server.URLFor(local.Superuser, "honey"), server.URLFor(local.Superuser, "empty")
	must(t, "migrate", "--database-url", url)
	newOutfit(t, "--database-url", url)
	execute(t, url, "ALTER TABLE entry DISABLE TRIGGER append_only", "GRANT DELETE ON entry TO pullbook_service")
	says := []string{
		"the trigger append_only on entry is disabled: somebody with the owner's rights could change or remove what was recorded",
		"the grant DELETE ON public.entry TO pullbook_service is none of this program's",
		"--mend",
	}
	refused(t, exitFailed, says, "serve", "--database-url", url, "--addr", "127.0.0.1:0")
	refused(t, exitFailed, says, "serve", "--database-url", server.URLFor(db.ServiceRole, "honey"), "--addr", "127.0.0.1:0")
	refused(t, exitFailed, append(says, "Fern Gully Honey: whole"), "audit", "--database-url", url)

	file := filepath.Join(t.TempDir(), "honey.backup")
	must(t, "backup", file, "--database-url", url)
	refused(t, exitFailed, append(says, "nothing was restored"), "restore", file, "--database-url", empty)
	refused(t, exitFailed, []string{"no books yet"}, "outfit", "list", "--database-url", empty)
	must(t, "restore", file, "--mend", "--database-url", empty)
	must(t, "audit", "--database-url", empty)

	refused(t, exitFailed, []string{"nothing was mended"}, "migrate", "--mend", "--database-url", server.URLFor(db.ServiceRole, "honey"))
	must(t, "migrate", "--mend", "--database-url", url)
	must(t, "audit", "--database-url", url)
}
