package pages

import (
	"slices"
	"strconv"
	"strings"

	"pullbook/api/locale"
	"pullbook/api/pages/certificate"
	"pullbook/api/pages/form"
	"pullbook/domain/message"
	"pullbook/domain/standard"
)

// limitsView asks for a buyer's limits.
type limitsView struct {
	ID, From, Action, Back, Title string
	Correcting                    bool
	// Full is where everything that a rule set can say is asked for.
	Full string
	refusal
	// Own and Published are what the form may start from.
	Own, Published []choice
	// Head are the buyer, the name and the contract; NoBuyer says that there is nobody yet.
	Head    []*form.Field
	NoBuyer bool
	Limits  []*form.Field
	// Some are lines of the start about the same parameters that hold for some honeys alone.
	Some  []lineTaken
	Price []*form.Field
	Mass  string
	Steps []stepAsked
	// Plain is what a drum brings without a step; empty where no price can be worked out.
	Plain string
	// Rare is folded away; RareWrong opens it.
	Rare      []*form.Field
	Others    []lineTaken
	RareWrong bool
	Reason    *form.Field
}

// lineTaken is a line of the start that may go along.
type lineTaken struct {
	Value string
	Says  string
	Taken bool
}

// stepAsked is a line of the table of steps.
type stepAsked struct {
	Row                       int
	What                      []choice
	Above, UpTo, Percent, Per string
	// Example is what it comes to, and Error what is wrong with it.
	Example, Error string
}

// limitsFacts are what a form of limits offers, taken from a book.
type limitsFacts struct {
	buyers, own []choice
	published   []*standard.RuleSet
	// currency is that of the latest rule set with a price; empty where none has one.
	currency string
	// title is what the rule set is called that is changed.
	title message.Text
}

// view shows the form with what was typed.
func (s *sentLimits) view(facts limitsFacts) *limitsView {
	v := &limitsView{ID: s.typed.Get("id"), From: s.start.from, Correcting: s.correcting, Mass: s.Mass, Full: "/entries/new/rule_set", NoBuyer: len(facts.buyers) == 0}
	v.Title = s.Say("A buyer's limits")
	if s.correcting {
		v.Title = s.Say("Correct: %s", facts.title)
	}
	v.Own = marked(facts.own, s.start.from)
	for _, set := range facts.published {
		v.Published = append(v.Published, choice{set.ID, certificate.NameOfSetEdition(s.Voice, set.Title, set.Edition, set.Version).String(), set.ID == s.start.from})
	}
	v.Head = []*form.Field{
		s.field("/buyer_id", s.Say("Buyer"), "choice"),
		s.field("/name", s.Say("What you call these limits"), "text"),
		s.field("/citation", s.Say("The contract, order or letter that says so"), "text"),
	}
	v.Head[1].Required, v.Head[2].Required = true, true
	for _, b := range facts.buyers {
		v.Head[0].Options = append(v.Head[0].Options, form.Option{Value: b.Value, Label: b.Name, Chosen: b.Value == s.one("/buyer_id")})
	}
	for _, d := range plainLimits {
		v.Limits = append(v.Limits, s.limitFields(d)...)
	}
	v.Some = s.lines(true)
	var steps map[int]string
	v.Plain, steps = s.examples()
	v.Price = []*form.Field{
		s.field(priceField, s.Say("Price"), "number"),
		s.field(currencyField, s.Say("Currency, by its three letters"), "text"),
	}
	v.Price[0].Unit = s.Say("for each %s", s.Mass)
	for row := range max(fewestSteps, s.rows()+1) {
		v.Steps = append(v.Steps, s.stepAsked(row, steps[row]))
	}
	s.rare(v)
	v.Reason = s.field("/reason", s.Say("Why it is corrected"), "text")
	v.Reason.Required = true
	return v
}

func marked(choices []choice, chosen string) []choice {
	out := slices.Clone(choices)
	for i := range out {
		out[i].Chosen = out[i].Value == chosen
	}
	return out
}

// field is one question, with what was typed.
func (s *sentLimits) field(name, label, control string) *form.Field {
	return &form.Field{Name: name, Label: label, Control: control, Value: s.typed.Get(name), Error: s.wrong[name]}
}

func (s *sentLimits) limitFields(d plainLimit) (out []*form.Field) {
	unit := d.unit
	if i := s.start.plain(d); i >= 0 {
		unit = s.start.set.Limits[i].Unit
	}
	parameter := message.Capital(standard.SayParameter(d.parameter))
	if d.least != "" {
		out = append(out, s.field(d.least, s.Say("%s at least", parameter), "number"))
	}
	if d.most != "" {
		out = append(out, s.field(d.most, s.Say("%s at most", parameter), "number"))
	}
	for _, f := range out {
		f.Unit = standard.SayUnit(unit).In(s)
	}
	return out
}

// lines are those of the start that no field shows: about what is asked for in fields, or about
// something else.
func (s *sentLimits) lines(asked bool) (out []lineTaken) {
	if s.start.set == nil {
		return nil
	}
	for i := range s.start.set.Limits {
		l := &s.start.set.Limits[i]
		about := slices.ContainsFunc(plainLimits, func(d plainLimit) bool { return d.parameter == l.Parameter })
		if s.start.isPlain(i) || about != asked {
			continue
		}
		says := s.Say("%s: %s", l.SaidParameter(), l.Said())
		if l.When != nil {
			says = s.Say("%s: %s, when %s", l.SaidParameter(), l.Said(), l.When.Said())
		}
		out = append(out, lineTaken{strconv.Itoa(i), says, slices.Contains(s.typed["keep"], strconv.Itoa(i))})
	}
	return out
}

func (s *sentLimits) stepAsked(row int, example string) stepAsked {
	out := stepAsked{
		Row: row + 1, Above: s.typed.Get(stepField("above", row)), UpTo: s.typed.Get(stepField("up_to", row)), Percent: s.typed.Get(stepField("percent", row)), Per: s.typed.Get(stepField("per", row)),
		Example: example,
	}
	chosen := s.stepOn(row)
	known := false
	for _, u := range stepUnits {
		known = known || u.parameter == chosen
		out.What = append(out.What, choice{u.parameter, s.Say("%s, %s", standard.SayParameter(u.parameter), standard.SayUnit(u.unit)), u.parameter == chosen})
	}
	if !known {
		out.What = append(out.What, choice{chosen, standard.SayParameter(chosen).In(s), true})
	}
	var wrong []string
	for _, field := range append([]string{"step"}, stepFields...) {
		if said := s.wrong[stepField(field, row)]; said != "" {
			wrong = append(wrong, said)
		}
	}
	out.Error = strings.Join(wrong, " ")
	return out
}

// rare is what few contracts say.
func (s *sentLimits) rare(v *limitsView) {
	v.Rare = []*form.Field{
		s.field("/in_force_from", s.Say("First day on which they hold"), "date"),
		s.field("/in_force_to", s.Say("Last day on which they hold"), "date"),
		s.field("/measured_within_days", s.Say("How many days old a result may be"), "number"),
	}
	for _, d := range plainLimits {
		v.Rare = append(v.Rare, s.field("clause "+d.parameter, s.Say("Clause about %s", standard.SayParameter(d.parameter)), "text"))
	}
	v.Rare = append(v.Rare, s.field("/note", s.Say("Note"), "area"))
	v.Others = s.lines(false)
	for _, f := range v.Rare {
		v.RareWrong = v.RareWrong || f.Error != ""
	}
}

// typedOf writes a start as it would be typed. What the form has of the buyer stays.
func (s *sentLimits) typedOf() {
	for _, d := range plainLimits {
		i := s.start.plain(d)
		var least, most, clause string
		if i >= 0 {
			least, most, _ = d.ends(&s.start.set.Limits[i])
			clause = s.start.set.Limits[i].Clause
		}
		for name, figure := range map[string]string{d.least: least, d.most: most} {
			if name != "" {
				s.typed.Set(name, s.figureTyped(figure))
			}
		}
		if s.correcting {
			s.typed.Set("clause "+d.parameter, clause)
		}
	}
	s.typed.Del("keep")
	if s.start.set != nil {
		for i := range s.start.set.Limits {
			if !s.lenient(i) {
				s.typed.Add("keep", strconv.Itoa(i))
			}
		}
	}
	if days, ok := s.start.value["measured_within_days"].(float64); ok {
		s.typed.Set("/measured_within_days", s.Typed(days, 0))
	}
	if s.correcting {
		for _, name := range []string{"name", "buyer_id", "citation", "in_force_from", "in_force_to", "note"} {
			text, _ := s.start.value[name].(string)
			s.typed.Set("/"+name, text)
		}
	}
	s.typedPrice()
}

// lenient reports whether a line of a published text says for some honeys what a field says for
// all. What a buyer asks for holds for all, unless somebody ticks the line.
func (s *sentLimits) lenient(line int) bool {
	return !s.start.set.Own() && !s.start.isPlain(line) && slices.ContainsFunc(plainLimits, func(d plainLimit) bool {
		return d.parameter == s.start.set.Limits[line].Parameter && s.start.plain(d) >= 0
	})
}

// figureTyped is decimal text of the contract as a reader types it.
func (s *sentLimits) figureTyped(figure any) string {
	text, _ := figure.(string)
	return strings.Replace(text, ".", s.DecimalMark(), 1)
}

func newSentLimits(f locale.Voice, start *limitsStart, typed map[string][]string, correcting bool) *sentLimits {
	return &sentLimits{Voice: f, typed: typed, start: start, correcting: correcting, wrong: map[string]string{}, lineOf: map[int]plainLimit{}}
}
