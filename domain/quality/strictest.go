package quality

import (
	"pullbook/domain/ledger"
	"pullbook/domain/standard"
)

// Strictest gives, of some rule sets, the one that allows least of a parameter to honey of
// whatever kind, and how much that is in the parameter's first unit. ok is false where none
// bounds it from above.
func Strictest(sets []ledger.Resolved, parameter string) (set ledger.Resolved, most standard.Decimal, ok bool) {
	for _, s := range sets {
		if at, bounds := s.Most(parameter); bounds && (!ok || at.Cmp(most) < 0) {
			set, most, ok = s, at, true
		}
	}
	return set, most, ok
}
