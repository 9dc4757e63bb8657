package api_test

import (
	"html"
	"os"
	"regexp"
	"strings"
	"testing"

	"pullbook/api/apitest"
)

// Each blank sheet asks all that the recording page asks, in its words, so that
// it can be typed in afterwards.
func TestBlankSheetsAskWhatTheRecordingPageAsks(t *testing.T) {
	t.Parallel()
	script, err := os.ReadFile("web/assets/kinds.js")
	if err != nil {
		t.Fatal(err)
	}
	page, err := os.ReadFile("web/pages/record.html")
	if err != nil {
		t.Fatal(err)
	}
	sentences := map[string]string{}
	for _, m := range regexp.MustCompile(`"([^"]+)": \{\{t "([^"]+)"`).FindAllStringSubmatch(string(page), -1) {
		sentences[m[1]] = m[2]
	}
	h := apitest.OpenLots(t, apitest.USOutfit)
	h.SignIn(t)
	asked := regexp.MustCompile(`(?:choice|number|text)\([^,]+, say\("([^"]+)"`)
	for sheet, kinds := range map[string][]string{
		"reading": {"reading"}, "fill": {"fill"}, "transfer": {"transfer"}, "run": {"start", "supers", "load", "end"},
		"pull": {"pull"}, "temperature": {"temperature"}, "stocktake": {"stocktake"}, "wash": {"wash"},
	} {
		_, body := h.Get(t, "/print/blank/"+sheet)
		body = html.UnescapeString(body)
		for _, kind := range kinds {
			_, block, _ := strings.Cut(string(script), "\nkinds."+kind+" = ")
			block, _, _ = strings.Cut(block, "\nkinds.")
			found := asked.FindAllStringSubmatch(block, -1)
			if len(found) == 0 {
				t.Errorf("%s: the recording page asks nothing that this test can read", kind)
			}
			for _, m := range found {
				want, _, _ := strings.Cut(sentences[m[1]], "%s")
				if want == "" || !strings.Contains(body, want) {
					t.Errorf("the sheet %s does not ask %q (%s)", sheet, want, m[1])
				}
			}
		}
	}
}
