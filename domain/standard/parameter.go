package standard

import (
	"bytes"
	_ "embed"
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"pullbook/domain/message"
)

// Unit is one way of stating a parameter. Factor turns a figure in this unit
// into the parameter's first unit.
type Unit struct {
	Name   string  `json:"unit"`
	Factor Decimal `json:"factor"`

	same bool // as the first unit, so that nothing has to be converted
}

// Parameter is something that can be measured or looked at on honey, and the
// only units or words in which it may be stated.
type Parameter struct {
	ID   string `json:"id"`
	Name string `json:"name"`
	// Measures groups parameters that state one property on different scales.
	Measures string `json:"measures,omitempty"`
	// Units is empty for a parameter that is observed and answered by a word.
	Units []Unit   `json:"units,omitempty"`
	Words []string `json:"words,omitempty"`
	// Minimum and Maximum bound what is physically possible, in the first unit.
	Minimum *Decimal `json:"minimum,omitempty"`
	Maximum *Decimal `json:"maximum,omitempty"`
	// MethodRequired is set where methods disagree so much that a figure
	// without its method cannot be judged.
	MethodRequired bool `json:"method_required,omitempty"`
	// ComplementOf names the parameter that makes 100 % with this one, so that
	// the two are one stored figure.
	ComplementOf string `json:"complement_of,omitempty"`
	Note         string `json:"note,omitempty"`

	own bool // named by a rule set of the outfit
}

//go:embed data/parameters.json
var parametersJSON []byte

var (
	parameterList = mustDecode[[]Parameter](parametersJSON)
	parameterByID = indexParameters(parameterList)
)

// Parameters lists every parameter that a rule set may limit.
func Parameters() []Parameter { return slices.Clone(parameterList) }

// Units lists every unit in which a parameter may be stated, once.
func Units() []string {
	var out []string
	for _, p := range parameterList {
		for _, u := range p.Units {
			if !slices.Contains(out, u.Name) {
				out = append(out, u.Name)
			}
		}
	}
	return out
}

// Words lists every word by which an observation may be answered, once.
func Words() []string {
	var out []string
	for _, p := range parameterList {
		for _, w := range p.Words {
			if !slices.Contains(out, w) {
				out = append(out, w)
			}
		}
	}
	return out
}

func indexParameters(list []Parameter) map[string]*Parameter {
	byID := make(map[string]*Parameter, len(list))
	for i := range list {
		byID[list[i].ID] = &list[i]
		for j := range list[i].Units {
			unit := &list[i].Units[j]
			unit.same = unit.Factor.Cmp(decimalOne) == 0
		}
	}
	return byID
}

// IsObservation tells whether the parameter is answered by a word rather than a figure.
func (p *Parameter) IsObservation() bool { return len(p.Words) > 0 }

func (p *Parameter) unit(name string) (Unit, bool) {
	for _, u := range p.Units {
		if u.Name == name {
			return u, true
		}
	}
	return Unit{}, false
}

func (p *Parameter) unitNames() []string {
	names := make([]string, len(p.Units))
	for i, u := range p.Units {
		names[i] = u.Name
	}
	return names
}

// unitAdvice says what would do in place of a unit that does not fit, naming the
// sister scale when the unit belongs to one.
func (p *Parameter) unitAdvice(got string) message.Text {
	for i := range parameterList {
		sister := &parameterList[i]
		if p.Measures == "" || sister.Measures != p.Measures || sister == p {
			continue
		}
		if _, ok := sister.unit(got); ok {
			return message.F("that is the scale of %s; %s is stated in %s", sister.said(), p.said(), quotedList(p.unitNames()))
		}
	}
	return message.F("%s is stated in %s", p.said(), quotedList(p.unitNames()))
}

// mustDecode reads embedded data. The data ships inside the program, so a
// mistake in it is a broken build and stops the program at once.
func mustDecode[T any](data []byte) T {
	var value T
	if err := decodeStrict(data, &value); err != nil {
		panic(fmt.Sprintf("standard: embedded data: %v", err))
	}
	return value
}

func decodeStrict(data []byte, into any) error {
	decoder := json.NewDecoder(bytes.NewReader(data))
	decoder.DisallowUnknownFields()
	if err := decoder.Decode(into); err != nil {
		return err
	}
	if decoder.More() {
		return fmt.Errorf("there is more text after the end of the JSON value")
	}
	return nil
}

// said is the parameter in a sentence: as the trade writes it, or as the outfit calls its own.
func (p *Parameter) said() message.Text {
	if p.own {
		return message.Verbatim(p.Name)
	}
	return SayParameter(p.ID)
}

// tradeNames are parameters that laboratories write otherwise than by the words of the id.
var tradeNames = map[string]string{
	"2_methoxyacetophenone":      "2'-methoxyacetophenone",
	"2_methoxybenzoic_acid":      "2-methoxybenzoic acid",
	"3_phenyllactic_acid":        "3-phenyllactic acid",
	"4_hydroxyphenyllactic_acid": "4-hydroxyphenyllactic acid",
	"c4_sugar":                   "C4 sugar",
	"colour_pfund":               "colour Pfund",
	"delta13C_difference":        "δ13C difference",
	"fructose_glucose_ratio":     "ratio of fructose to glucose",
	"manuka_dna":                 "manuka DNA",
	"specific_gravity_27C":       "specific gravity at 27 °C",
}

// SayParameter is a parameter, by its id, in a sentence.
func SayParameter(id string) message.Text {
	if id == "hmf" {
		return message.F("HMF")
	}
	if name, otherwise := tradeNames[id]; otherwise {
		return message.F("parameter|" + name)
	}
	return message.F("parameter|" + strings.ReplaceAll(id, "_", " "))
}
