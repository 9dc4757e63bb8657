package request

import (
	"testing"
)

func TestAfterChoosingALanguageOneComesBackToThisProgramOnly(t *testing.T) {
	t.Parallel()
	for back, want := range map[string]string{
		"/season?season=1":     "/season?season=1",
		"//elsewhere.example/": "/", "https://elsewhere.example/": "/", `/\elsewhere.example`: "/", "": "/", "javascript:1": "/",
	} {
		if got := PlaceHere(back); got != want {
			t.Errorf("back to %q goes to %q, not %q", back, got, want)
		}
	}
}
