package feeds

import (
	"strconv"
	"strings"

	"pullbook/api/wire"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/season"
)

// yardSeason is what a yard gave in a season.
type yardSeason struct {
	seasonID ledger.ID
	season   ledger.Season
	season.YardLine
}

var yardsFeed = newReport(reportOf[yardSeason]{
	name: "yards", keys: 2,
	columns: []column[yardSeason]{
		{"season_id", formID, func(_ *view, out cells, r yardSeason) { out.id(r.seasonID) }},
		{"yard_id", formID, func(_ *view, out cells, r yardSeason) { out.id(r.YardID) }},
		{"season", formText, func(_ *view, out cells, r yardSeason) { out.text(r.season.Name) }},
		{"first", formDay, func(_ *view, out cells, r yardSeason) { out.day(r.season.First) }},
		{"last", formDay, func(_ *view, out cells, r yardSeason) { out.day(r.season.Last) }},
		{"yard", formText, func(_ *view, out cells, r yardSeason) { out.text(r.Name) }},
		{"rank", formWhole, func(_ *view, out cells, r yardSeason) { putCount(out, r.Rank) }},
		{"honey_kg", formMass, func(v *view, out cells, r yardSeason) { v.putMassKnown(out, r.KnownG()) }},
		{"share_pct", formDecimal, func(_ *view, out cells, r yardSeason) { putShare(out, r.Share) }},
		{"supers_pulled", formWhole, func(_ *view, out cells, r yardSeason) { out.whole(int64(r.SupersPulled)) }},
		{"supers_extracted", formWhole, func(_ *view, out cells, r yardSeason) { out.whole(int64(r.SupersExtracted)) }},
		{"hives_worked", formWhole, func(_ *view, out cells, r yardSeason) { putCount(out, r.HivesWorked) }},
		{"kg_per_super", formMass, func(v *view, out cells, r yardSeason) { v.putMassPer(out, r.KgPerSuper) }},
		{"hives", formWhole, func(_ *view, out cells, r yardSeason) {
			if r.Hives == nil {
				out.none()
				return
			}
			out.whole(int64(r.Hives.Hives))
		}},
		{"kg_per_hive", formMass, func(v *view, out cells, r yardSeason) { v.putMassPer(out, r.KgPerHive) }},
		{"moisture_pct", formDecimal, func(_ *view, out cells, r yardSeason) { putKnown(out, r.MoisturePct, 2) }},
		{"shared_by", formText, func(v *view, out cells, r yardSeason) { out.text(v.word(string(r.How), ToldBy)) }},
	},
	rows: func(q *query, b *ledger.Book, put func(yardSeason) error) (err error) {
		b.InForceOf(ledger.KindSeason, func(root ledger.ID, _ *ledger.Entry) bool {
			if q.season != nil && root != q.seasonID {
				return true
			}
			var r *season.Report
			if r, err = season.Of(b, root); err != nil {
				return false
			}
			for _, y := range r.Yards {
				if !q.isYard(y.YardID) {
					continue
				}
				if err = put(yardSeason{root, r.Season, y}); err != nil {
					return false
				}
			}
			if r.NoPullG != 0 && q.yard == (ledger.ID{}) && !q.yardsOnly {
				err = put(ofNoPull(root, r))
			}
			return err == nil
		})
		return err
	},
})

// ofNoPull is the honey of runs that name no pull, as a row of no yard: with it a season's rows sum to its honey.
func ofNoPull(root ledger.ID, r *season.Report) yardSeason {
	share := float64(r.NoPullG) / float64(r.HoneyG)
	return yardSeason{root, r.Season, season.YardLine{Yield: season.Yield{HoneyG: r.NoPullG}, Share: &share, How: ledger.NoSupers}}
}

// pullRow is a pull as the crew wrote it down, with what its boxes weigh taken
// off.
type pullRow struct {
	root ledger.ID
	*ledger.Entry
	*ledger.Pull
	supers int
	kinds  string
	left   int
}

var pullsFeed = newReport(reportOf[pullRow]{
	name: "pulls", keys: 1,
	columns: []column[pullRow]{
		{"id", formID, func(_ *view, out cells, r pullRow) { out.id(r.root) }},
		{"pulled_at", formInstant, func(_ *view, out cells, r pullRow) { out.instant(r.OccurredAt) }},
		{"yard_id", formID, func(v *view, out cells, r pullRow) { out.id(v.book.Root(r.YardID)) }},
		{"yard", formText, func(v *view, out cells, r pullRow) { out.text(v.name(r.YardID)) }},
		{"supers", formWhole, func(_ *view, out cells, r pullRow) { out.whole(int64(r.supers)) }},
		{"supers_by_kind", formText, func(_ *view, out cells, r pullRow) { out.text(r.kinds) }},
		{"supers_left", formWhole, func(_ *view, out cells, r pullRow) { out.whole(int64(r.left)) }},
		{"hives_worked", formWhole, func(_ *view, out cells, r pullRow) { putCount(out, r.HivesWorked) }},
		{"gross_kg", formMass, func(v *view, out cells, r pullRow) { v.putWeighed(out, r, 0) }},
		{"tare_kg", formMass, func(v *view, out cells, r pullRow) { out.decimal(r.tare(v), massPlaces) }},
		{"net_kg", formMass, func(v *view, out cells, r pullRow) { v.putWeighed(out, r, r.tare(v)) }},
		{"usual_net_kg", formMass, func(v *view, out cells, r pullRow) { out.decimal(r.usual(v), massPlaces) }},
		{"room", formText, func(v *view, out cells, r pullRow) { out.text(v.name(r.RoomID)) }},
		{"note", formText, func(_ *view, out cells, r pullRow) { out.text(r.Note) }},
		{"recorded_at", formInstant, func(_ *view, out cells, r pullRow) { out.instant(r.RecordedAt) }},
		{"recorded_by", formText, func(_ *view, out cells, r pullRow) { out.text(r.RecordedBy) }},
		{"entry", formWhole, func(_ *view, out cells, r pullRow) { out.whole(r.Number) }},
	},
	rows: func(q *query, b *ledger.Book, put func(pullRow) error) error {
		for root, e := range b.Happened {
			p, ok := e.Body.(*ledger.Pull)
			if !ok || !q.isYard(b.Root(p.YardID)) || !q.holds(e.OccurredAt, b.Location()) {
				continue
			}
			if err := put(newPullRow(b, root, e, p)); err != nil {
				return err
			}
		}
		return nil
	},
})

func newPullRow(b *ledger.Book, root ledger.ID, e *ledger.Entry, p *ledger.Pull) pullRow {
	r := pullRow{root: root, Entry: e, Pull: p}
	var kinds []string
	for _, c := range p.Supers {
		r.supers += c.Supers
		r.left += b.State().SupersLeft(root, c.SuperKindID)
		kinds = append(kinds, strconv.Itoa(c.Supers)+" "+b.Name(c.SuperKindID))
	}
	r.kinds = strings.Join(kinds, ", ")
	return r
}

// tare is what the empty boxes weigh, in the unit of the view, and usual the honey that they usually hold.
func (r pullRow) tare(v *view) float64 {
	return r.ofBoxes(v, func(k *ledger.SuperKind) int64 { return k.TareG })
}

func (r pullRow) usual(v *view) float64 {
	return r.ofBoxes(v, func(k *ledger.SuperKind) int64 { return k.UsualNetG })
}

func (r pullRow) ofBoxes(v *view, one func(*ledger.SuperKind) int64) (sum float64) {
	for _, c := range r.Supers {
		if k := ledger.Named[ledger.SuperKind](v.book, c.SuperKindID); k != nil {
			sum += v.ofBoxes(c.Supers, one(k))
		}
	}
	return sum
}

// putWeighed writes what a pull weighed, less some of it; nothing where nobody weighed it.
func (v *view) putWeighed(out cells, r pullRow, less float64) {
	if r.GrossG == 0 {
		out.none()
		return
	}
	out.decimal(v.mass(r.GrossG)-less, massPlaces)
}

var runsFeed = newReport(reportOf[season.RunLine]{
	name: "runs", keys: 1,
	columns: []column[season.RunLine]{
		{"id", formID, func(_ *view, out cells, r season.RunLine) { out.id(r.RunID) }},
		{"started_at", formInstant, func(_ *view, out cells, r season.RunLine) { out.instant(r.StartedAt) }},
		{"run", formText, func(_ *view, out cells, r season.RunLine) { out.text(r.Name) }},
		{"supers", formWhole, func(_ *view, out cells, r season.RunLine) { putCount(out, r.SupersTotal) }},
		{"loads", formWhole, func(_ *view, out cells, r season.RunLine) { putCount(out, r.Loads) }},
		{"frames", formWhole, func(_ *view, out cells, r season.RunLine) { putCount(out, r.Frames) }},
		{"frames_set_aside", formWhole, func(_ *view, out cells, r season.RunLine) { putCount(out, r.SetAsideFrames) }},
		{"honey_kg", formMass, func(v *view, out cells, r season.RunLine) { v.putMass(out, r.HoneyG) }},
		{"kg_per_super", formMass, func(v *view, out cells, r season.RunLine) { v.putMassPer(out, r.KgPerSuper) }},
		{"wax_kg", formMass, func(v *view, out cells, r season.RunLine) { v.putMassKnown(out, wire.OrNil(r.WaxG)) }},
		{"moisture_pct", formDecimal, func(_ *view, out cells, r season.RunLine) { putKnown(out, r.MoisturePct, 2) }},
		{"yards", formText, func(_ *view, out cells, r season.RunLine) { out.text(sourceNames(r.MakeUp)) }},
		{"shared_by", formText, func(v *view, out cells, r season.RunLine) { out.text(v.word(string(r.How), ToldBy)) }},
	},
	rows: func(q *query, b *ledger.Book, put func(season.RunLine) error) error {
		for _, r := range season.EveryRun(b) {
			if !q.holds(r.StartedAt, b.Location()) || !q.isFrom(r.MakeUp) {
				continue
			}
			if err := put(r); err != nil {
				return err
			}
		}
		return nil
	},
})

// sourceNames lists where honey came from, most first.
func sourceNames(of []season.Source) string {
	return strings.Join(wire.Each(of, func(s season.Source) string { return s.Name }), ", ")
}

// ToldBy is how the sharing of honey is known.
func ToldBy(how string) message.Text { return message.F("told|" + how) }
