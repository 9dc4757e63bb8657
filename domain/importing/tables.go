package importing

import (
	"strings"
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/spelling"
)

// done notes whether the row at hand brought anything that is new.
func (k *taking) done(err error) error {
	if !k.fresh && !k.bad && err == nil {
		k.HadRows++
		k.shownNow().isHad()
	}
	return err
}

// setUpAt is when things are set up whose table has no dates: they were there
// before anything that is told of them. It is the same however often a table is
// brought in.
func (k *taking) setUpAt() time.Time {
	return time.Date(2000, time.January, 1, 12, 0, 0, 0, k.book.Location())
}

func (k *taking) yard() error {
	name := k.must(FieldName)
	lat, hasLat := k.plain(FieldLatitude, -90, 90)
	long, hasLong := k.plain(FieldLongitude, -180, 180)
	k.askSign(FieldLatitude, lat, hasLat)
	k.askSign(FieldLongitude, long, hasLong)
	y := &ledger.Yard{Name: name, Registration: k.word(FieldRegistration), Note: k.remarked()}
	switch {
	case hasLat && hasLong:
		y.Latitude, y.Longitude = &lat, &long
	case hasLat && !k.bad:
		k.halfAPlace(FieldLongitude)
	case hasLong && !k.bad:
		k.halfAPlace(FieldLatitude)
	}
	if k.bad {
		return nil
	}
	choice, explicit := k.choice(NounYard, name)
	if choice.Is != "" {
		return k.done(nil) // the outfit has it, whatever the sheet says of it
	}
	if id, known := k.book.Names(ledger.KindYard, sameName(name)); known {
		k.again.says(id)
		k.saysOtherwise(id, name, func(had *ledger.Entry) Field { return yardDiffers(had, y) })
		return k.done(nil)
	}
	if !explicit || choice.Create == nil {
		if like := k.alike(NounYard, name); len(like) > 0 {
			k.problem(AlikeNames, k.columns[FieldName], alikeNames(NounYard, like[0]), like...)
			return nil
		}
	}
	_, err := k.put(k.setUpAt(), y, name, nil)
	return k.done(err)
}

func (k *taking) halfAPlace(missing Field) {
	k.problem(MissingField, k.columns[missing], message.F("A place is a latitude and a longitude: fill both in, or neither."))
}

// yardDiffers is the field in which a row says of a yard what an entry does not;
// empty where the entry says all of it.
func yardDiffers(e *ledger.Entry, row *ledger.Yard) Field {
	had, is := e.Body.(*ledger.Yard)
	same := func(a, b *float64) bool { return b == nil || a != nil && *a == *b }
	switch {
	case !is:
		return FieldName
	case row.Registration != "" && row.Registration != had.Registration:
		return FieldRegistration
	case !same(had.Latitude, row.Latitude):
		return FieldLatitude
	case !same(had.Longitude, row.Longitude):
		return FieldLongitude
	case row.Note != "" && row.Note != had.Note:
		return FieldNote
	}
	return ""
}

// saysOtherwise notes a row about something that the book has under its name, where
// the row says what the book never said of it: that would be lost.
func (k *taking) saysOtherwise(id ledger.ID, name string, differs func(had *ledger.Entry) Field) {
	var where Field
	for _, had := range k.book.Chain(id) {
		if where = differs(had); where == "" {
			return
		}
	}
	k.problem(TwoValues, k.columns[where], message.F("%s is in the book, or in a row above, with something else in this place. What the book has is corrected there: leave this row out, or empty the cell.", message.Quoted(name)))
}

func (k *taking) pull() error {
	at, ok := k.when()
	if !ok {
		return nil
	}
	yard, given, err := k.name(FieldYard, at)
	if err != nil {
		return err
	}
	k.needs(FieldYard, given)
	p := &ledger.Pull{YardID: yard, Note: k.remarked()}
	if p.Supers, err = k.boxes(at); err != nil {
		return err
	}
	k.otherKind(p.Note)
	if c := k.columns[FieldHivesWorked]; c != nil {
		p.HivesWorked, _ = k.count(c, k.text(FieldHivesWorked))
	}
	p.GrossG, _ = k.mass(FieldGross, "gross_kg", false)
	k.agreesWithGross()
	k.heavySupers(p)
	if p.RoomID, _, err = k.name(FieldRoom, at); err != nil || k.bad {
		return err
	}
	if k.isOfMonth(at, p) {
		return nil
	}
	k.noteSum(at, p)
	sums := map[string]int64{"gross_g": p.GrossG}
	for _, s := range p.Supers {
		sums["supers"] += int64(s.Supers)
	}
	_, err = k.put(at, p, "", sums)
	return k.done(err)
}

// otherKind asks about a short note that names another kind of box than the one that is said to hold for all
// rows; of a wide sheet's it is asked where they stand.
func (k *taking) otherKind(note string) {
	const short = 3
	kind, fixed := k.Mapping.Fixed[FieldSuperKind]
	c := k.columns[FieldSuperKind]
	if k.wide != nil || !fixed || c == nil || c.index >= 0 && k.itself(c) != "" || len(strings.Fields(note)) > short || !k.namesOther(note, NounSuperKind, kind) {
		return
	}
	k.problem(TwoValues, k.columns[FieldNote], message.F("The note says %s, and %s is said to hold for all rows. Give the kinds of box a column, or leave the row out%s.", message.Quoted(note), message.Quoted(kind), message.Option("leave_out_rows")))
}

// needs notes that a field is empty that a row needs.
func (k *taking) needs(f Field, given bool) {
	if !given && !k.bad {
		k.problem(MissingField, k.columns[f], message.F("This is empty, and a row needs it: fill it in, or leave the row out."))
	}
}

// boxes reads how many supers of which kinds came: a count and a kind, or a column
// for each kind.
func (k *taking) boxes(at time.Time) (out []ledger.SuperCount, err error) {
	for _, c := range k.supers {
		n, given := k.count(c, k.cell(c))
		if !given || n == 0 {
			continue
		}
		kind, ok, err := k.thing(c, NounSuperKind, c.Of, at)
		if err != nil {
			return nil, err
		}
		if ok {
			out = append(out, ledger.SuperCount{SuperKindID: kind, Supers: n})
		}
	}
	if c := k.columns[FieldSupers]; c != nil {
		n, given := k.count(c, k.text(FieldSupers))
		if given && n > 0 {
			kind, ok, err := k.name(FieldSuperKind, at)
			if err != nil {
				return nil, err
			}
			if k.columns[FieldSuperKind] == nil {
				k.problemOnce(MissingField, c, message.F("Of which kind are these supers? Say which column has the kind%s, or give one for all rows%s.", message.Option("super_kind"), message.Option("fixed")))
			} else {
				k.needs(FieldSuperKind, ok)
			}
			out = append(out, ledger.SuperCount{SuperKindID: kind, Supers: n})
		}
	}
	k.askSum(out)
	if len(out) == 0 && !k.bad {
		k.problem(MissingField, k.columns[FieldSupers], message.F("A pull brings at least one super: fill in how many, or leave the row out."))
	}
	return out, nil
}

// usualFramesPerSide is what a sixty-frame extractor takes; common practice.
const usualFramesPerSide = 30

// run reads a run and what came out of it; rows that name the same run on the same
// day are one run with more honey out of it.
func (k *taking) run() error {
	at, ok := k.when()
	name := k.must(FieldName)
	if ok {
		k.tookForDay(FieldName, name, at)
	}
	r := &ledger.Run{Name: name, FramesPerSide: usualFramesPerSide}
	if c := k.columns[FieldFrames]; c != nil {
		if n, given := k.count(c, k.text(FieldFrames)); given {
			r.FramesPerSide = n
			k.framesPerSide(c, n)
		}
	}
	typedRun := k.typed
	k.typed = nil
	honey, hasHoney := k.mass(FieldHoney, "mass_kg", true)
	typedHoney := k.typed
	k.typed = nil
	wax, hasWax := k.mass(FieldWax, "wax_kg", false)
	typedWax := k.typed
	tank, hasTank, err := k.name(FieldTank, at)
	if err != nil {
		return err
	}
	if hasHoney && honey > 0 {
		if k.columns[FieldTank] != nil {
			k.needs(FieldTank, hasTank)
		} else if !k.bad {
			k.problem(MissingField, k.columns[FieldHoney], message.F("Into which tank did this honey go? Say which column has the tank, or give one for all rows%s.", message.Option("fixed")))
		}
	}
	note := k.remarked()
	if !ok || k.bad {
		return nil
	}
	k.typed = typedRun
	run, err := k.runOf(at, r, &note)
	if err != nil || k.bad {
		return err
	}
	id := run.id
	if hasWax && wax > 0 && run.waxRow != 0 {
		k.problem(TwoValues, k.columns[FieldWax], message.F("Row %s says how much wax this run gave already: give all of a run's wax in one row.", run.waxRow))
		return nil
	}
	if note != "" && !(hasHoney && honey > 0) {
		k.problem(TwoValues, k.columns[FieldNote], message.F("A row above says what this run is, and this one has nothing that the note could stand with: put the note into that row."))
		return nil
	}
	if hasHoney && honey > 0 {
		k.typed = typedHoney
		_, err = k.put(at, &ledger.Movement{From: ledger.Place{Kind: ledger.PlaceRun, ID: id}, To: ledger.Place{Kind: ledger.PlaceTank, ID: tank}, MassG: honey, Note: note}, "", map[string]int64{"honey_g": honey})
	}
	if err == nil && hasWax && wax > 0 {
		k.typed, run.waxRow = typedWax, k.row
		_, err = k.put(at, &ledger.RunEnd{RunID: id, WaxG: wax}, "", nil)
	}
	return k.done(err)
}

func (k *taking) lot() error {
	at, ok := k.when()
	if ok {
		k.tookForDay(FieldLot, k.text(FieldLot), at)
	}
	l := &ledger.Lot{Code: k.must(FieldLot), Product: k.word(FieldProduct), Note: k.remarked()}
	var err error
	if l.StoreID, _, err = k.name(FieldRoom, at); err != nil || !ok || k.bad {
		return err
	}
	if id, known := k.book.Names(ledger.KindLot, sameName(l.Code)); known {
		k.again.says(id)
		k.saysOtherwise(id, l.Code, func(had *ledger.Entry) Field { return lotDiffers(had, at, l) })
		return k.done(nil)
	}
	_, err = k.put(at, l, l.Code, nil)
	return k.done(err)
}

// lotDiffers is the field in which a row says of a lot what an entry does not; empty
// where the entry is of the same day and says all of it.
func lotDiffers(e *ledger.Entry, at time.Time, row *ledger.Lot) Field {
	had, is := e.Body.(*ledger.Lot)
	switch {
	case !is:
		return FieldLot
	case e.OccurredAt.In(at.Location()).Format(time.DateOnly) != at.Format(time.DateOnly):
		return FieldDate
	case row.Product != "" && row.Product != had.Product:
		return FieldProduct
	case row.StoreID != ledger.ID{} && row.StoreID != had.StoreID:
		return FieldRoom
	case row.Note != "" && row.Note != had.Note:
		return FieldNote
	}
	return ""
}

// container reads a filled drum, pail or tote: two of gross, tare and net, or gross
// or net with the usual tare of its kind.
func (k *taking) container() error {
	at, ok := k.when()
	if !ok {
		return nil
	}
	f := &ledger.Fill{Container: k.must(FieldContainer), Seal: k.word(FieldSeal), Note: k.remarked()}
	if namesSeveral(f.Container) {
		k.problem(TwoValues, k.columns[FieldContainer], message.F("This names several containers, and a row is one: give each of them a row of its own, with its own weight."))
	}
	k.askQuantity()
	var err error
	for _, want := range []struct {
		field Field
		id    *ledger.ID
	}{{FieldLot, &f.LotID}, {FieldTank, &f.TankID}, {FieldContainerKind, &f.ContainerKindID}} {
		var given bool
		if *want.id, given, err = k.name(want.field, at); err != nil {
			return err
		}
		k.needs(want.field, given)
	}
	gross, hasGross := k.mass(FieldGross, "gross_kg", false)
	tare, hasTare := k.mass(FieldTare, "tare_kg", false)
	net, hasNet := k.mass(FieldNet, "net_kg", true)
	if k.bad {
		return nil
	}
	switch kind := ledger.Named[ledger.ContainerKind](k.book, f.ContainerKindID); {
	case hasGross && hasTare && hasNet && !near(gross-tare, net):
		k.problem(TwoValues, k.columns[FieldNet], message.F("Gross less tare is %s, and the net says %s: put right which one is wrong.", message.Kg(float64(gross-tare)/1000), message.Kg(float64(net)/1000)))
		return nil
	case hasGross && hasTare:
	case hasGross && hasNet:
		tare = gross - net
	case hasNet && hasTare:
		gross = net + tare
	case hasGross:
		tare = kind.TareG
	case hasNet:
		tare, gross = kind.TareG, net+kind.TareG
	default:
		k.problem(MissingField, k.columns[FieldGross], message.F("A container needs its gross or net weight: fill it in, or leave the row out."))
		return nil
	}
	if tare < 0 {
		k.problem(OutOfRange, k.columns[FieldNet], message.F("The net is above the gross: are the two columns the wrong way round?"))
		return nil
	}
	const notUsual = 2 // times; a small jar is heavier than its honey
	if usual := ledger.Named[ledger.ContainerKind](k.book, f.ContainerKindID).TareG; hasTare && tare > gross-tare && gross > tare && tare > notUsual*usual {
		k.problem(OutOfRange, k.columns[FieldTare], message.F("The tare is above the net: are the two columns the wrong way round?"))
		return nil
	}
	f.GrossG, f.TareG = gross, tare
	_, err = k.put(at, f, "", map[string]int64{"net_g": f.NetG()})
	return k.done(err)
}

// namesSeveral reports whether the number of a container is a list, or says from which to
// which. A dash alone may be part of a number, but for D1-D5, which says its letters twice, and for
// 11 - 14.
func namesSeveral(text string) bool {
	if strings.ContainsAny(text, ",;&+") || strings.Contains(text, "..") {
		return true
	}
	for _, word := range through {
		a, b, found := strings.Cut(strings.ToLower(text), word)
		first, last := numberedOf(strings.TrimSpace(a)), numberedOf(strings.TrimSpace(b))
		if found && first.width > 0 && last.width > 0 && (strings.HasPrefix(word, " ") || first.before == last.before && first.n < last.n && (first.before != "" || strings.Contains(text, " "+word+" "))) {
			return true
		}
	}
	return false
}

// near allows for weights that were rounded, each to half a pound at most.
func near(a, b int64) bool {
	const slack = 500
	return a-b <= slack && b-a <= slack
}

// measuredFields are the other figures of a reading, in the order in which they are
// stored.
var measuredFields = [...]Field{FieldHMF, FieldDiastase, FieldColour, FieldConductivity, FieldFreeAcidity, FieldPH}

var points = map[string]ledger.Point{
	"top": ledger.PointTop, "arriba": ledger.PointTop, "superior": ledger.PointTop, "surface": ledger.PointTop,
	"middle": ledger.PointMiddle, "mid": ledger.PointMiddle, "medio": ledger.PointMiddle, "centro": ledger.PointMiddle,
	"gate": ledger.PointGate, "valve": ledger.PointGate, "llave": ledger.PointGate, "grifo": ledger.PointGate,
	"bottom": ledger.PointBottom, "abajo": ledger.PointBottom, "fondo": ledger.PointBottom,
	"core": ledger.PointCore, "nucleo": ledger.PointCore, "mixed": ledger.PointMixed, "mezcla": ledger.PointMixed,
}

func (k *taking) reading() error {
	at, ok := k.when()
	if !ok {
		return nil
	}
	r := &ledger.Reading{Laboratory: k.word(FieldLaboratory), Note: k.remarked()}
	if c := k.columns[FieldLaboratory]; strings.ContainsAny(r.Laboratory, ".,") && isFigure(r.Laboratory) {
		k.problemOnce(TwoValues, c, message.F("%s is a figure, and no laboratory is called so: say what column %s holds, or leave it unread.", message.Quoted(r.Laboratory), columnName(c.Column.Column, c.Heading)))
	}
	var err error
	if r.On, err = k.measuredOn(at); err != nil {
		return err
	}
	if r.On.Kind == "" && !k.bad {
		k.problem(MissingField, nil, message.F("The row does not say which tank, lot or container was measured: fill one in, or leave the row out."))
	}
	if text := k.word(FieldPoint); text != "" {
		if r.Point = k.pointOf(text); r.Point == "" {
			k.problem(UnknownName, k.columns[FieldPoint], message.F("A sample is drawn at the top, middle, gate, bottom or core, or is mixed: say which."))
		}
	}
	if r.InstrumentID, _, err = k.name(FieldInstrument, at); err != nil {
		return err
	}
	k.askNotThere(r.On, at)
	k.shown(r)
	k.measured(r)
	k.own(r)
	if r.Moisture == nil && len(r.Measured) == 0 && len(r.Observed) == 0 && !k.bad {
		k.problem(MissingField, nil, message.F("The row has no figure that was measured: fill one in, or leave the row out."))
	}
	if k.bad {
		return nil
	}
	_, err = k.put(at, r, "", nil)
	return k.done(err)
}

// pointOf is the point that a text names; empty where it names none.
func (k *taking) pointOf(text string) ledger.Point {
	point, known := k.points[text]
	if !known {
		point = points[spelling.Plain(text)]
		if k.points == nil {
			k.points = map[string]ledger.Point{}
		}
		k.points[text] = point
	}
	return point
}

// shown is what a refractometer showed.
func (k *taking) shown(r *ledger.Reading) {
	for _, scale := range [...]struct {
		field Field
		name  string
	}{{FieldMoisture, ledger.ScaleMoisture}, {FieldRefractive, ledger.ScaleRefractiveIndex}, {FieldBrix, ledger.ScaleBrix}} {
		v, given := k.plain(scale.field, -1e6, 1e6) // what no honey has, the book says
		if !given {
			continue
		}
		if r.Moisture != nil {
			k.problem(TwoValues, k.columns[scale.field], message.F("The row has two figures of the refractometer: leave the one that it showed."))
			return
		}
		r.Moisture = &ledger.MoistureReading{Scale: scale.name, AsRead: v}
		if c, given := k.celsius(FieldSampleC, "sample_temperature_c", 0, 60); given {
			r.Moisture.SampleC = &c
		}
	}
}

func (k *taking) measured(r *ledger.Reading) {
	for _, f := range measuredFields {
		x, given := k.figure(f)
		if !given {
			continue
		}
		m := ledger.Measured{Quantity: string(f), Value: x.Value, LessThan: x.LessThan}
		if f == FieldHMF {
			m.Method = k.word(FieldHMFMethod)
		}
		k.note(r, k.columns[f], m)
	}
}

// note adds a figure to a reading, and remembers the column that it came from.
func (k *taking) note(r *ledger.Reading, c *column, m ledger.Measured) {
	if m.Value < 0 || m.Value > 1e9 {
		k.problem(OutOfRange, c, message.F("The book takes only %s to %s here.", message.Figure(0), message.Figure(1e9)))
		return
	}
	r.Measured = append(r.Measured, m)
	k.measuredFrom = append(k.measuredFrom, c)
}
