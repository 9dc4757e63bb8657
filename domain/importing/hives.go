package importing

import (
	"time"

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
	if k.bad || k.countedOtherwise(at, h) {
		return nil
	}
	_, err = k.put(at, h, "", map[string]int64{"hives": int64(h.Hives)})
	return k.done(err)
}

// counted is a count of a yard's hives by its name and day, and countedIn what the sheet says of it
// in which row.
type counted struct {
	yard      ledger.ID
	day, name string
}

type countedIn struct{ row, hives int }

// countedOtherwise asks about a count of which a row above says another number of hives: one name
// is one count.
func (k *taking) countedOtherwise(at time.Time, h *ledger.HiveCount) bool {
	of := counted{k.book.Root(h.YardID), k.dayOf(at), sameName(h.Name)}
	above, has := k.counted[of]
	if has && above.hives != h.Hives {
		k.problem(TwoValues, k.columns[FieldHives], message.F("Row %s says %s of the same count: put right which one is wrong, or give the counts names of their own.", above.row, saidHives(above.hives)))
		return true
	}
	if k.counted == nil {
		k.counted = map[counted]countedIn{}
	}
	if !has && len(k.counted) < mostWaiting {
		k.counted[of] = countedIn{k.row, h.Hives}
	}
	return false
}

// pumped is a day and a tank, into which or out of which honey was pumped at no known hour.
type pumped struct {
	day  string
	tank ledger.ID
	into bool
}

// bothWays asks about a transfer that says no hour, where another one of the day that says
// none either fills the tank that it empties, or empties the one that it fills: which of
// them came first decides what was in the tank.
func (k *taking) bothWays(at time.Time, m *ledger.Movement) bool {
	if k.timed {
		return false
	}
	if k.pumped == nil {
		k.pumped = map[pumped]int{}
	}
	day := k.dayOf(at)
	for _, other := range [...]pumped{{day, m.From.ID, true}, {day, m.To.ID, false}} {
		if row := k.pumped[other]; row != 0 {
			k.problem(NoDate, k.columns[FieldDate], message.F("On this day honey went into and out of %s (row %s): give both rows their time of day, so that it is known which came first.", k.book.Name(other.tank), row))
			return true
		}
	}
	k.pumped[pumped{day, m.From.ID, false}], k.pumped[pumped{day, m.To.ID, true}] = k.row, k.row
	return false
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
	if k.bad || k.bothWays(at, m) {
		return nil
	}
	_, err := k.put(at, m, "", map[string]int64{"honey_g": m.MassG})
	return k.done(err)
}
