package api_test

import (
	"fmt"
	"math"
	"net/http"
	"slices"
	"strings"
	"testing"

	"pullbook/openapi"
)

// packerLimits are limits of a buyer with a price a kilogram in cents: moisture up to a most, and one step.
func (s *shed) packerLimits(t *testing.T, name, most, price, above, percent string) string {
	t.Helper()
	return s.book(t, "rule-sets", M{
		"id": id(), "occurred_at": at(2, "9:00"), "name": name, "citation": name, "form": "limits",
		"limits": []M{{"parameter": "moisture", "unit": "%", "comparator": "<=", "limit": most, "clause": "2"}},
		"price":  M{"currency": "CAD", "minor_units_per_kg": price, "discounts": []M{{"parameter": "moisture", "unit": "%", "above": above, "up_to": "20", "percent": percent, "clause": "4"}}},
	}).ID
}

func (s *shed) aContractWith(buyer, limits string, pairs ...any) M {
	return with(M{"id": id(), "occurred_at": at(20, "9:00"), "buyer_id": buyer, "rule_set": M{"rule_set_id": limits}, "most_kg": 900}, pairs...)
}

func (s *shed) sales(t *testing.T, query string) openapi.SalesPlan {
	t.Helper()
	return as[openapi.SalesPlan](t, s.get(t, "plans/sales?on=2026-08-21&"+query))
}

// saleTo is what goes to a contract.
func saleTo(t *testing.T, sales []openapi.SalesSale, contract string) openapi.SalesSale {
	t.Helper()
	i := slices.IndexFunc(sales, func(x openapi.SalesSale) bool { return x.ContractID.String() == contract })
	if i < 0 {
		t.Fatalf("nothing goes to %s: %+v", contract, sales)
	}
	return sales[i]
}

func lotsIn(x openapi.SalesSale) string {
	var out []string
	for _, l := range x.Lots {
		out = append(out, fmt.Sprintf("%d of %s", len(l.Containers), l.Lot))
	}
	slices.Sort(out)
	return strings.Join(out, ", ")
}

// Three drums of 17.0 % and three of 19.4 %, each 300 kg. A packer takes three drums up to 18.2 % at 4.20, a
// baker three up to 20 % at 3.60, less 5 % above 18 %: dry honey goes to the packer and wet to the baker,
// for 3 x 300 x 4.20 and 3 x 300 x 3.60 x 0.95. Had the packer room for a fourth drum, none of the dry
// would be left for it.
func TestEachLotGoesToTheContractThatPaysTheMostForIt(t *testing.T) {
	t.Parallel()
	s := blendHouse(t)
	baker := s.book(t, "buyers", M{"id": id(), "occurred_at": at(1, "9:00"), "name": "Harrow Foods"}).ID
	packers := s.book(t, "contracts", s.aContractWith(s.buyer, s.packerLimits(t, "drums", "18.2", "420", "18", "2"), "reference", "order 14")).ID
	bakers := s.book(t, "contracts", s.aContractWith(baker, s.packerLimits(t, "bakery", "20", "360", "18", "5"), "freight_per_container_minor", 1000, "last_day", "2026-10-31")).ID
	p := s.sales(t, "")
	if len(p.Assignments) == 0 || p.Currency != "CAD" || len(p.Contracts) != 2 || p.Contracts[0].ID.String() != bakers || p.Contracts[1].Name != "order 14" {
		t.Fatalf("%+v", p)
	}
	best := p.Assignments[0]
	if got := saleTo(t, best.Sales, packers); lotsIn(got) != "3 of DRY" || got.NetMinor != 378_000 || got.Lots[0].Turns[0].At < 17.5 || got.Lots[0].Turns[0].At > 18.2 {
		t.Errorf("to the packers goes %s for %.0f, while it reads up to %+v", lotsIn(got), got.NetMinor, got.Lots[0].Turns)
	}
	if got := saleTo(t, best.Sales, bakers); lotsIn(got) != "3 of WET" || got.NetMinor != 307_800 || got.FreightMinor != 3000 {
		t.Errorf("to the bakers goes %s for %.0f less %.0f", lotsIn(got), got.NetMinor, got.FreightMinor)
	}
	if best.EarnedMinor != 682_800 || !best.Proved || best.BehindMinor != 0 {
		t.Errorf("it earns %.0f (proved: %v), want 682,800", best.EarnedMinor, best.Proved)
	}
	// The drum of the shed's own lot was not read, and stays or goes as the book expects of it.
	for i := 1; i < len(p.Assignments); i++ {
		if p.Assignments[i].BehindMinor < p.Assignments[i-1].BehindMinor {
			t.Errorf("the next best are behind by %v", p.Assignments)
		}
	}
	if len(p.Assignments) < 2 || len(p.Cautions) == 0 {
		t.Errorf("%d assignments, cautions %v", len(p.Assignments), p.Cautions)
	}
}

// The same honey, worth 3.00 where it stays. Below 3.18 a kilogram from the packer, dry honey brings more with the baker at 3.60, where
// wet brings 3.42, and wet is kept: 3.18 + 3.42 = 3.60 + 3.00. Below 3.193 a kilogram from the baker, wet honey is worth more
// kept: 3.193 x 0.95 less 10.00 for 300 kg is 3.00.
func TestAPlanOfSalesSaysWhichPriceTurnsIt(t *testing.T) {
	t.Parallel()
	s := blendHouse(t)
	baker := s.book(t, "buyers", M{"id": id(), "occurred_at": at(1, "9:00"), "name": "Harrow Foods"}).ID
	packers := s.book(t, "contracts", s.aContractWith(s.buyer, s.packerLimits(t, "drums", "18.2", "420", "18", "2"))).ID
	s.book(t, "contracts", s.aContractWith(baker, s.packerLimits(t, "bakery", "20", "360", "18", "5"), "freight_per_container_minor", 1000))
	for _, c := range s.sales(t, "keep_minor_per_kg=300").Contracts {
		want := 319.3
		if c.ID.String() == packers {
			want = 318
		}
		if x := c.PriceTurns; x == nil || x.BelowMinorPerKg == nil || math.Abs(*x.BelowMinorPerKg-want) > 0.1 {
			t.Errorf("%s at %.0f turns at %+v, want below %.1f", c.Name, c.MinorUnitsPerKg, x, want)
		}
	}
}

// The packer's limit is 18.2 %: two drums of 17.0 % and one of 19.4 % mix to 17.8 %, for 1.20 a kilogram more
// than the wet drum brings elsewhere.
func TestMixingFirstIsWorthWhatTheWetHoneyBringsMore(t *testing.T) {
	t.Parallel()
	s := blendHouse(t)
	packers := s.book(t, "contracts", s.aContractWith(s.buyer, s.packerLimits(t, "drums", "18.2", "420", "18", "2"), "most_kg", 1350)).ID
	p := s.sales(t, "keep_minor_per_kg=300")
	if len(p.Assignments) == 0 || p.Mixed == nil {
		t.Fatalf("%+v", p)
	}
	if got := saleTo(t, p.Assignments[0].Sales, packers); strings.Contains(lotsIn(got), "WET") {
		t.Errorf("wet honey goes as it is: %s", lotsIn(got))
	}
	mixed := saleTo(t, p.Mixed.Sales, packers)
	if !mixed.Mixed || !strings.Contains(lotsIn(mixed), "WET") || mixed.Means[0].Expected > 18 || p.Mixed.MoreMinor <= 0 || !strings.Contains(p.Mixed.Says, "would bring more") {
		t.Errorf("mixed go %s of %+v for %.0f more: %s", lotsIn(mixed), mixed.Means, p.Mixed.MoreMinor, p.Mixed.Says)
	}
	if more := p.Mixed.EarnedMinor + p.Mixed.KeptMinor - p.Assignments[0].EarnedMinor - p.Assignments[0].KeptMinor; math.Abs(more-p.Mixed.MoreMinor) > 2 {
		t.Errorf("the difference is %.0f, and %.0f is said", more, p.Mixed.MoreMinor)
	}
	// A kilogram that is worth more kept than any contract pays stays.
	p = s.sales(t, "keep_minor_per_kg=500")
	why := map[string]string{}
	for _, x := range p.Assignments[0].Stays {
		why[x.Lot] = x.Why
	}
	if !strings.Contains(why["DRY"], "worth more kept") || !strings.Contains(why["WET"], "does not keep to at most 18.2 %; it would keep to 19.") || len(p.Assignments[0].Sales) != 0 {
		t.Errorf("honey worth 5.00 goes for 4.20, or stays because %v", why)
	}
}

// What was promised goes, whatever it earns, and what is missing of it is said.
func TestWhatWasPromisedComesFirst(t *testing.T) {
	t.Parallel()
	s := blendHouse(t)
	limits := s.packerLimits(t, "drums", "18.2", "420", "18", "2")
	packers := s.book(t, "contracts", s.aContractWith(s.buyer, limits, "promised_kg", 1500, "most_kg", 1500, "freight_per_kg_minor", 450)).ID
	p := s.sales(t, "")
	got := saleTo(t, p.Assignments[0].Sales, packers)
	if got.Kg < 900 || math.Abs(got.ShortKg-(1500-got.Kg)) > 0.001 || got.ShortKg == 0 {
		t.Errorf("%.0f kg of 1,500 go, %.0f are said to be missing", got.Kg, got.ShortKg)
	}
	// A dispatch since counts as sent.
	dry := as[[]M](t, s.get(t, "lots"))
	for _, l := range dry {
		if l["code"] == "DRY" {
			s.book(t, "lot-statuses", M{"id": id(), "occurred_at": at(21, "17:00"), "lot_id": l["id"], "status": "released", "override": true, "note": "sold by sample"})
		}
	}
	fills := as[[]M](t, s.get(t, "fills"))
	i := slices.IndexFunc(fills, func(f M) bool { return f["container"] == "DRY-0" })
	s.book(t, "dispatches", M{"id": id(), "occurred_at": at(21, "18:00"), "buyer_id": s.buyer, "containers": []any{fills[i]["id"]}, "override": true, "note": "as agreed"})
	if c := s.sales(t, "").Contracts[0]; c.SentKg != 300 || c.MostKg != 1200 || c.PromisedKg != 1200 {
		t.Errorf("after a drum of 300 kg left: %+v", c)
	}
}

// What cannot be planned is said in one sentence, with what would do.
func TestSalesThatCannotBePlannedSayWhatWouldDo(t *testing.T) {
	t.Parallel()
	s := blendHouse(t)
	if p := s.sales(t, ""); len(p.Assignments) != 0 || len(p.Says) != 1 || !strings.Contains(p.Says[0], "No contract is open") {
		t.Errorf("without a contract: %+v", p)
	}
	limits := s.packerLimits(t, "drums", "18.2", "420", "18", "2")
	for what, c := range map[string]struct {
		change []any
		field  string
	}{
		"limits without a price": {[]any{"rule_set", M{"rule_set_id": s.book(t, "rule-sets", s.aContract("price", nil, "name", "no price")).ID}}, "/rule_set"},
		"more than the most":     {[]any{"promised_kg", 901}, "/promised_kg"},
		"nothing":                {[]any{"most_kg", 0}, "/most_kg"},
		"a load of nothing":      {[]any{"freight_per_load_minor", 40000}, "/load_kg"},
	} {
		before := s.head(t)
		r := s.post(t, "contracts", s.aContractWith(s.buyer, limits, c.change...))
		if p := as[problem](t, r); r.status != http.StatusUnprocessableEntity || len(p.Errors) == 0 || p.Errors[0].Pointer != c.field {
			t.Errorf("%s: %d %s, want a word about %s", what, r.status, r.raw, c.field)
		}
		if s.head(t) != before {
			t.Errorf("%s: refused, and something stayed in the book", what)
		}
	}
	if r := s.sendAs(t, s.crew, "contracts", s.aContractWith(s.buyer, limits)); r.status != http.StatusForbidden {
		t.Errorf("crew record a contract: %d", r.status)
	}
	for query, where := range map[string]string{
		"probability=1": "probability", "probability=0.2": "probability", "keep_minor_per_kg=-1": "keep_minor_per_kg", "keep_minor_per_kg=x": "keep_minor_per_kg", "currency=DOLLARS": "currency",
	} {
		if r := s.send(t, http.MethodGet, "/v1/plans/sales?"+query, s.reader, nil); r.status != http.StatusUnprocessableEntity && r.status != http.StatusBadRequest || !strings.Contains(string(r.raw), where) {
			t.Errorf("%s: %d %s, want a word about %s", query, r.status, r.raw, where)
		}
	}
}

// Contracts that pay in two currencies are not compared, and a limit of what nobody measured is told.
func TestContractsThatCannotBeComparedAreTold(t *testing.T) {
	t.Parallel()
	s := blendHouse(t)
	packers := s.book(t, "contracts", s.aContractWith(s.buyer, s.packerLimits(t, "drums", "18.2", "420", "18", "2"))).ID
	limits := func(name, currency string, lines ...M) string {
		return s.book(t, "rule-sets", M{"id": id(), "occurred_at": at(2, "9:00"), "name": name, "citation": name, "form": "limits", "limits": lines,
			"price": M{"currency": currency, "minor_units_per_kg": "300"}}).ID
	}
	line := func(parameter, unit, comparator, limit string) M {
		return M{"parameter": parameter, "unit": unit, "comparator": comparator, "limit": limit, "clause": "2"}
	}
	s.book(t, "contracts", s.aContractWith(s.buyer, limits("euros", "EUR", line("moisture", "%", "<=", "20"))))
	if r := s.send(t, http.MethodGet, "/v1/plans/sales?on=2026-08-21", s.reader, nil); r.status != http.StatusUnprocessableEntity || !strings.Contains(string(r.raw), "CAD") || !strings.Contains(string(r.raw), "EUR") {
		t.Errorf("two currencies: %d %s", r.status, r.raw)
	}
	if r := s.send(t, http.MethodGet, "/v1/plans/sales?on=2026-08-21&currency=USD", s.reader, nil); r.status != http.StatusUnprocessableEntity {
		t.Errorf("a currency that none has: %d %s", r.status, r.raw)
	}
	s.book(t, "contracts", s.aContractWith(s.buyer, limits("ash", "CAD", line("ash", "%", "<=", "0.6"))))
	p := s.sales(t, "currency=CAD")
	var refused []string
	for _, r := range p.Refused {
		refused = append(refused, r.Name+": "+r.Why)
	}
	if all := strings.Join(refused, "\n"); len(p.Refused) != 1 || !strings.Contains(all, "euros: It pays in EUR") {
		t.Errorf("refused are %v", refused)
	}
	if len(p.Says) != 1 || !strings.Contains(p.Says[0], "no honey here was measured") || !slices.ContainsFunc(p.Contracts, func(c openapi.SalesContract) bool { return len(c.Looks) == 1 && c.Looks[0].Parameter == "ash" }) {
		t.Errorf("of ash, which nobody measured, is said %v", p.Says)
	}
	saleTo(t, p.Assignments[0].Sales, packers)
}
