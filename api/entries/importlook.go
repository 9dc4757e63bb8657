package entries

import (
	"pullbook/domain/importing"
	"pullbook/domain/ledger"
)

// notReadOut is an ImportNotRead of the contract.
type notReadOut struct {
	Column  string `json:"column"`
	Heading string `json:"heading,omitempty"`
	Sent    string `json:"sent,omitempty"`
	Row     int    `json:"row,omitempty"`
}

func notReadOf(r *importing.Result) []notReadOut {
	out := []notReadOut{}
	for _, n := range r.NotRead {
		out = append(out, notReadOut(n))
	}
	return out
}

// importFindingOut is an ImportFinding of the contract.
type importFindingOut struct {
	Code  ledger.Code     `json:"code"`
	Count int             `json:"count"`
	First []findingRowOut `json:"first"`
}

type findingRowOut struct {
	Row      int    `json:"row,omitempty"`
	Sentence string `json:"sentence"`
}

func importFindingsOf(r *importing.Result) []importFindingOut {
	out := []importFindingOut{}
	for _, f := range r.Findings {
		finding := importFindingOut{Code: f.Code, Count: f.Count}
		for _, at := range f.First {
			finding.First = append(finding.First, findingRowOut{at.Row, at.Says.String()})
		}
		out = append(out, finding)
	}
	return out
}
