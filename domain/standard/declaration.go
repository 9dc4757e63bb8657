package standard

import (
	_ "embed"
	"slices"
	"sort"

	"pullbook/domain/message"
)

// Declaration is what the outfit declares about a lot: attribute to values, such
// as {"kind": ["calluna_vulgaris"], "region": ["tropical"]}. Exceptions of a
// standard hold only for what is declared; an attribute left out gets the
// general line. The attributes and values are those of [Attributes].
type Declaration map[string][]string

// Attribute is something a lot can declare and a condition can ask for.
type Attribute struct {
	ID     string           `json:"id"`
	Name   string           `json:"name"`
	Many   bool             `json:"many"` // whether a lot may declare several values
	Values []AttributeValue `json:"values"`
}

// AttributeValue is one declared value; Is names the wider values it belongs to,
// so that a lot of red gum counts as eucalyptus.
type AttributeValue struct {
	ID   string   `json:"id"`
	Name string   `json:"name"`
	Is   []string `json:"is,omitempty"`
}

//go:embed data/attributes.json
var attributesJSON []byte

var (
	attributeList = mustDecode[[]Attribute](attributesJSON)
	attributeByID = indexAttributes(attributeList)
)

// attributeIndex answers quickly which wider values a value belongs to.
type attributeIndex struct {
	*Attribute
	widened map[string][]string // a value and everything it belongs to
}

// Attributes lists what a lot may declare.
func Attributes() []Attribute { return slices.Clone(attributeList) }

func indexAttributes(list []Attribute) map[string]attributeIndex {
	byID := make(map[string]attributeIndex, len(list))
	for i := range list {
		parents := map[string][]string{}
		for _, v := range list[i].Values {
			parents[v.ID] = v.Is
		}
		widened := map[string][]string{}
		for _, v := range list[i].Values {
			widened[v.ID] = widen(v.ID, parents)
		}
		byID[list[i].ID] = attributeIndex{&list[i], widened}
	}
	return byID
}

func widen(value string, parents map[string][]string) []string {
	all := []string{value}
	for i := 0; i < len(all); i++ {
		for _, parent := range parents[all[i]] {
			if !slices.Contains(all, parent) {
				all = append(all, parent)
			}
		}
	}
	return all
}

// facts holds, for each attribute, every declared value in its widened form.
type facts map[string][][]string

func (d Declaration) facts(p *problems) facts {
	known := facts{}
	for attribute, values := range d {
		index, ok := attributeByID[attribute]
		field := "declaration/" + attribute
		if !ok {
			p.add(field, attribute, "a lot can declare %s", quotedList(attributeNames()))
			continue
		}
		if !index.Many && len(values) > 1 {
			p.add(field, quotedList(values), "only one value can be declared here")
		}
		for _, value := range values {
			widened, ok := index.widened[value]
			if !ok {
				p.add(field, value, "no such value; one of %s", quotedList(index.valueIDs()))
				continue
			}
			known[attribute] = append(known[attribute], widened)
		}
	}
	return known
}

func attributeNames() []string {
	names := make([]string, 0, len(attributeByID))
	for name := range attributeByID {
		names = append(names, name)
	}
	sort.Strings(names)
	return names
}

func (a *Attribute) valueIDs() []string {
	ids := make([]string, len(a.Values))
	for i, v := range a.Values {
		ids[i] = v.ID
	}
	return ids
}

func (a *Attribute) said() message.Text { return message.F("attribute|" + a.Name) }

// sayValue is a declared value, by its id, in a sentence.
func (a *Attribute) sayValue(id string) message.Text {
	for _, v := range a.Values {
		if v.ID == id {
			return message.F("declared|" + v.Name)
		}
	}
	return message.F("%s", message.Quoted(id))
}

// Counts reports whether honey that declares some values of an attribute is wholly of one of them
// (all that it declares belongs to it), and whether it is of it in part or wholly. Red gum is
// wholly eucalyptus; red gum and clover are so in part.
func Counts(attribute string, declared []string, value string) (wholly, partly bool) {
	index := attributeByID[attribute]
	wholly = len(declared) > 0
	for _, d := range declared {
		if slices.Contains(index.widened[d], value) {
			partly = true
		} else {
			wholly = false
		}
	}
	return wholly, partly
}
