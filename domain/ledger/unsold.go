package ledger

import "time"

// longestUnsold is how long containers may stand here unsold when a sheet brings them in:
// honey is sold until the next harvest (common practice), so that a whole year after they were filled it
// is asked once whether they are still here.
const longestUnsold = 366 * 24 * time.Hour

// ContainersOf is the table of an import that brought in containers.
const ContainersOf = "containers"

// Unsold are the containers that came in with an import, had been filled more than a year
// before, and are still here by the book.
func (b *Book) Unsold(importID ID) []ID { return b.state.unsold(b.at(importID)) }

func (s *State) unsold(f *fact) (out []ID) {
	if f == nil || f.withdrawn() {
		return nil
	}
	i, is := f.subject.(*Import)
	if !is || i.Of != ContainersOf {
		return nil
	}
	for _, c := range s.book.facts[f.Number-1-i.Entries : f.Number-1] {
		if c.root != c || c.Kind != KindFill || c.withdrawn() || f.RecordedAt.Sub(c.last.OccurredAt) <= longestUnsold {
			continue
		}
		if h, _ := s.Holder(c.ID); h.Grams > 0 {
			out = append(out, c.ID)
		}
	}
	return out
}

// unsoldStock finds containers of old sheets that were never sold: one finding for each
// import, whose acceptance says that they are still here.
func (v *survey) unsoldStock() {
	for _, f := range v.book.roots[kindIndex[KindImport]] {
		of := v.state.unsold(f)
		if len(of) == 0 {
			continue
		}
		flag := Flag{Code: OldStock, Entry: f.ID, Unit: "containers", Found: float64(len(of))}
		for _, id := range of {
			h, _ := v.state.Holder(id)
			flag.MassG += h.Grams
		}
		flag.Entries = of[:min(len(of), mostOldStock)]
		v.add(flag)
	}
}

// mostOldStock is how many of the containers a finding names.
const mostOldStock = 50
