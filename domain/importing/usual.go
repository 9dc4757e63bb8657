package importing

import (
	"slices"

	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/tables"
)

// mostUsual is above what any house has of something in one yard or brings in one pull; common
// practice. A column of something else was taken for it, or a figure slipped.
var mostUsual = map[Field]int{FieldSupers: 2000, FieldHivesWorked: 5000, FieldHives: 5000}

// tooMany asks about a count that no house has.
func (k *taking) tooMany(c *column, n int) bool {
	most := mostUsual[c.Field]
	if most == 0 || n <= most {
		return false
	}
	k.problem(OutOfRange, c, message.F("No house has more than %s of these in one place at once: type what was meant, or part the row.", most))
	return true
}

// framesPerSide asks about more frames than a side takes, common practice, where neither the
// heading nor whoever brings the sheet in says that they are of one side.
func (k *taking) framesPerSide(c *column, n int) {
	switch {
	case n < 1 || n > 200:
		k.problem(OutOfRange, c, message.F("An extractor takes 1 to 200 frames a side."))
	case n > usualFramesPerSide && c.index >= 0 && !slices.ContainsFunc(wordsOf(c.Heading), func(word string) bool { return word == "side" || word == "lado" }):
		k.problemOnce(OutOfRange, c, message.F("A side of an extractor takes %s frames as a rule, and this is more: are they of both sides, or of the whole day? Type how many one side takes, leave the column unread, or write “per side” into its heading if one takes so many.", usualFramesPerSide))
	}
}

// heaviestSuper is in grams, and more than a full one of any kind weighs; common practice.
const heaviestSuper = 100_000

// tooHeavy asks about a weight that nothing of its kind has, as where a ton stands behind
// kilograms. What was sold or pumped may be more than one load.
func (k *taking) tooHeavy(f Field, grams int64) bool {
	if grams <= heaviestLoad || k.Mapping.Of == Sales || k.Mapping.Of == Transfers {
		return false
	}
	k.problem(OutOfRange, k.columns[f], message.F("This is %s, more than a loaded truck: is it in the right unit?", message.Kg(float64(grams)/1000)))
	return true
}

// heavySupers asks about a pull that tonnes make so heavy that each super would weigh more than
// any does. Of kilograms and pounds the book says what is odd.
func (k *taking) heavySupers(p *ledger.Pull) {
	supers := 0
	for _, s := range p.Supers {
		supers += s.Supers
	}
	if k.bad || supers == 0 || p.GrossG <= heaviestSuper*int64(supers) {
		return
	}
	c := k.columns[FieldGross]
	x, err := tables.ParseFigure(k.text(FieldGross), c.mark)
	if err != nil || unitWords[x.Unit] != Tonnes && (x.Unit != "" || c.Unit != Tonnes) {
		return
	}
	k.problem(OutOfRange, c, message.F("This is %s for each super, and no super weighs that: is it in the right unit?", message.Kg(float64(p.GrossG)/float64(supers)/1000)))
}
