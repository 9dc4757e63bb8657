package standard

import (
	"fmt"
	"slices"
	"sort"
	"strings"

	"pullbook/domain/message"
)

// A rule set is checked for overlaps by trying every lot that its conditions can
// tell apart. Values that no condition distinguishes share one representative,
// so that the space stays small: eight plants named in one list count as one.

// maxSituations bounds the search; a published standard needs a few hundred.
const maxSituations = 1 << 16

// situation is one imagined lot.
type situation struct {
	attributes map[string][][]string
	results    map[string]Decimal // in the first unit of each parameter
}

func (s situation) declared(attribute string) [][]string { return s.attributes[attribute] }

func (s situation) result(test *ResultTest) truth {
	parameter := parameterByID[test.Parameter]
	unit, _ := parameter.unit(test.Unit)
	return truthOf(test.passes(s.results[test.Parameter].over(unit.Factor), 0))
}

// situations lists every lot the given conditions can tell apart.
func situations(conditions []*Condition) ([]situation, error) {
	leaves := leavesOf(conditions)
	all := []situation{{}}
	for _, attribute := range leaves.attributes() {
		all = crossAttribute(all, attribute, attributeChoices(attribute, leaves.lists[attribute]))
		if len(all) > maxSituations {
			return nil, message.Errorf("the conditions tell apart more than %s kinds of lot; write fewer or wider conditions", maxSituations)
		}
	}
	for _, parameter := range leaves.parameters() {
		all = crossResult(all, parameter, valuesAround(leaves.thresholds[parameter]))
		if len(all) > maxSituations {
			return nil, message.Errorf("the conditions tell apart more than %s kinds of lot; write fewer or wider conditions", maxSituations)
		}
	}
	return all, nil
}

// conditionLeaves are the questions that the conditions ask.
type conditionLeaves struct {
	lists      map[string][][]string // attribute to the value lists asked for
	thresholds map[string][]Decimal  // parameter to figures, in its first unit
}

func leavesOf(conditions []*Condition) conditionLeaves {
	leaves := conditionLeaves{map[string][][]string{}, map[string][]Decimal{}}
	for _, c := range conditions {
		leaves.gather(c)
	}
	return leaves
}

func (l conditionLeaves) gather(c *Condition) {
	if c == nil {
		return
	}
	for i := range c.All {
		l.gather(&c.All[i])
	}
	for i := range c.Any {
		l.gather(&c.Any[i])
	}
	l.gather(c.Not)
	if c.Attribute != "" {
		l.lists[c.Attribute] = append(l.lists[c.Attribute], slices.Concat(c.Includes, c.Only))
	}
	if t := c.Result; t != nil {
		unit, _ := parameterByID[t.Parameter].unit(t.Unit)
		l.thresholds[t.Parameter] = append(l.thresholds[t.Parameter], t.Limit.Mul(unit.Factor))
	}
}

func (l conditionLeaves) attributes() []string { return sortedKeys(l.lists) }
func (l conditionLeaves) parameters() []string { return sortedKeys(l.thresholds) }

func sortedKeys[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	sort.Strings(keys)
	return keys
}

// attributeChoices lists the declarations of one attribute that differ to the
// lists asked for: nothing, and each combination of representatives (or each
// single one, where a lot can declare one value only).
func attributeChoices(attribute string, lists [][]string) [][][]string {
	index := attributeByID[attribute]
	var representatives [][]string
	seen := map[string]bool{}
	for _, value := range index.valueIDs() {
		var signature strings.Builder
		for _, list := range lists {
			fmt.Fprint(&signature, overlaps(index.widened[value], list), " ")
		}
		if !seen[signature.String()] {
			seen[signature.String()] = true
			representatives = append(representatives, index.widened[value])
		}
	}
	choices := [][][]string{nil}
	for _, representative := range representatives {
		if !index.Many {
			choices = append(choices, [][]string{representative})
			continue
		}
		for _, smaller := range slices.Clone(choices) {
			choices = append(choices, append(slices.Clone(smaller), representative))
		}
	}
	return choices
}

// valuesAround gives a value at, between and beyond each figure.
func valuesAround(thresholds []Decimal) []Decimal {
	slices.SortFunc(thresholds, Decimal.Cmp)
	thresholds = slices.CompactFunc(thresholds, func(a, b Decimal) bool { return a.Cmp(b) == 0 })
	one, two := MustDecimal("1"), MustDecimal("2")
	values := []Decimal{thresholds[0].Sub(one)}
	for i, t := range thresholds {
		values = append(values, t)
		if i+1 < len(thresholds) {
			values = append(values, t.Add(thresholds[i+1]).over(two))
		}
	}
	return append(values, thresholds[len(thresholds)-1].Add(one))
}

func crossAttribute(all []situation, attribute string, choices [][][]string) []situation {
	var crossed []situation
	for _, s := range all {
		for _, choice := range choices {
			attributes := map[string][][]string{attribute: choice}
			for k, v := range s.attributes {
				attributes[k] = v
			}
			crossed = append(crossed, situation{attributes, s.results})
		}
	}
	return crossed
}

func crossResult(all []situation, parameter string, values []Decimal) []situation {
	var crossed []situation
	for _, s := range all {
		for _, value := range values {
			results := map[string]Decimal{parameter: value}
			for k, v := range s.results {
				results[k] = v
			}
			crossed = append(crossed, situation{s.attributes, results})
		}
	}
	return crossed
}
