package importing

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/tables"
)

// ShownRow is a row of a sheet as it would stand in the book.
type ShownRow struct {
	Row int
	// Cell is the first that it is of, as E7, where a wide sheet has several pulls or readings in
	// a row; else empty.
	Cell string
	// Cells are those that it fills of the columns that are read, as they were typed.
	Cells []ShownCell
	// Says are what the book would have of it, or has already, in order. Of a logger's row it
	// is what the logger showed.
	Says []Said
	// Problems are what is in question about it, up to a bound; so are Says.
	Problems []*Problem
	// LeftOut is true where it is not brought in, and Unread where nobody knows yet: something
	// has to be put right first that is about all rows.
	LeftOut, Unread bool
	// Had is true where the book has all that it says.
	Had bool
}

// ShownCell is a cell with what stands above it.
type ShownCell struct{ Column, Heading, Sent string }

// Said is an entry with what it says in words. Entry is nil of a logger's row.
type Said struct {
	Kind ledger.Kind
	At   time.Time
	// To the minute: its time of day matters.
	ToTheMinute bool
	Parts       []message.Text
	Entry       *ledger.Entry
	// Had is true where the book has it already.
	Had bool
}

// mostShownProblems and mostSaid bound those of one row: a row of a thousand columns may have
// as many.
const (
	mostShownProblems = 20
	mostSaid          = 40
)

// show begins to show the row at hand, if it is one of the first.
func (k *taking) show() {
	if len(k.Shown) == shown || k.shownNow() != nil {
		return
	}
	s := &ShownRow{Row: k.row, Cell: k.cellName()}
	for _, c := range k.inOrder() {
		if text := k.itself(c); text != "" {
			s.Cells = append(s.Cells, ShownCell{c.Column.Column, clip(c.Heading), clip(k.looksLike(c, text))})
		}
	}
	if k.shownRows == nil {
		k.shownRows = map[shownKey]*ShownRow{}
	}
	k.Shown, k.shownRows[shownKey{k.row, s.Cell}] = append(k.Shown, s), s
}

// shownKey is a row that is shown, and its cell in a wide sheet.
type shownKey struct {
	row  int
	cell string
}

// shownNow is the row at hand, or its part, where it is shown; else nil.
func (k *taking) shownNow() *ShownRow { return k.shownRows[shownKey{k.row, k.cellName()}] }

// isLeftOut notes that a row is left out, where it is shown.
func (s *ShownRow) isLeftOut(is bool) {
	if s != nil && is && len(s.Says) == 0 {
		s.LeftOut = true
	}
}

// isHad notes that the book has all that a row says, where it is shown.
func (s *ShownRow) isHad() {
	if s != nil {
		s.Had = true
	}
}

// isAside notes that an entry is left out that the row, where it is shown, would have come to.
func (s *ShownRow) isAside(e *ledger.Entry) {
	if s != nil {
		s.Says = slices.DeleteFunc(s.Says, func(x Said) bool { return x.Entry == e })
		s.isLeftOut(true)
	}
}

// isAsked notes what is in question about a row, where it is shown.
func (s *ShownRow) isAsked(p *Problem) {
	if s != nil && len(s.Problems) < mostShownProblems {
		s.Problems = append(s.Problems, p)
	}
}

// looksLike is what a cell shows: of a date in a workbook not the number by which that keeps it.
func (k *taking) looksLike(c *column, text string) string {
	serial, err := strconv.ParseFloat(text, 64)
	if w, ok := tables.FromSerial(serial, k.table.Epoch1904); ok && err == nil && k.table.Serials && c.info.measure == dates {
		text = dateOnly(w)
		if w.HasClock {
			text += fmt.Sprintf(" %02d:%02d", w.Clock/time.Hour, w.Clock/time.Minute%60)
		}
	}
	return strings.TrimPrefix(text, "'")
}

// showUnread shows the row at hand where no row could be read.
func (k *taking) showUnread() {
	if k.blank() || len(k.Shown) == shown {
		return
	}
	k.show()
	s := k.shownNow()
	s.Unread = true
	for _, p := range k.list {
		if p.Row == k.row {
			s.isAsked(p)
		}
	}
}

// inOrder are the columns of the sheet that are read, in its order.
func (k *taking) inOrder() []*column {
	out := slices.DeleteFunc(k.ordered(), func(c *column) bool { return c.index < 0 })
	slices.SortStableFunc(out, func(a, b *column) int { return a.index - b.index })
	return out
}

// showEntry shows what the row at hand comes to; name is what it sets up under a name. What a
// logger showed was shown by its rows.
func (k *taking) showEntry(e *ledger.Entry, name string, had bool) {
	if s := k.shownNow(); s != nil && len(s.Says) < mostSaid && e.Kind != ledger.KindTemperatureLog {
		s.Says = append(s.Says, Said{e.Kind, e.OccurredAt, toTheMinute[e.Kind], k.says(e.Body, name), e, had})
	}
}

// showPoint shows what a logger showed in the row at hand.
func (k *taking) showPoint(on ledger.Place, p ledger.TemperaturePoint, had bool) {
	s := k.shownNow()
	if s == nil || len(s.Says) == mostSaid {
		return
	}
	parts := []message.Text{message.F("of %s", k.book.Name(on.ID)), message.F("%s", message.Celsius(p.TemperatureC))}
	if p.HumidityPct != nil {
		parts = append(parts, message.F("humidity %s %%", message.Figure(*p.HumidityPct)))
	}
	s.Says = append(s.Says, Said{Kind: ledger.KindTemperatureLog, At: p.At, ToTheMinute: true, Parts: parts, Had: had})
}

// toTheMinute are the kinds of entry of which it matters when on a day they were.
var toTheMinute = map[ledger.Kind]bool{ledger.KindReading: true, ledger.KindMovement: true, ledger.KindTemperatureLog: true}

// says puts into words what an entry says, but for its kind and when it was.
func (k *taking) says(body ledger.Body, called string) (out []message.Text) {
	add := func(is bool, format message.Text) {
		if is {
			out = append(out, format)
		}
	}
	name := func(id ledger.ID) string { return k.book.Name(id) }
	switch b := body.(type) {
	case *ledger.Season:
		add(true, SaidSeason(*b))
	case *ledger.Yard:
		add(true, message.Verbatim(b.Name))
		add(b.Registration != "", message.F("registration %s", b.Registration))
		if b.Latitude != nil && b.Longitude != nil {
			add(true, message.F("at %s, %s", message.Figure(*b.Latitude), message.Figure(*b.Longitude)))
		}
	case *ledger.Pull:
		add(true, message.F("from %s", name(b.YardID)))
		for _, s := range b.Supers {
			add(true, message.F("%s of the kind %s", saidSupers(s.Supers), name(s.SuperKindID)))
		}
		add(b.GrossG > 0, message.F("gross %s", kg(b.GrossG)))
		add(b.RoomID != ledger.ID{}, message.F("into %s", name(b.RoomID)))
	case *ledger.Run:
		add(true, message.Verbatim(b.Name))
		add(true, message.F("%s", saidFrames(b.FramesPerSide)))
	case *ledger.Movement:
		add(true, message.F("%s", kg(b.MassG)))
		add(true, message.F("from %s", name(b.From.ID)))
		add(true, message.F("into %s", name(b.To.ID)))
	case *ledger.RunEnd:
		add(true, message.F("wax %s", kg(b.WaxG)))
	case *ledger.Lot:
		add(true, message.Verbatim(b.Code))
		add(b.Product != "", message.Verbatim(b.Product))
		add(b.StoreID != ledger.ID{}, message.F("in %s", name(b.StoreID)))
	case *ledger.Fill:
		add(true, message.Verbatim(b.Container))
		add(true, message.F("of the kind %s", name(b.ContainerKindID)))
		add(true, message.F("of lot %s", name(b.LotID)))
		add(true, message.F("from %s", name(b.TankID)))
		add(true, message.F("gross %s, tare %s, net %s", kg(b.GrossG), kg(b.TareG), kg(b.NetG())))
	case *ledger.HiveCount:
		add(true, message.F("of %s", name(b.YardID)))
		add(b.Name != "", message.Verbatim(b.Name))
		add(true, message.F("%s", saidHives(b.Hives)))
	case *ledger.RunSupers:
		add(true, message.F("into %s", name(b.RunID)))
		add(true, message.F("%s of the kind %s", saidSupers(b.Supers), name(b.SuperKindID)))
	case *ledger.Dispatch:
		add(true, message.F("to %s", name(b.BuyerID)))
		add(true, message.F("%s", saidContainers(len(b.Containers))))
		add(b.Reference != "", message.Verbatim(b.Reference))
	case *ledger.Reading:
		out = k.saysReading(b)
	default:
		add(called != "", message.Verbatim(called))
	}
	return out
}

// saysReading puts a reading into words: where, by what, and each figure.
func (k *taking) saysReading(r *ledger.Reading) (out []message.Text) {
	out = append(out, message.F("of %s", k.book.Name(r.On.ID)))
	if r.Point != "" {
		out = append(out, message.Verbatim(string(r.Point)))
	}
	if m := r.Moisture; m != nil {
		scale := map[string]Field{ledger.ScaleMoisture: FieldMoisture, ledger.ScaleRefractiveIndex: FieldRefractive, ledger.ScaleBrix: FieldBrix}[m.Scale]
		out = append(out, message.F("%s %s", scale.text(), message.Figure(m.AsRead)))
		if m.SampleC != nil {
			out = append(out, message.F("%s %s", FieldSampleC.text(), message.Celsius(*m.SampleC)))
		}
	}
	for _, m := range r.Measured {
		what := Field(m.Quantity).text()
		if m.Quantity == ledger.OwnQuantity {
			what = message.Verbatim(m.Parameter)
		}
		said := message.F("%s %s", what, message.Figure(m.Value))
		if m.LessThan {
			said = message.F("%s less than %s", what, message.Figure(m.Value))
		}
		if m.Unit != "" {
			said = message.Join(said, message.Verbatim(m.Unit))
		}
		out = append(out, said)
	}
	for _, o := range r.Observed {
		out = append(out, message.F("%s: %s", message.Verbatim(o.What), message.Verbatim(o.Word)))
	}
	if r.InstrumentID != (ledger.ID{}) {
		out = append(out, message.F("measured with %s", k.book.Name(r.InstrumentID)))
	}
	return out
}

// SaidSeason is a season with its first and last day, in words.
func SaidSeason(s ledger.Season) message.Text {
	return message.F("season %s, from %s to %s", s.Name, message.Date(s.First), message.Date(s.Last))
}

// saidSupers, saidFrames, saidHives and saidContainers are counts in words, of one and of more.
func saidSupers(n int) message.Plural {
	return message.Plural{N: float64(n), One: "%s super", Other: "%s supers"}
}

func saidFrames(n int) message.Plural {
	return message.Plural{N: float64(n), One: "%s frame a side", Other: "%s frames a side"}
}

func saidHives(n int) message.Plural {
	return message.Plural{N: float64(n), One: "%s hive", Other: "%s hives"}
}

func saidContainers(n int) message.Plural {
	return message.Plural{N: float64(n), One: "%s container", Other: "%s containers"}
}

func kg(grams int64) message.Kg { return message.Kg(float64(grams) / 1000) }

// text is what a field is called in words.
func (f Field) text() message.Text { return message.F("column|" + f.Words()) }

// Words is what a beekeeper calls what a field holds, with its unit where it has one only.
func (f Field) Words() string {
	if words := fieldWords[f]; words != "" {
		return words
	}
	return strings.ReplaceAll(string(f), "_", " ")
}

// fieldWords are those of fields that are called otherwise than in the contract.
var fieldWords = map[Field]string{
	FieldMoisture: "moisture (%)", FieldBrix: "Brix", FieldHMF: "HMF (mg/kg)", FieldHMFMethod: "HMF method", FieldDiastase: "diastase (Gothe)",
	FieldColour: "colour (mm Pfund)", FieldConductivity: "conductivity (mS/cm)", FieldFreeAcidity: "free acidity (meq/kg)", FieldPH: "pH",
	FieldHumidity: "humidity (%)", FieldLatitude: "latitude", FieldLongitude: "longitude", FieldCountName: "name of the count",
	FieldSuperKind: "kind of super", FieldContainerKind: "kind of container",
}
