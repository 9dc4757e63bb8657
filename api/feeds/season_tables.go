package feeds

import (
	"cmp"
	"slices"
	"strings"

	"pullbook/api/locale"
	"pullbook/domain/ledger"
	"pullbook/domain/season"
)

// The sheets of the season's workbook, as they are called in English.
const (
	coverSheet    = "Cover"
	yardsSheet    = "Yards"
	pullsSheet    = "Pulls"
	runsSheet     = "Runs"
	sharesSheet   = "Shares"
	tanksSheet    = "Tanks"
	lotsSheet     = "Lots"
	drumsSheet    = "Drums"
	salesSheet    = "Sales"
	verdictsSheet = "Verdicts"
	readingsSheet = "Readings"
	balanceSheet  = "Balance"
	legendSheet   = "Legend"
)

// seasonTable is a sheet of rows.
type seasonTable struct {
	sheet string
	table table
}

// seasonTables are the sheets of rows, in their order.
func seasonTables() []seasonTable {
	yards, pulls, runs := numbers{}, numbers{}, numbers{}
	of := func(sheet string, t table) seasonTable { return seasonTable{sheet, t.without(notPrinted)} }
	return []seasonTable{
		of(yardsSheet, withColumns(yardsFeed, append(besideLastSeason, numberOf(func(r standingRow[yardSeason]) int64 { return yards.of(r.row.YardID) }))...)),
		of(pullsSheet, withColumns(pullsFeed, numberOf(func(r standingRow[pullRow]) int64 { return pulls.of(r.row.root) }))),
		of(runsSheet, withColumns(runsFeed, numberOf(func(r standingRow[season.RunLine]) int64 { return runs.of(r.row.RunID) }))),
		of(sharesSheet, sharesOf(yards, pulls, runs)), of(tanksSheet, tanksFeed),
		of(lotsSheet, lotsFeed), of(drumsSheet, containersFeed), of(salesSheet, salesTable), of(verdictsSheet, verdictsFeed), of(readingsSheet, begunWith(readingsFeed, "occurred_at", "on_name", "on_kind", "yard", "lot", "moisture_pct")),
	}
}

// notPrinted are the columns of a feed that a printed sheet has not: ids, what
// is said on the cover, and what makes a page too wide to read.
func notPrinted(name string, form form) bool {
	return form == formID || slices.Contains([]string{"status", "season", "first", "last", "entry", "recorded_at", "recorded_by",
		"moisture_std_uncertainty_pct", "scale", "as_read", "sample_temperature_c", "containers_sampled", "granulated",
		"accreditation", "std_uncertainties", "limits_of_quantification", "seen_fermenting", "fermentation_moisture_pct", "fermentation_moisture_from"}, name)
}

// without is a feed of fewer columns.
func (t *tableOf[R]) without(leave func(name string, form form) bool) table {
	out := *t
	out.columns = slices.DeleteFunc(slices.Clone(t.columns), func(c column[R]) bool { return leave(c.name, c.form) })
	return &out
}

// begunWith is a feed of which some columns come first: what says what a row is of stands on each page.
func begunWith[R any](t *tableOf[R], names ...string) *tableOf[R] {
	place := func(c column[R]) int {
		if at := slices.Index(names, c.name); at >= 0 {
			return at
		}
		return len(names)
	}
	out := *t
	out.columns = slices.Clone(t.columns)
	slices.SortStableFunc(out.columns, func(a, b column[R]) int { return cmp.Compare(place(a), place(b)) })
	return &out
}

func withColumns[R any](t *tableOf[R], more ...column[R]) *tableOf[R] {
	out := *t
	out.columns = slices.Concat(t.columns, more)
	return &out
}

// numbers numbers the rows of a sheet, as they come. Formulas of other sheets find a row by its
// number, wherever somebody has sorted it to; names may be those of two.
type numbers map[ledger.ID]int64

func (n numbers) of(id ledger.ID) int64 {
	if n[id] == 0 {
		n[id] = int64(len(n) + 1)
	}
	return n[id]
}

// numberOf is the column of the numbers.
func numberOf[R any](of func(R) int64) column[R] {
	return column[R]{"no", formWhole, func(_ *view, out cells, r R) { out.whole(of(r)) }}
}

// besideLastSeason are what a yard gave in the season before, and the change since.
var besideLastSeason = []column[standingRow[yardSeason]]{
	{"last_season_kg", formMass, func(v *view, out cells, r standingRow[yardSeason]) {
		if r.row.LastSeason == nil {
			out.none()
			return
		}
		v.putMassKnown(out, r.row.LastSeason.KnownG())
	}},
	{"change_kg", formMass, func(v *view, out cells, r standingRow[yardSeason]) {
		if r.row.ChangeG == nil {
			out.none()
			return
		}
		v.putMass(out, *r.row.ChangeG)
	}},
	{"change_pct", formDecimal, func(_ *view, out cells, r standingRow[yardSeason]) { putKnown(out, r.row.ChangePct, 1) }},
}

// sharesOf is how the runs' honey was shared among pulls, with the numbers that pulls, runs and
// yards have in their sheets.
func sharesOf(yards, pulls, runs numbers) *tableOf[season.ShareLine] {
	putOf := func(out cells, l season.ShareLine, places int, figure float64) {
		if l.Pull == nil {
			out.none()
			return
		}
		out.decimal(figure, places)
	}
	return &tableOf[season.ShareLine]{
		name: "shares",
		columns: []column[season.ShareLine]{
			{"run", formText, func(_ *view, out cells, l season.ShareLine) { out.text(l.Run) }},
			{"started_at", formInstant, func(_ *view, out cells, l season.ShareLine) { out.instant(l.StartedAt) }},
			{"yard", formText, func(_ *view, out cells, l season.ShareLine) { out.text(l.Yard) }},
			{"pulled_at", formInstant, func(_ *view, out cells, l season.ShareLine) { out.instant(l.PulledAt) }},
			{"supers", formWhole, func(_ *view, out cells, l season.ShareLine) { putCount(out, l.Supers) }},
			{"usual_kg", formMass, func(v *view, out cells, l season.ShareLine) { putOf(out, l, massPlaces, v.massOf(float64(l.UsualG))) }},
			{"pull_net_kg", formMass, func(v *view, out cells, l season.ShareLine) { putOf(out, l, massPlaces, v.massOf(float64(l.PullNetG))) }},
			{"pull_usual_kg", formMass, func(v *view, out cells, l season.ShareLine) {
				putOf(out, l, massPlaces, v.massOf(float64(l.PullUsualG)))
			}},
			{"of_usual_pct", formDecimal, func(_ *view, out cells, l season.ShareLine) { putOf(out, l, 2, 100*ofUsual(l)) }},
			{"weight_kg", formMass, func(v *view, out cells, l season.ShareLine) {
				if l.Pull == nil {
					out.decimal(1, massPlaces) // all of it
					return
				}
				full := 1.0
				if l.How == ledger.Weighed || l.How == ledger.OnePull && ofUsual(l) > 0 {
					full = ofUsual(l)
				}
				out.decimal(v.massOf(full*float64(l.UsualG)), massPlaces)
			}},
			{"share_pct", formDecimal, func(_ *view, out cells, l season.ShareLine) { out.decimal(100*l.Share, 2) }},
			{"honey_kg", formMass, func(v *view, out cells, l season.ShareLine) { v.putMass(out, l.HoneyG) }},
			{"shared_by", formText, func(v *view, out cells, l season.ShareLine) { out.text(v.word(string(l.How), ToldBy)) }},
			{"run_no", formWhole, func(_ *view, out cells, l season.ShareLine) { out.whole(runs.of(l.RunID)) }},
			{"pull_no", formWhole, func(_ *view, out cells, l season.ShareLine) { putCount(out, int(pulls[l.PullID])) }},
			{"yard_no", formWhole, func(_ *view, out cells, l season.ShareLine) { out.whole(yards[l.YardID]) }},
		},
		whole: func(q *query, v *view, put func(season.ShareLine) error) error {
			lines, err := season.Shares(v.book, q.seasonID)
			for i := 0; err == nil && i < len(lines); i++ {
				err = put(lines[i])
			}
			return err
		},
	}
}

// ofUsual is what was weighed of a pull over what its boxes usually hold; 0 where that says nothing.
func ofUsual(l season.ShareLine) float64 {
	if l.PullNetG <= 0 || l.PullUsualG == 0 {
		return 0
	}
	return float64(l.PullNetG) / float64(l.PullUsualG)
}

// sale is a dispatch with what the buyer found and paid, where that is known.
type sale struct {
	root ledger.ID
	*ledger.Entry
	*ledger.Dispatch
	lots string
	// settled is nil where no settlement is recorded.
	settled *settlement
}

var salesTable = &tableOf[sale]{
	name: "sales",
	columns: []column[sale]{
		{"dispatched_at", formInstant, func(_ *view, out cells, r sale) { out.instant(r.OccurredAt) }},
		{"buyer", formText, func(v *view, out cells, r sale) { out.text(v.book.Name(r.BuyerID)) }},
		{"lots", formText, func(_ *view, out cells, r sale) { out.text(r.lots) }},
		{"containers", formWhole, func(_ *view, out cells, r sale) { out.whole(int64(len(r.Containers))) }},
		{"net_kg", formMass, func(v *view, out cells, r sale) { out.decimal(r.net(v), massPlaces) }},
		{"settled_net_kg", formMass, settledWith(func(v *view, out cells, s *settlement) { v.putMass(out, s.ownG) })},
		{"buyer_net_kg", formMass, settledWith(func(v *view, out cells, s *settlement) { v.putMass(out, s.buyerG) })},
		{"paid", formDecimal, settledWith(func(_ *view, out cells, s *settlement) { out.decimal(locale.Major(s.PaidMinor, s.currency)) })},
		{"currency", formText, func(_ *view, out cells, r sale) {
			if r.settled == nil {
				out.text("")
				return
			}
			out.text(r.settled.currency)
		}},
		{"reference", formText, func(_ *view, out cells, r sale) { out.text(r.Reference) }},
		{"note", formText, func(_ *view, out cells, r sale) { out.text(r.Note) }},
	},
	whole: func(q *query, v *view, put func(sale) error) error {
		b, settled := v.book, map[ledger.ID]*ledger.Settlement{}
		for _, e := range b.Happened {
			if x, ok := e.Body.(*ledger.Settlement); ok {
				settled[b.Root(x.DispatchID)] = x
			}
		}
		for root, e := range b.Happened {
			d, ok := e.Body.(*ledger.Dispatch)
			if !ok || !q.holds(e.OccurredAt, b.Location()) {
				continue
			}
			r := sale{root: root, Entry: e, Dispatch: d, lots: lotsOf(b, d)}
			if x := settled[root]; x != nil {
				r.settled = newSettlement(b, x)
			}
			if err := put(r); err != nil {
				return err
			}
		}
		return nil
	},
}

// settlement is what a buyer found and paid, beside the outfit's own weights of the same containers.
type settlement struct {
	*ledger.Settlement
	ownG, buyerG int64
	currency     string
}

func newSettlement(b *ledger.Book, x *ledger.Settlement) *settlement {
	s := &settlement{Settlement: x}
	for _, found := range x.Drums {
		s.buyerG += found.NetG
		if fill := ledger.Named[ledger.Fill](b, found.FillID); fill != nil {
			s.ownG += fill.NetG()
		}
	}
	if terms, _ := b.Entry(x.TermsEntry); terms != nil {
		if set, is := terms.Body.(*ledger.RuleSet); is && set.Price != nil {
			s.currency = set.Price.Currency
		}
	}
	return s
}

// settledWith writes what a settlement says; nothing where there is none.
func settledWith(write func(*view, cells, *settlement)) func(*view, cells, sale) {
	return func(v *view, out cells, r sale) {
		if r.settled == nil {
			out.none()
			return
		}
		write(v, out, r.settled)
	}
}

// net is what left with a sale, in the unit of the view.
func (r sale) net(v *view) float64 {
	sum, grams := 0.0, int64(0)
	for _, id := range r.Containers {
		if fill := ledger.Named[ledger.Fill](v.book, id); fill != nil {
			sum += v.net(fill.GrossG, fill.TareG)
			grams += fill.NetG()
		}
	}
	if left := v.book.State().DispatchedBy(r.root); grams != left {
		return v.mass(left)
	}
	return sum
}

// lotsOf lists the codes of the lots that a dispatch has containers of.
func lotsOf(b *ledger.Book, d *ledger.Dispatch) string {
	var codes []string
	for _, id := range d.Containers {
		if fill := ledger.Named[ledger.Fill](b, id); fill != nil && !slices.Contains(codes, b.Name(fill.LotID)) {
			codes = append(codes, b.Name(fill.LotID))
		}
	}
	return strings.Join(codes, ", ")
}
