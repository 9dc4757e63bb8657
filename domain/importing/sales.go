package importing

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// sales gathers what was sold: the rows of one buyer, instant and reference become one
// dispatch.
type sales struct {
	order  []sold
	groups map[sold]*dispatched
	// in is the row of this sheet that a container was sold in.
	in map[ledger.ID]int
	// ofLot are the containers of lots that stand in the book, and gone how each left.
	ofLot map[ledger.ID][]ledger.ID
	gone  map[ledger.ID]*ledger.Entry
	// listed is how many containers the sheet named so far.
	listed int
	// rows are those that the containers of the dispatch at hand come from.
	rows []int
	// said are the containers of which the sheet says what the book has.
	said map[ledger.ID]bool
}

// sold is what rows of one dispatch have in common.
type sold struct {
	at        int64
	buyer     ledger.ID
	reference string
}

type dispatched struct {
	at         time.Time
	containers []ledger.ID
	rows       []int
	netG       int64
	notes      []string
	typed      map[string]string
}

// mostInOne is how many containers one dispatch may have.
const mostInOne = 2000

func (s *sales) lookUp(b *ledger.Book) {
	if s.groups != nil {
		return
	}
	s.groups, s.in, s.ofLot, s.gone = map[sold]*dispatched{}, map[ledger.ID]int{}, map[ledger.ID][]ledger.ID{}, map[ledger.ID]*ledger.Entry{}
	s.said = map[ledger.ID]bool{}
	b.InForceOf(ledger.KindFill, func(root ledger.ID, e *ledger.Entry) bool {
		lot := b.Root(e.Body.(*ledger.Fill).LotID)
		s.ofLot[lot] = append(s.ofLot[lot], root)
		return true
	})
	b.InForceOf(ledger.KindDispatch, func(_ ledger.ID, e *ledger.Entry) bool {
		for _, id := range e.Body.(*ledger.Dispatch).Containers {
			s.gone[b.Root(id)] = e
		}
		return true
	})
}

// sale reads what a buyer took on a day: a container, several, or a whole lot.
func (k *taking) sale() error {
	at, ok := k.when()
	if !ok {
		return nil
	}
	s := &k.sales
	s.lookUp(k.book)
	buyer, given, err := k.name(FieldBuyer, at)
	if err != nil {
		return err
	}
	k.needs(FieldBuyer, given)
	lot, hasLot, err := k.name(FieldLot, at)
	if err != nil {
		return err
	}
	count, net, err := k.soldAmount()
	if err != nil {
		return err
	}
	reference, note := k.word(FieldReference), k.remarked()
	if k.bad {
		return nil
	}
	row := soldRow{at: at, buyer: buyer, count: count, netG: net}
	var containers []ledger.ID
	switch text := k.word(FieldContainer); {
	case text != "":
		containers, err = k.soldContainers(text, at)
	case hasLot:
		containers = k.soldLot(row, lot)
	case !k.bad:
		k.problem(MissingField, k.columns[FieldContainer], message.F("The row names no container and no lot: fill one in, or leave the row out."))
	}
	if err != nil || k.bad {
		return err
	}
	if k.agrees(row, containers, lot, hasLot); k.bad {
		return nil
	}
	return k.sell(row, sold{at.UnixMicro(), buyer, reference}, containers, note)
}

// soldRow is what a row says of a sale beside its containers.
type soldRow struct {
	at    time.Time
	buyer ledger.ID
	// count and netG are nil where the row does not say them.
	count *int
	netG  *int64
}

func (k *taking) soldAmount() (count *int, netG *int64, err error) {
	if c := k.columns[FieldContainers]; c != nil {
		if n, given := k.count(c, k.text(FieldContainers)); given {
			count = &n
		}
	}
	if grams, given := k.mass(FieldNet, "net_kg", true); given {
		netG = &grams
	}
	return count, netG, nil
}

// apart are what may stand between the containers of a list.
var apart = strings.NewReplacer(";", ",", "&", ",", "+", ",", "\n", ",", " and ", ",", " y ", ",", " e ", ",")

// soldContainers are those that a cell names: one, a list, or a range from one to another.
func (k *taking) soldContainers(text string, at time.Time) (out []ledger.ID, err error) {
	c := k.columns[FieldContainer]
	first, last, isRange := k.rangeOf(text)
	if id, known := k.containerNamed(text); known {
		if _, said := k.choice(NounContainer, text); isRange && !said {
			k.problem(TwoValues, c, message.F("This is the container %s, or all from %s to %s: name all of them one by one, or say that it is the one%s.", message.Quoted(text), first.text, last.text, message.Option("names")))
			return nil, nil
		}
		return []ledger.ID{id}, nil
	}
	for item := range strings.SplitSeq(apart.Replace(text), ",") {
		if item = strings.TrimSpace(item); item == "" {
			continue
		}
		names := []string{item}
		if _, known := k.containerNamed(item); !known {
			if first, last, isRange = k.rangeOf(item); isRange {
				names = between(first, last)
			}
		}
		if k.sales.listed += len(names); k.sales.listed > mostSold {
			return nil, fault.New(fault.TooLarge, "The sheet names more than %s containers. Nothing was stored. Bring it in as parts.", mostSold)
		}
		for _, name := range names {
			id, known, err := k.thing(c, NounContainer, name, at)
			if err != nil {
				return nil, err
			}
			if known {
				out = append(out, id)
			}
		}
	}
	return out, nil
}

// containerNamed finds a container by its number, or by what was said of it.
func (k *taking) containerNamed(name string) (ledger.ID, bool) {
	if id, known := k.book.Names(ledger.KindFill, sameName(name)); known {
		return id, true
	}
	if choice, said := k.choice(NounContainer, name); said && choice.Is != "" {
		return k.book.Names(ledger.KindFill, sameName(choice.Is))
	}
	return ledger.ID{}, false
}

// numbered is a container's number that ends in figures.
type numbered struct {
	text, before string
	n, width     int
}

// through are the words between the two ends of a range, in English and Spanish.
var through = []string{" to ", " through ", " thru ", " a ", " al ", " hasta ", "–", "—", "-"}

// mostInRange is how many containers a range may have.
const mostInRange = 1000

// mostSold bounds the containers that one sheet names, and longestRange the letters of two
// numbers with a word between them.
const (
	mostSold     = 1_000_000
	longestRange = 100
)

// rangeOf reads a text as a range of containers. It is one where the outfit has both its
// ends, which are numbered alike.
func (k *taking) rangeOf(text string) (first, last numbered, is bool) {
	if len(text) > longestRange {
		return first, last, false
	}
	for _, word := range through {
		for from, rest := 0, text; ; {
			i := strings.Index(rest[from:], word)
			if i < 0 {
				break
			}
			a, b := strings.TrimSpace(rest[:from+i]), strings.TrimSpace(rest[from+i+len(word):])
			from += i + len(word)
			first, last = numberedOf(a), numberedOf(b)
			if last.before == "" {
				last.before, last.text = first.before, first.before+b
			}
			_, hasFirst := k.containerNamed(first.text)
			_, hasLast := k.containerNamed(last.text)
			if hasFirst && hasLast && first.width > 0 && last.width > 0 && sameName(first.before) == sameName(last.before) && first.n < last.n && last.n-first.n < mostInRange {
				return first, last, true
			}
		}
	}
	return first, last, false
}

func numberedOf(text string) numbered {
	digits := len(text)
	for digits > 0 && text[digits-1] >= '0' && text[digits-1] <= '9' {
		digits--
	}
	const longestNumber = 9
	out := numbered{text: text, before: text[:digits], width: len(text) - digits}
	if out.width > longestNumber {
		return numbered{text: text, before: text}
	}
	for _, d := range text[digits:] {
		out.n = 10*out.n + int(d-'0')
	}
	return out
}

// between names the containers from one to another, with the noughts that the first has.
func between(first, last numbered) (out []string) {
	for n := first.n; n <= last.n; n++ {
		out = append(out, fmt.Sprintf("%s%0*d", first.before, first.width, n))
	}
	return out
}

// soldLot are the containers of a lot, where it is clear that all of them were sold. Which
// part of a lot a buyer took, its containers say.
func (k *taking) soldLot(row soldRow, lot ledger.ID) []ledger.ID {
	var here, went []ledger.ID
	for _, id := range k.sales.ofLot[lot] {
		h, _ := k.book.State().Holder(id)
		switch by := k.sales.gone[id]; {
		case by != nil && k.sameSale(row, by):
			went = append(went, id)
		case by == nil && h.Gone == nil && k.sales.in[id] == 0:
			here = append(here, id)
		}
	}
	c := k.columns[FieldLot]
	switch {
	case len(went) > 0 && k.isAll(row, went):
		return went // which the book has
	case len(here) > 0 && (row.count != nil || row.netG != nil) && k.isAll(row, here):
		return here
	case len(here) == 0:
		k.problem(MissingField, c, message.F("The book has no container of lot %s that is still here. Bring the containers in first, or leave the row out.", k.book.Name(lot)))
	default:
		k.problem(TwoValues, c, message.F("Lot %s has %s here, of %s in all. Say which of them were sold: name them%s, or, if it was all, give their number or their net.",
			k.book.Name(lot), saidContainers(len(here)), message.Kg(float64(k.netOf(here))/1000), message.Option("container")))
	}
	return nil
}

// isAll reports whether the containers are as many, and weigh as much, as a row says.
func (k *taking) isAll(row soldRow, containers []ledger.ID) bool {
	return (row.count == nil || *row.count == len(containers)) && (row.netG == nil || nearAll(*row.netG, k.netOf(containers), len(containers)))
}

// nearAll allows for weights that were rounded, container by container.
func nearAll(a, b int64, containers int) bool {
	const slack = 500
	return a-b <= slack*int64(containers) && b-a <= slack*int64(containers)
}

func (k *taking) netOf(containers []ledger.ID) (grams int64) {
	for _, id := range containers {
		if f := ledger.Named[ledger.Fill](k.book, id); f != nil {
			grams += f.NetG()
		}
	}
	return grams
}

// sameSale reports whether a dispatch of the book is to the buyer of a row, on its day.
func (k *taking) sameSale(row soldRow, by *ledger.Entry) bool {
	return k.book.Root(by.Body.(*ledger.Dispatch).BuyerID) == k.book.Root(row.buyer) && k.dayOf(by.OccurredAt) == k.dayOf(row.at)
}

// agrees holds what a row says against the containers that it names.
func (k *taking) agrees(row soldRow, containers []ledger.ID, lot ledger.ID, hasLot bool) {
	for i, id := range containers {
		f, e := ledger.Named[ledger.Fill](k.book, id), k.book.InForce(id)
		switch {
		case f == nil || e == nil:
		case slices.Contains(containers[:i], id):
			k.problem(TwoValues, k.columns[FieldContainer], message.F("Container %s stands here twice: it can be sold once.", f.Container))
		case hasLot && k.book.Root(f.LotID) != k.book.Root(lot):
			k.problem(TwoValues, k.columns[FieldLot], message.F("Container %s is of lot %s, and the row says lot %s: put right which one is wrong.", f.Container, k.book.Name(f.LotID), k.book.Name(lot)))
		case k.dayOf(e.OccurredAt) > k.dayOf(row.at):
			k.problem(TwoValues, k.columns[FieldDate], message.F("Container %s was filled on %s, after this day: put right which one is wrong.", f.Container, message.Day(e.OccurredAt.In(k.book.Location()))))
		default:
			continue
		}
		return
	}
	switch net := k.netOf(containers); {
	case row.count != nil && *row.count != len(containers):
		k.problem(TwoValues, k.columns[FieldContainers], message.F("The row names %s, and says that it was %s: put right which one is wrong.", saidContainers(len(containers)), *row.count))
	case row.netG != nil && !nearAll(*row.netG, net, len(containers)):
		k.problem(TwoValues, k.columns[FieldNet], message.F("The book has %s in these containers, and the row says %s: put right which one is wrong, or empty the cell.", message.Kg(float64(net)/1000), message.Kg(float64(*row.netG)/1000)))
	}
}

// sell adds the containers of a row to their dispatch, but for those that the book has in
// the same sale.
func (k *taking) sell(row soldRow, of sold, containers []ledger.ID, note string) error {
	s := &k.sales
	var fresh []ledger.ID
	for _, id := range containers {
		by := s.gone[id]
		switch name := k.book.Name(id); {
		case by != nil && k.sameSale(row, by):
			s.said[id] = true
			if k.soldOtherwise(of, by, note); k.bad {
				return nil
			}
			continue
		case by != nil:
			k.problem(TwoValues, k.columns[FieldContainer], message.F("Container %s left already, for %s on %s (entry %s). Leave it out here, or correct that entry.",
				name, k.book.Name(by.Body.(*ledger.Dispatch).BuyerID), message.Day(by.OccurredAt.In(k.book.Location())), by.Number))
			return nil
		case s.in[id] != 0:
			k.problem(TwoValues, k.columns[FieldContainer], message.F("Container %s was sold in row %s already: it can be sold once.", name, s.in[id]))
			return nil
		}
		fresh = append(fresh, id)
	}
	if len(fresh) == 0 {
		return k.done(nil)
	}
	g := s.groups[of]
	if g == nil {
		g = &dispatched{at: row.at, typed: k.typed}
		s.groups[of], s.order = g, append(s.order, of)
	}
	for _, id := range fresh {
		s.in[id] = k.row
		g.containers, g.rows = append(g.containers, id), append(g.rows, k.row)
	}
	g.netG += k.netOf(fresh)
	if note != "" && !slices.Contains(g.notes, note) {
		g.notes = append(g.notes, note)
	}
	k.fresh = true
	return k.done(nil)
}

// soldOtherwise asks about a row of a sale that the book has with another reference, or without
// what the row notes: that would be lost.
func (k *taking) soldOtherwise(of sold, by *ledger.Entry, note string) {
	d := by.Body.(*ledger.Dispatch)
	differs := Field("")
	switch {
	case of.reference != "" && sameName(of.reference) != sameName(d.Reference):
		differs = FieldReference
	case note != "" && !strings.Contains(d.Note, note):
		differs = FieldNote
	default:
		return
	}
	k.problem(TwoValues, k.columns[differs], message.F("The book has this sale, entry %s, with something else in this place. What the book has is corrected there: leave this row out, or empty the cell.", by.Number))
}

// soldNoLonger asks about a dispatch to whose buyer and day the sheet adds containers, where an
// earlier sheet named others that this one no longer says: those would stay sold beside them.
func (k *taking) soldNoLonger(of sold, g *dispatched) {
	if len(k.sales.said) == 0 {
		return
	}
	row, unsaid := soldRow{at: g.at, buyer: of.buyer}, ""
	var sale *ledger.Entry
	for id, by := range k.sales.gone {
		if by.Via != ledger.ViaImport || k.sales.said[id] || !k.sameSale(row, by) {
			continue
		}
		if name := k.book.Name(id); sale == nil || name < unsaid {
			unsaid, sale = name, by
		}
	}
	k.row, k.cells = g.rows[0], nil
	if sale != nil && k.answered(k.Mapping.Alike) != Another {
		k.problem(LikeRecorded, nil, message.F("An earlier sheet had container %s in this sale too (entry %s), and this one no longer says it. If it did not leave, correct that entry first; if both left, say so%s.",
			unsaid, sale.Number, message.Option("alike_rows, or rows")), string(Another))
	}
}

// settleSales makes dispatches of what was sold. What left before the book began says so and
// by which note or sheet that is known, and needs no release; the book judges what left since.
func (k *taking) settleSales() error {
	for _, of := range k.sales.order {
		g := k.sales.groups[of]
		k.soldNoLonger(of, g)
		before := k.book.BeforeTheBook(g.at, k.Now).IsEmpty()
		for from := 0; from < len(g.containers); from += mostInOne {
			to := min(from+mostInOne, len(g.containers))
			k.row, k.cells, k.bad, k.typed, k.sales.rows = g.rows[from], nil, false, g.typed, g.rows[from:to]
			d := &ledger.Dispatch{BuyerID: of.buyer, Containers: g.containers[from:to:to], BeforeBook: before, Reference: of.reference, Note: strings.Join(g.notes, "; ")}
			if before && strings.TrimSpace(d.Note) == "" {
				d.Note = cmp.Or(k.File, k.SHA256, string(k.Mapping.Of))
			}
			if utf8.RuneCountInString(d.Note) > longest[FieldNote] {
				k.problem(OutOfRange, k.columns[FieldNote], message.F("The note and the comments on the row's cells are longer than the %s letters that the book keeps: shorten them.", longest[FieldNote]))
				continue
			}
			if _, err := k.put(g.at, d, "", map[string]int64{"net_g": k.netOf(d.Containers), "containers": int64(to - from)}); err != nil {
				return err
			}
			if k.emit != nil && k.all > 0 {
				return nil
			}
		}
	}
	k.sales.rows = nil
	return nil
}

// rowAt is the row that a part of an entry comes from.
func (k *taking) rowAt(pointer string) int {
	var i int
	if _, err := fmt.Sscanf(pointer, "/containers/%d", &i); err == nil && i < len(k.sales.rows) {
		return k.sales.rows[i]
	}
	return k.row
}
