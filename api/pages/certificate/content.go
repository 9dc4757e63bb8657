package certificate

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"pullbook/api/request"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/season"
	"pullbook/domain/standard"
	"pullbook/domain/trace"
)

// EndOfTime is later than anything a book takes.
var EndOfTime = time.Date(9999, 1, 1, 0, 0, 0, 0, time.UTC)

// readOn is a reading on a lot or on one of its containers, whose number is container.
type readOn struct {
	at time.Time
	*ledger.Reading
	container, instrument string
}

// reading is one figure read on a lot or on one of its containers.
type reading struct {
	At                           time.Time
	On, Instrument, What, Figure string
	value                        float64
	// said are On, What and Figure in the words of a reader.
	said [3]message.Text
}

// readingsOf are all readings on a lot and its containers, earliest first.
func readingsOf(b *ledger.Book, r *season.LotReport) []readOn {
	var out []readOn
	for _, id := range b.Basis(r.LotID, EndOfTime).Readings {
		e, _ := b.Entry(id)
		x := readOn{at: e.OccurredAt, Reading: e.Body.(*ledger.Reading)}
		x.instrument = b.Name(x.InstrumentID)
		if x.On.Kind == ledger.PlaceContainer {
			x.container = b.Name(x.On.ID)
		}
		out = append(out, x)
	}
	return out
}

// figuresRead are all figures of readings.
func figuresRead(readings []readOn) (out []reading) {
	for _, r := range readings {
		out = append(out, r.figures()...)
	}
	return out
}

func (r readOn) figures() (out []reading) {
	on, by, saidOn := "the lot", r.Laboratory, message.F("the lot")
	if r.On.Kind == ledger.PlaceContainer {
		on = r.container
		saidOn = message.Verbatim(on)
	}
	if r.CertificateNumber != "" {
		by += ", " + r.CertificateNumber
	}
	if by == "" {
		by = r.instrument
	}
	add := func(what, figure string, value float64, saidWhat, saidFigure message.Text) {
		out = append(out, reading{r.at, on, by, what, figure, value, [3]message.Text{saidOn, saidWhat, saidFigure}})
	}
	if m := r.Moisture; m != nil {
		add("moisture", fmt.Sprintf("%.1f %%%s", m.Pct, uncertain(m.Uncertainty())), m.Pct,
			standard.SayParameter("moisture"), withUncertainty(message.F("%s %%", message.Number{V: m.Pct, Places: 1}), m.Uncertainty()))
	}
	for _, m := range r.Measured {
		figure, saidFigure := fmt.Sprintf("%g", m.Value), message.F("%s", message.Figure(m.Value))
		if m.LessThan {
			figure, saidFigure = "less than "+figure, message.F("less than %s", saidFigure)
		}
		figure += uncertain(m.StdUncertainty)
		saidFigure = withUncertainty(saidFigure, m.StdUncertainty)
		if m.Method != "" {
			figure += ", " + m.Method
			saidFigure = message.F("%s, %s", saidFigure, m.Method)
		}
		plain := plainWords(m.Quantity)
		if m.Quantity == ledger.OwnQuantity {
			plain = plainWords(m.Parameter) + ", " + m.Unit
		}
		add(plain, figure, m.Value, request.SayMeasured(m), saidFigure)
	}
	for _, o := range r.Observed {
		what, word := request.SayObserved(o)
		add(plainWords(o.What), o.Word, 0, what, word)
	}
	return out
}

// uncertain is a standard uncertainty after its value; empty where none is known.
func uncertain(std *float64) string {
	if std == nil {
		return ""
	}
	return fmt.Sprintf(" (u %.2g)", *std)
}

// withUncertainty adds a standard uncertainty, where one is known.
func withUncertainty(figure message.Text, std *float64) message.Text {
	if std == nil {
		return figure
	}
	return message.F("%s (u %s)", figure, message.Number{V: *std, Places: -2})
}

// check is what the last check of a lot by a rule set came to.
type check struct {
	On    string
	Entry int64
	// Outdated is empty where the check still fits the lot.
	Outdated message.Text
	Result   ledger.RuleSetResult
}

// late is 0 for a check that still fits the lot, and 1 for others.
func (c check) late() int {
	if c.Outdated.IsEmpty() {
		return 0
	}
	return 1
}

// checksOf are the latest answers of each rule set that the lot was
// checked by, those that still speak of it first.
func checksOf(b *ledger.Book, lot ledger.ID) ([]check, error) {
	latest := map[string]check{}
	entries := map[ledger.ID]bool{}
	var order []string
	b.InForceOf(ledger.KindCheck, func(_ ledger.ID, e *ledger.Entry) bool {
		c := e.Body.(*ledger.Check)
		if c.Found == nil || b.Root(c.LotID) != lot {
			return true
		}
		for _, r := range c.Found.Results {
			had, has := latest[r.ID]
			if !has {
				order = append(order, r.ID)
			}
			if !has || had.Entry < e.Number {
				latest[r.ID] = check{string(c.On), e.Number, b.Outdated(e.ID), r}
				entries[e.ID] = true
			}
		}
		return true
	})
	changed := map[int64]message.Text{}
	if len(entries) > 0 {
		superseded, err := trace.SupersededBy(b, entries)
		if err != nil {
			return nil, err
		}
		for _, x := range superseded {
			changed[x.By.Number] = changedSince(x)
		}
	}
	out := make([]check, len(order))
	for i, id := range order {
		out[i] = latest[id]
		switch what := changed[out[i].Entry]; {
		case what.IsEmpty():
		case out[i].Outdated.IsEmpty():
			out[i].Outdated = what
		default:
			out[i].Outdated = message.F("%s; %s", out[i].Outdated, what)
		}
	}
	slices.SortStableFunc(out, func(x, y check) int { return x.late() - y.late() })
	return out, nil
}

// changedSince says which figures changed of those that something rested on, and
// through which entries.
func changedSince(x trace.Superseding) message.Text {
	var through []string
	for _, e := range x.Through {
		through = append(through, strconv.FormatInt(e.Number, 10))
	}
	return message.F("figures changed that it rested on: %s (by entry %s)", Changed(x), strings.Join(through, ", "))
}

// Changed says what figures were and what they are.
func Changed(x trace.Superseding) message.Series {
	figure := func(p *float64) any {
		if p == nil {
			return message.F("figure|none")
		}
		return message.Number{V: *p, Places: -2}
	}
	var changes []message.Text
	for _, c := range x.Changes {
		name := c.Name
		if c.PartName != "" {
			name += " " + c.PartName
		}
		changes = append(changes, message.F("%s %s to %s %s", name, figure(c.From), figure(c.To), c.Unit))
	}
	return message.Series{Between: ", ", Items: changes}
}

// overrideOf is why a lot was released without a check that meets; empty where
// it was not.
func overrideOf(d ledger.Decided) string {
	if d.By == nil {
		return ""
	}
	if s, ok := d.By.Body.(*ledger.LotStatus); ok && s.Override && d.Status == ledger.StatusReleased {
		return s.Note
	}
	return ""
}

// onAWord is a dispatch that a manager's word let go.
type onAWord struct {
	Entry       int64
	Buyer, Note string
}

// sentOnAWord are the dispatches of a lot's containers that a manager's word let go, in
// order of recording.
func sentOnAWord(b *ledger.Book, r *season.LotReport) (out []onAWord) {
	of := map[ledger.ID]bool{}
	for _, c := range r.Containers {
		of[c.ID] = true
	}
	b.InForceOf(ledger.KindDispatch, func(_ ledger.ID, e *ledger.Entry) bool {
		d := e.Body.(*ledger.Dispatch)
		if d.Override && slices.ContainsFunc(d.Containers, func(id ledger.ID) bool { return of[b.Root(id)] }) {
			out = append(out, onAWord{e.Number, b.Name(d.BuyerID), d.Note})
		}
		return true
	})
	return out
}

// plainWords is a parameter's name as people write it.
func plainWords(name string) string { return strings.ReplaceAll(name, "_", " ") }
