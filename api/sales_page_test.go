package api_test

import (
	"html"
	"net/http"
	"regexp"
	"strings"
	"testing"
)

// The page shows the sales that TestEachLotGoesToTheContractThatPaysTheMostForIt works out by hand, in
// both languages, and what would change them.
func TestThePageShowsTheSalesThatTheContractFinds(t *testing.T) {
	t.Parallel()
	s := blendHouse(t)
	baker := s.book(t, "buyers", M{"id": id(), "occurred_at": at(1, "9:00"), "name": "Harrow Foods"}).ID
	empty, _ := s.shows(t, "/plans/sales?ask=sales&keep=&probability=0.95")
	wants(t, "the page without a contract", empty, "No contract is open on this day", "Record a contract")
	s.book(t, "contracts", s.aContractWith(s.buyer, s.packerLimits(t, "drums", "18.2", "420", "18", "2"), "reference", "order 14"))
	s.book(t, "contracts", s.aContractWith(baker, s.packerLimits(t, "bakery", "20", "360", "18", "5"), "freight_per_container_minor", 1000))
	text, page := s.shows(t, "/plans/sales?ask=sales&keep=&probability=0.95")
	wants(t, "the page of sales", text, "What brings the most", "6,828.00", "order 14", "Northgate Packing", "3,780.00", "Harrow Foods", "3,078.00", "30.00", "The open contracts", "It takes more than goes there", "DRY", "3 containers, whole", "turns at", "What stays", "Mixing first", "Take care")
	if strings.Contains(page, "aria-invalid") {
		t.Error("something is wrong with sales that can be asked for")
	}
	links := regexp.MustCompile(`href="(/dispatches/prepare\?[^"]+)"`).FindAllStringSubmatch(page, -1)
	if len(links) == 0 {
		t.Fatal("no sale can be prepared")
	}
	form, source := s.shows(t, html.UnescapeString(links[0][1]))
	wants(t, "the dispatch that is prepared", form, "DRY-0", "DRY-1", "DRY-2")
	if n := strings.Count(source, " checked"); n != 3 || !strings.Contains(source, s.buyer+`" selected`) || !strings.Contains(source, `value="order 14"`) {
		t.Errorf("%d containers are ticked, want the three of DRY for Northgate Packing by order 14", n)
	}
	drawing := regexp.MustCompile(`src="(/plans/sales/drawing\.svg\?[^"]+)"`).FindStringSubmatch(page)
	if drawing == nil {
		t.Fatal("the sales are not drawn")
	}
	wants(t, "the figures of the picture", text, "Figures of the picture", "promised", "900")
	if status, svg := fetch(t, s.browsing(t), s.url+html.UnescapeString(drawing[1])); status != http.StatusOK || !strings.Contains(svg, "order 14") {
		t.Errorf("the drawing answered %d", status)
	}
	for _, wrong := range []string{"sales=9", "sales=", "sales=1&keep=much"} {
		if status, _ := fetch(t, s.browsing(t), s.url+"/plans/sales/drawing.svg?ask=sales&probability=0.95&"+wrong); status != http.StatusNotFound {
			t.Errorf("a drawing of %s answered %d", wrong, status)
		}
	}
	spanish, _ := s.shows(t, "/plans/sales?ask=sales&keep=&probability=0.95", "es")
	wants(t, "the page in Spanish", spanish, "Lo que da más", "Lo que se queda", "Mezclar antes")
	kept, _ := s.shows(t, "/plans/sales?ask=sales&keep=5&probability=0.95")
	wants(t, "the page where honey is worth more kept", kept, "Nothing goes", "worth more kept")
	_, wrong := s.shows(t, "/plans/sales?ask=sales&keep=much&probability=0.95")
	wants(t, "the page with a price that is none", wrong, "aria-invalid", "Type a price")
}
