package api_test

import (
	"net/http"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"pullbook/api/apitest"
	"pullbook/api/request"
	"pullbook/db"
)

// The first page says when the last good backup was made, warns when that is too long ago or
// the stick is gone, and names folders to managers alone.
func TestTheFirstPageTellsOfTheBackups(t *testing.T) {
	t.Parallel()
	var backups atomic.Pointer[request.Backups]
	backups.Store(&request.Backups{})
	h := apitest.Open(t, apitest.MetricOutfit, apitest.LongNames(), func(c *request.Config) { c.Backups = func() request.Backups { return *backups.Load() } })
	h.SignIn(t)
	crew := h.Somebody(t, "Odell", db.Crew)
	const stick = "/media/stick/honey"
	now := time.Now()
	night, old := now.Add(-8*time.Hour), now.Add(-51*time.Hour)
	words := map[string][2]string{
		"none":  {"No backup is made by itself.", "No se hace ninguna copia de seguridad automática."},
		"last":  {"The last good backup is of ", "La última copia de seguridad comprobada es del "},
		"late":  {"what came later is lost", "se pierde lo anotado después"},
		"never": {"There is no good backup of the book.", "No hay ninguna copia de seguridad comprobada del libro."},
		"gone":  {"is not there: " + stick, "no está: " + stick},
		"full":  {"because a disk is full: into " + stick, "porque un disco está lleno: en " + stick},
		"fails": {"failed: into " + stick, "falló: en " + stick},
		"disk":  {"on the same disk as the book: " + stick, "en el mismo disco que el libro: " + stick},
	}
	for _, test := range []struct {
		folders  []request.BackupFolder
		manager  []string
		everyone []string
	}{
		{nil, []string{"none"}, nil},
		{[]request.BackupFolder{{Folder: stick}}, nil, nil}, // the first is being made
		{[]request.BackupFolder{{Folder: stick, Last: night}}, []string{"last"}, nil},
		{[]request.BackupFolder{{Folder: stick, Last: night, SameDisk: true}}, []string{"last", "disk"}, nil},
		{[]request.BackupFolder{{Folder: stick, Last: old}}, []string{"last", "late"}, []string{"last", "late"}},
		{[]request.BackupFolder{{Folder: stick, Last: night, Gone: true}}, []string{"last", "gone"}, nil},
		{[]request.BackupFolder{{Folder: "/var/backups", Last: night}, {Folder: stick, Last: old, Gone: true}}, []string{"last", "gone"}, nil},
		{[]request.BackupFolder{{Folder: stick, Failed: night}}, []string{"never", "fails"}, []string{"never"}},
		{[]request.BackupFolder{{Folder: stick, Last: night, Failed: now, NoRoom: true}}, []string{"last", "full"}, nil},
	} {
		backups.Store(&request.Backups{Folders: test.folders})
		for who, visitor := range map[string]*apitest.House{"the manager": h, "the crew": crew} {
			says := test.everyone
			if visitor == h {
				says = test.manager
			}
			for i, language := range []string{"en", "es"} {
				_, page := visitor.Send(t, http.MethodGet, "/", nil, http.Header{"Accept-Language": {language}})
				for what, in := range words {
					want := false
					for _, s := range says {
						want = want || s == what
					}
					if strings.Contains(page, in[i]) != want {
						t.Errorf("%+v: %s reads %q: %v", test.folders, who, in[i], !want)
					}
				}
			}
		}
	}
	if _, page := h.Device(t).Get(t, "/"); strings.Contains(page, stick) {
		t.Error("who is not signed in is told where the backups are")
	}
}
