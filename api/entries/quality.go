package entries

import (
	"encoding/json"

	"pullbook/api/wire"
	"pullbook/domain/ledger"
	"pullbook/domain/standard"
	"pullbook/openapi"
)

func refOut(r ledger.RuleSetRef) openapi.RuleSetRef {
	return openapi.RuleSetRef{Standard: wire.OrNil(r.Standard), RuleSetID: wire.OrNil(r.RuleSetID), Version: wire.OrNil(r.Version)}
}

// qualityRequest is Request for entries about whether honey may be sold; nil
// for all others.
func qualityRequest(e *ledger.Entry, shared openapi.NewEntry) (any, error) {
	switch x := e.Body.(type) {
	case *ledger.RuleSet:
		out, err := ruleSetOut(x)
		if err != nil {
			return nil, err
		}
		out.NewEntry = shared
		return out, nil
	case *ledger.Sample:
		return &openapi.NewSample{
			NewEntry: shared,
			LotID:    x.LotID, RuleSet: refOut(x.RuleSet), Seed: wire.OrNil(x.Seed),
		}, nil
	case *ledger.Check:
		out := &openapi.NewCheck{
			NewEntry: shared,
			LotID:    x.LotID, On: wire.DateOut(ledger.Date(x.On)), Note: wire.OrNil(x.Note), RuleSets: make([]openapi.RuleSetRef, len(x.RuleSets)),
		}
		for i, r := range x.RuleSets {
			out.RuleSets[i] = refOut(r)
		}
		if d := x.Decision; d != nil {
			out.Decision = &openapi.DecisionRule{AcceptR: wire.OrNil(d.AcceptR), RejectR: wire.OrNil(d.RejectR), CoverageFactor: wire.OrNil(d.CoverageFactor)}
		}
		return out, nil
	case *ledger.LotStatus:
		out := &openapi.NewLotStatus{
			NewEntry: shared,
			LotID:    x.LotID, Status: openapi.ReleaseStatus(x.Status), Why: wire.OrNil(openapi.HoldReason(x.Why)),
			CheckID: wire.OrNil(x.CheckID), Override: wire.OrNil(x.Override), Note: wire.OrNil(x.Note),
		}
		if len(x.RuleSets) > 0 {
			out.RuleSets = &x.RuleSets
		}
		return out, nil
	case *ledger.Settlement:
		out := &openapi.NewSettlement{
			NewEntry:   shared,
			DispatchID: x.DispatchID, RuleSet: refOut(x.RuleSet), PaidMinor: x.PaidMinor, Reference: wire.OrNil(x.Reference), Note: wire.OrNil(x.Note),
			Drums: make([]openapi.BuyerFound, len(x.Drums)),
		}
		for i, d := range x.Drums {
			out.Drums[i] = openapi.BuyerFound{FillID: d.FillID, NetKg: wire.Kg(d.NetG), MoisturePct: d.MoisturePct, ColourMmPfund: d.ColourPfund, Note: wire.OrNil(d.Note)}
		}
		return out, nil
	}
	return nil, nil
}

// ruleSetOut is a rule set as it was sent: where its lines come from is the
// book's to say.
func ruleSetOut(x *ledger.RuleSet) (*openapi.NewRuleSet, error) {
	text, err := json.Marshal(x)
	if err != nil {
		return nil, err
	}
	out := new(openapi.NewRuleSet)
	if err := json.Unmarshal(text, out); err != nil {
		return nil, err
	}
	for i := range out.Limits {
		out.Limits[i].Source = nil
	}
	if out.Rounding != nil {
		out.Rounding.Source = nil
	}
	if d := out.Decision; d != nil {
		*d = openapi.DecisionRule{AcceptR: wire.OrNil(*d.AcceptR), RejectR: wire.OrNil(*d.RejectR), CoverageFactor: wire.OrNil(*d.CoverageFactor)}
	}
	return out, nil
}

// qualityAdded is what the book worked out for an entry about quality.
type qualityAdded struct {
	Version    *int          `json:"version,omitempty"`
	Drawn      *ledger.Drawn `json:"drawn,omitempty"`
	Found      *ledger.Found `json:"found,omitempty"`
	Outdated   string        `json:"outdated,omitempty"`
	TermsEntry *ledger.ID    `json:"terms_entry,omitempty"`
}

func qualityAddedOut(b *ledger.Book, e *ledger.Entry) qualityAdded {
	switch x := e.Body.(type) {
	case *ledger.RuleSet:
		return qualityAdded{Version: new(b.VersionOf(e))}
	case *ledger.Sample:
		return qualityAdded{Drawn: x.Drawn}
	case *ledger.Check:
		return qualityAdded{Found: x.Found, Outdated: b.Outdated(e.ID).String()}
	case *ledger.Settlement:
		return qualityAdded{TermsEntry: wire.OrNil(x.TermsEntry)}
	}
	return qualityAdded{}
}

func declaresOut(d standard.Declaration) *map[string][]string {
	if len(d) == 0 {
		return nil
	}
	return new(map[string][]string(d))
}
