package ledger

import (
	"fmt"

	"pullbook/domain/message"
)

// Kind says what an entry is about.
type Kind string

// The set-up of an outfit: what the other entries name.
const (
	KindSeason        Kind = "season"
	KindYard          Kind = "yard"
	KindSuperKind     Kind = "super_kind"
	KindContainerKind Kind = "container_kind"
	KindRoom          Kind = "room"
	KindTank          Kind = "tank"
	KindInstrument    Kind = "instrument"
	KindBuyer         Kind = "buyer"
	// KindImport says of the entries before it that they came from a sheet.
	KindImport Kind = "import"
	// KindLaboratoryCertificate names the file of a laboratory's certificate.
	KindLaboratoryCertificate Kind = "laboratory_certificate"
	// KindPhoto names the picture that was taken with another entry.
	KindPhoto Kind = "photo"
	// KindOperator says how the outfit's settings, a person, a token, a feed key or
	// a tablet stands.
	KindOperator Kind = "operator"
)

// What happens over a season.
const (
	KindHiveCount      Kind = "hive_count"
	KindPull           Kind = "pull"
	KindRun            Kind = "run"
	KindRunSupers      Kind = "run_supers"
	KindLoad           Kind = "load"
	KindRunEnd         Kind = "run_end"
	KindMovement       Kind = "movement"
	KindStocktake      Kind = "stocktake"
	KindWash           Kind = "wash"
	KindLot            Kind = "lot"
	KindFill           Kind = "fill"
	KindReading        Kind = "reading"
	KindCalibration    Kind = "calibration"
	KindTemperatureLog Kind = "temperature_log"
	// KindContract is what a buyer agreed to take; it moves no honey.
	KindContract Kind = "contract"
	// KindPreparedDispatch is what a manager wants loaded; it moves no honey.
	KindPreparedDispatch Kind = "prepared_dispatch"
	KindDispatch         Kind = "dispatch"
	// KindPreparedBlend is a blend that a manager wants made; it moves no honey.
	KindPreparedBlend Kind = "prepared_blend"
	// KindAdoptedPlan is a plan that a manager goes by; it moves no honey.
	KindAdoptedPlan Kind = "adopted_plan"
)

// What is said about other entries.
const (
	KindAcceptance Kind = "acceptance"
	KindWithdrawal Kind = "withdrawal"
)

// kinds lists each kind with a maker of its empty body, by rank: of two things
// at the same instant, the one listed first happened first, so that a tank is
// filled before it is drawn from.
var kinds = []struct {
	kind  Kind
	setUp bool
	body  func() Body
}{
	{KindOperator, true, func() Body { return new(Operator) }},
	{KindSeason, true, func() Body { return new(Season) }},
	{KindYard, true, func() Body { return new(Yard) }},
	{KindSuperKind, true, func() Body { return new(SuperKind) }},
	{KindContainerKind, true, func() Body { return new(ContainerKind) }},
	{KindRoom, true, func() Body { return new(Room) }},
	{KindTank, true, func() Body { return new(Tank) }},
	{KindInstrument, true, func() Body { return new(Instrument) }},
	{KindBuyer, true, func() Body { return new(Buyer) }},
	{KindRuleSet, true, func() Body { return new(RuleSet) }},
	{KindImport, true, func() Body { return new(Import) }},
	{KindLaboratoryCertificate, true, func() Body { return new(LaboratoryCertificate) }},
	{KindPhoto, true, func() Body { return new(Photo) }},
	{KindHiveCount, false, func() Body { return new(HiveCount) }},
	{KindPull, false, func() Body { return new(Pull) }},
	{KindRun, false, func() Body { return new(Run) }},
	{KindRunSupers, false, func() Body { return new(RunSupers) }},
	{KindLoad, false, func() Body { return new(Load) }},
	{KindWash, false, func() Body { return new(Wash) }},
	{KindMovement, false, func() Body { return new(Movement) }},
	{KindLot, false, func() Body { return new(Lot) }},
	{KindFill, false, func() Body { return new(Fill) }},
	{KindRunEnd, false, func() Body { return new(RunEnd) }},
	{KindStocktake, false, func() Body { return new(Stocktake) }},
	{KindCalibration, false, func() Body { return new(Calibration) }},
	{KindTemperatureLog, false, func() Body { return new(TemperatureLog) }},
	{KindSample, false, func() Body { return new(Sample) }},
	{KindReading, false, func() Body { return new(Reading) }},
	{KindCheck, false, func() Body { return new(Check) }},
	{KindLotStatus, false, func() Body { return new(LotStatus) }},
	{KindPreparedBlend, false, func() Body { return new(PreparedBlend) }},
	{KindContract, false, func() Body { return new(Contract) }},
	{KindAdoptedPlan, false, func() Body { return new(AdoptedPlan) }},
	{KindPreparedDispatch, false, func() Body { return new(PreparedDispatch) }},
	{KindDispatch, false, func() Body { return new(Dispatch) }},
	{KindSettlement, false, func() Body { return new(Settlement) }},
	{KindAcceptance, false, func() Body { return new(Acceptance) }},
	{KindWithdrawal, false, func() Body { return new(Withdrawal) }},
}

var kindIndex = func() map[Kind]int {
	m := make(map[Kind]int, len(kinds))
	for i, k := range kinds {
		m[k.kind] = i
	}
	m[KindUnreadable] = len(kinds)
	return m
}()

// Kinds lists all kinds of entry in their order of rank.
func Kinds() []Kind {
	out := make([]Kind, len(kinds))
	for i, k := range kinds {
		out[i] = k.kind
	}
	return out
}

// SetUp reports whether entries of this kind describe the outfit's set-up, or its
// papers, rather than something that happened to honey.
func (k Kind) SetUp() bool {
	i, ok := kindIndex[k]
	return ok && i < len(kinds) && kinds[i].setUp
}

// Known reports whether this program knows a kind of entry.
func (k Kind) Known() bool {
	i, ok := kindIndex[k]
	return ok && i < len(kinds)
}

func newBody(k Kind) (Body, error) {
	if !k.Known() {
		return nil, fmt.Errorf("%q is no kind of entry", k)
	}
	return kinds[kindIndex[k]].body(), nil
}

// Noun is what a kind is called in the words of a sentence.
func (k Kind) Noun() message.Text { return message.F("kind|" + words(string(k))) }
