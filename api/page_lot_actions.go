package api

import "pullbook/domain/ledger"

// holdReasons are the reasons for a hold in the order in which a form offers
// them.
var holdReasons = []ledger.HoldReason{
	ledger.HeldForFermentation, ledger.HeldForLimit, ledger.HeldForFinding, ledger.HeldForRecall, ledger.HeldForOther,
}
