package standard

import _ "embed"

// LochheadClass is one line of the table: honey of this moisture keeps a year
// without fermenting as long as it holds fewer yeasts per gram than stated.
// Without a count the class is safe whatever the yeast, or always in danger.
type LochheadClass struct {
	Below     *Decimal `json:"below,omitempty"` // moisture under this, %
	UpTo      *Decimal `json:"up_to,omitempty"` // moisture up to and including this, %
	YeastPerG *Decimal `json:"yeast_per_g,omitempty"`
	Danger    bool     `json:"danger,omitempty"`
	Text      string   `json:"text"`
}

type lochheadTable struct {
	Title    string          `json:"title"`
	Citation string          `json:"citation"`
	Source   Source          `json:"source"`
	Classes  []LochheadClass `json:"classes"`
}

//go:embed data/lochhead.json
var lochheadJSON []byte

var lochhead = mustDecode[lochheadTable](lochheadJSON)

// LochheadClassOf finds the line of the table for a moisture in %. A moisture in
// a gap between two printed lines (18.05) belongs to the wetter one.
func LochheadClassOf(moisturePct Decimal) LochheadClass {
	return lochhead.Classes[lochheadIndex(moisturePct)]
}

func lochheadIndex(moisturePct Decimal) int {
	for i, class := range lochhead.Classes {
		if class.Below != nil && moisturePct.Cmp(*class.Below) < 0 || class.UpTo != nil && moisturePct.Cmp(*class.UpTo) <= 0 {
			return i
		}
	}
	return len(lochhead.Classes) - 1
}

// Safe tells whether honey of this class with this many yeasts per gram keeps a year.
func (c LochheadClass) Safe(yeastPerG Decimal) bool {
	if c.Danger {
		return false
	}
	return c.YeastPerG == nil || yeastPerG.Cmp(*c.YeastPerG) < 0
}
