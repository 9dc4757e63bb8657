package standard

import (
	"embed"
	"fmt"
	"io/fs"
	"slices"
	"sync"

	"pullbook/domain/message"
)

// Library holds rule sets by id and by family of editions. It is read-only once
// made and safe for use by many goroutines.
type Library struct {
	sets []*RuleSet
	byID map[string]*RuleSet
}

//go:embed rules/*.json
var ruleFiles embed.FS

var published = sync.OnceValues(func() (*Library, error) { return LoadLibrary(ruleFiles) })

// Published is the library of published standards that ships with the program.
func Published() (*Library, error) { return published() }

// LoadLibrary reads every JSON file under rules/ of the given file tree.
func LoadLibrary(files fs.FS) (*Library, error) {
	paths, err := fs.Glob(files, "rules/*.json")
	if err != nil {
		return nil, err
	}
	sets := make([]*RuleSet, 0, len(paths))
	for _, path := range paths {
		data, err := fs.ReadFile(files, path)
		if err != nil {
			return nil, err
		}
		set, err := ParseRuleSet(data)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", path, err)
		}
		sets = append(sets, set)
	}
	return NewLibrary(sets...)
}

// NewLibrary gathers rule sets, resolves those that take their limits from
// another, and refuses ids used twice and editions of one family whose dates
// overlap.
func NewLibrary(sets ...*RuleSet) (*Library, error) {
	library := &Library{sets: sets, byID: map[string]*RuleSet{}}
	for _, set := range sets {
		if _, taken := library.byID[set.ID]; taken {
			return nil, FieldError{Field: "id", Got: set.ID, Want: message.F("another rule set has this id")}
		}
		library.byID[set.ID] = set
	}
	for _, set := range sets {
		if err := library.resolve(set); err != nil {
			return nil, err
		}
	}
	return library, library.checkEditions()
}

// resolve copies the limits of the rule set that this one follows. What is known
// of the copy is what is known of the reference, so a reference from memory
// makes every line from memory.
func (b *Library) resolve(set *RuleSet) error {
	if set.SameAs == "" {
		return nil
	}
	model, ok := b.byID[set.SameAs]
	if !ok || model.SameAs != "" {
		return FieldError{Field: set.ID + "/same_limits_as", Got: set.SameAs, Want: message.F("the id of a rule set with limits of its own")}
	}
	set.Limits = slices.Clone(model.Limits)
	for i := range set.Limits {
		l := &set.Limits[i]
		l.Clause = fmt.Sprintf("as %s, %s", model.ID, l.Clause)
		if set.Source.FromMemory {
			l.Source = set.Source
		}
	}
	return set.compileTaken(model)
}

// compileTaken compiles limits taken over from another rule set.
func (s *RuleSet) compileTaken(model *RuleSet) error {
	var p problems
	s.Grades, s.Form = model.Grades, model.Form
	for i := range s.Limits {
		s.compileLimit(i, &p)
	}
	s.validateGroups(&p)
	return p.err()
}

func (b *Library) checkEditions() error {
	for i, one := range b.sets {
		for _, other := range b.sets[i+1:] {
			if one.Family == other.Family && one.overlaps(other) {
				return FieldError{Field: other.ID + "/in_force_from", Got: string(other.InForceFrom),
					Want: message.F("%s of the same family is in force on some of the same days", one.ID)}
			}
		}
	}
	return nil
}

func (s *RuleSet) overlaps(other *RuleSet) bool {
	return (other.InForceTo == "" || s.InForceFrom <= other.InForceTo) && (s.InForceTo == "" || other.InForceFrom <= s.InForceTo)
}

// All lists the rule sets in the order of their ids' files.
func (b *Library) All() []*RuleSet { return slices.Clone(b.sets) }

// Get finds one rule set by id.
func (b *Library) Get(id string) (*RuleSet, bool) {
	set, ok := b.byID[id]
	return set, ok
}

// HasFamily reports whether any edition is of the family.
func (b *Library) HasFamily(family string) bool {
	return slices.ContainsFunc(b.sets, func(s *RuleSet) bool { return s.Family == family })
}

// InForce finds the edition of a family that is in force on the day, if there is one.
func (b *Library) InForce(family string, on Date) (*RuleSet, bool) {
	for _, set := range b.sets {
		if set.Family == family && set.InForce(on) {
			return set, true
		}
	}
	return nil, false
}

// AllInForce lists every rule set in force on the day.
func (b *Library) AllInForce(on Date) []*RuleSet {
	var current []*RuleSet
	for _, set := range b.sets {
		if set.InForce(on) {
			current = append(current, set)
		}
	}
	return current
}
