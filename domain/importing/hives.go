package importing

import (
	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// hiveCount reads how many hives stood in a yard on a day.
func (k *taking) hiveCount() error {
	at, ok := k.when()
	if !ok {
		return nil
	}
	h := &ledger.HiveCount{Name: k.must(FieldCountName)}
	var given bool
	var err error
	if h.YardID, given, err = k.name(FieldYard, at); err != nil {
		return err
	}
	k.needs(FieldYard, given)
	if h.Hives, given = k.count(k.columns[FieldHives], k.text(FieldHives)); !given {
		k.needs(FieldHives, false)
	}
	if k.bad {
		return nil
	}
	_, err = k.put(at, h, "", map[string]int64{"hives": int64(h.Hives)})
	return k.done(err)
}

// transfer reads honey that was pumped from one tank into another.
func (k *taking) transfer() error {
	at, ok := k.when()
	if !ok {
		return nil
	}
	m := &ledger.Movement{From: ledger.Place{Kind: ledger.PlaceTank}, To: ledger.Place{Kind: ledger.PlaceTank}, Note: k.remarked()}
	for _, end := range [...]struct {
		field Field
		id    *ledger.ID
	}{{FieldFromTank, &m.From.ID}, {FieldToTank, &m.To.ID}} {
		id, given, err := k.name(end.field, at)
		if err != nil {
			return err
		}
		k.needs(end.field, given)
		*end.id = id
	}
	var given bool
	if m.MassG, given = k.mass(FieldHoney, "mass_kg", true); !given {
		k.needs(FieldHoney, false)
	} else if m.MassG == 0 {
		k.problem(OutOfRange, k.columns[FieldHoney], message.F("Nothing moved: type what did, or leave the row out."))
	}
	if k.bad {
		return nil
	}
	_, err := k.put(at, m, "", map[string]int64{"honey_g": m.MassG})
	return k.done(err)
}
