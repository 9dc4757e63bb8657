package pages

import (
	"pullbook/domain/importing"
)

// askedFor is what is asked of all rows where there is a problem of a sort.
var askedFor = map[importing.Code]string{
	importing.TwoDates: "dates", importing.NoYear: "year", importing.TurnedDates: "turned", importing.NoSeason: "seasons",
	importing.LooksLikeSum: "totals", importing.RowTakenOut: "taken-out", importing.LikeRecorded: "alike", importing.StandsTwice: "twice",
}

// askBelow asks below the first problem of its sort for what holds for all rows, so that nobody
// has to look for it among the columns. Of what is asked elsewhere the problem says where.
func askBelow(v *importAnswerView, r *importing.Result) {
	v.Asked = map[string]bool{}
	for i, p := range r.Problems[:len(v.Problems)] {
		ask := askedFor[p.Code]
		switch {
		case p.Code == importing.TwoDates && len(p.DidYouMean) == 0: // each is to be written in full
		case ask != "" && !v.Asked[ask]:
			v.Problems[i].Ask, v.Asked[ask] = ask, true
		default:
			v.Problems[i].At = answeredAt(r, p)
		}
	}
}

// answeredAt is where on the page a problem is answered; empty where that is in the sheet alone.
func answeredAt(r *importing.Result, p *importing.Problem) string {
	switch {
	case importing.NounOf(r.Mapping.Of, p.Field) != "" && p.Sent != "" && (p.Code == importing.UnknownName || p.Code == importing.AlikeNames):
		return "#names"
	case p.Code == importing.AsLastTime:
		return "#last-time"
	case p.Code == importing.WideSheet && p.Row == 0:
		return "#across"
	}
	of := map[importing.Code]string{importing.NoUnit: "unit", importing.TwoFigures: "mark", importing.TwoValues: "field", importing.MissingField: "field"}[p.Code]
	if of == "" || of == "field" && p.Row > 0 && !p.OfHeadings {
		return ""
	}
	for _, c := range r.Mapping.Columns {
		switch {
		case c.Column != p.Column:
		case c.Field == importing.FieldCell && of != "field":
			return "#cell-" + of
		default:
			return "#" + of + "-" + c.Column
		}
	}
	return ""
}
