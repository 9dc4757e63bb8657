package quality

import (
	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// The means of 490 American honeys, beside which a honey is sour or not: White et al. 1962,
// USDA bulletin 1261 (from memory). Free acidity is in meq/kg.
const (
	ordinaryPH          = 3.91
	ordinaryFreeAcidity = 22.0
)

// acidity says in which direction the days of a lot's HMF err, since they do not reckon with
// acidity: HMF forms by acid, and papers found its rate to go with free acidity and pH, in
// what could be read of them without saying by how much (domain/heat/README.md).
func (g *Gathered) acidity(b *ledger.Book) message.Text {
	m := g.lastOf(b, "ph", "free_acidity_meq_per_kg")
	if m == nil {
		return message.F("Acidity is not reckoned with: sour honey (a pH below %s, or more than %s meq/kg of free acidity) forms HMF faster than other honey, and passes a limit nearer to the first of its days.", message.Figure(ordinaryPH), message.Figure(ordinaryFreeAcidity))
	}
	name, figure := m.SaidName(), m.SaidFigure(m.Value)
	if m.Quantity == "ph" && m.Value < ordinaryPH || m.Quantity != "ph" && m.Value > ordinaryFreeAcidity {
		return message.F("A %s of %s was measured, sourer than most honey. Acidity is not reckoned with, and sour honey forms HMF faster: expect it to pass a limit nearer to the first of its days.", name, figure)
	}
	return message.F("A %s of %s was measured, no sourer than most honey. Acidity is not reckoned with, and sour honey forms HMF faster: the days of this one rather err on the early side.", name, figure)
}

// lastOf is the last figure of the first of some quantities that was measured of the whole
// lot or of one of its containers; nil where none was.
func (g *Gathered) lastOf(b *ledger.Book, quantities ...string) *ledger.Measured {
	for _, quantity := range quantities {
		var last *ledger.Measured
		var of *ledger.Entry
		for _, id := range g.Basis.Readings {
			e, _ := b.Entry(id)
			r := e.Body.(*ledger.Reading)
			for i, m := range r.Measured {
				if m.Quantity == quantity && !m.LessThan && (of == nil || !e.OccurredAt.Before(of.OccurredAt)) {
					last, of = &r.Measured[i], e
				}
			}
		}
		if last != nil {
			return last
		}
	}
	return nil
}
