package entries

import (
	"github.com/labstack/echo/v4"

	"pullbook/domain/ledger"
	"pullbook/openapi"
)

// The contract has two operations for each kind of entry: one records, the other lists.

func (s Handler) RecordSeason(ctx echo.Context) error { return s.record(ctx, ledger.KindSeason) }
func (s Handler) ListSeasons(ctx echo.Context, _ openapi.ListSeasonsParams) error {
	return s.list(ctx, ledger.KindSeason)
}

func (s Handler) RecordYard(ctx echo.Context) error { return s.record(ctx, ledger.KindYard) }
func (s Handler) ListYards(ctx echo.Context, _ openapi.ListYardsParams) error {
	return s.list(ctx, ledger.KindYard)
}

func (s Handler) RecordSuperKind(ctx echo.Context) error { return s.record(ctx, ledger.KindSuperKind) }
func (s Handler) ListSuperKinds(ctx echo.Context, _ openapi.ListSuperKindsParams) error {
	return s.list(ctx, ledger.KindSuperKind)
}

func (s Handler) RecordContainerKind(ctx echo.Context) error {
	return s.record(ctx, ledger.KindContainerKind)
}
func (s Handler) ListContainerKinds(ctx echo.Context, _ openapi.ListContainerKindsParams) error {
	return s.list(ctx, ledger.KindContainerKind)
}

func (s Handler) RecordRoom(ctx echo.Context) error { return s.record(ctx, ledger.KindRoom) }
func (s Handler) ListRooms(ctx echo.Context, _ openapi.ListRoomsParams) error {
	return s.list(ctx, ledger.KindRoom)
}

func (s Handler) RecordTank(ctx echo.Context) error { return s.record(ctx, ledger.KindTank) }
func (s Handler) ListTanks(ctx echo.Context, _ openapi.ListTanksParams) error {
	return s.list(ctx, ledger.KindTank)
}

func (s Handler) RecordInstrument(ctx echo.Context) error {
	return s.record(ctx, ledger.KindInstrument)
}
func (s Handler) ListInstruments(ctx echo.Context, _ openapi.ListInstrumentsParams) error {
	return s.list(ctx, ledger.KindInstrument)
}

func (s Handler) RecordBuyer(ctx echo.Context) error { return s.record(ctx, ledger.KindBuyer) }
func (s Handler) ListBuyers(ctx echo.Context, _ openapi.ListBuyersParams) error {
	return s.list(ctx, ledger.KindBuyer)
}

func (s Handler) RecordHiveCount(ctx echo.Context) error { return s.record(ctx, ledger.KindHiveCount) }
func (s Handler) ListHiveCounts(ctx echo.Context, _ openapi.ListHiveCountsParams) error {
	return s.list(ctx, ledger.KindHiveCount)
}

func (s Handler) RecordPull(ctx echo.Context) error { return s.record(ctx, ledger.KindPull) }
func (s Handler) ListPulls(ctx echo.Context, _ openapi.ListPullsParams) error {
	return s.list(ctx, ledger.KindPull)
}

func (s Handler) RecordRun(ctx echo.Context) error { return s.record(ctx, ledger.KindRun) }
func (s Handler) ListRuns(ctx echo.Context, _ openapi.ListRunsParams) error {
	return s.list(ctx, ledger.KindRun)
}

func (s Handler) RecordRunSupers(ctx echo.Context) error { return s.record(ctx, ledger.KindRunSupers) }
func (s Handler) ListRunSupers(ctx echo.Context, _ openapi.ListRunSupersParams) error {
	return s.list(ctx, ledger.KindRunSupers)
}

func (s Handler) RecordLoad(ctx echo.Context) error { return s.record(ctx, ledger.KindLoad) }
func (s Handler) ListLoads(ctx echo.Context, _ openapi.ListLoadsParams) error {
	return s.list(ctx, ledger.KindLoad)
}

func (s Handler) RecordRunEnd(ctx echo.Context) error { return s.record(ctx, ledger.KindRunEnd) }
func (s Handler) ListRunEnds(ctx echo.Context, _ openapi.ListRunEndsParams) error {
	return s.list(ctx, ledger.KindRunEnd)
}

func (s Handler) RecordMovement(ctx echo.Context) error { return s.record(ctx, ledger.KindMovement) }
func (s Handler) ListMovements(ctx echo.Context, _ openapi.ListMovementsParams) error {
	return s.list(ctx, ledger.KindMovement)
}

func (s Handler) RecordStocktake(ctx echo.Context) error { return s.record(ctx, ledger.KindStocktake) }
func (s Handler) ListStocktakes(ctx echo.Context, _ openapi.ListStocktakesParams) error {
	return s.list(ctx, ledger.KindStocktake)
}

func (s Handler) RecordWash(ctx echo.Context) error { return s.record(ctx, ledger.KindWash) }
func (s Handler) ListWashes(ctx echo.Context, _ openapi.ListWashesParams) error {
	return s.list(ctx, ledger.KindWash)
}

func (s Handler) RecordTemperatureLog(ctx echo.Context) error {
	return s.record(ctx, ledger.KindTemperatureLog)
}
func (s Handler) ListTemperatureLogs(ctx echo.Context, _ openapi.ListTemperatureLogsParams) error {
	return s.list(ctx, ledger.KindTemperatureLog)
}

func (s Handler) RecordLot(ctx echo.Context) error { return s.record(ctx, ledger.KindLot) }
func (s Handler) ListLots(ctx echo.Context, _ openapi.ListLotsParams) error {
	return s.list(ctx, ledger.KindLot)
}

func (s Handler) RecordFill(ctx echo.Context) error { return s.record(ctx, ledger.KindFill) }
func (s Handler) ListFills(ctx echo.Context, _ openapi.ListFillsParams) error {
	return s.list(ctx, ledger.KindFill)
}

func (s Handler) RecordDispatch(ctx echo.Context) error { return s.record(ctx, ledger.KindDispatch) }
func (s Handler) ListDispatches(ctx echo.Context, _ openapi.ListDispatchesParams) error {
	return s.list(ctx, ledger.KindDispatch)
}

func (s Handler) RecordReading(ctx echo.Context) error { return s.record(ctx, ledger.KindReading) }
func (s Handler) ListReadings(ctx echo.Context, _ openapi.ListReadingsParams) error {
	return s.list(ctx, ledger.KindReading)
}

func (s Handler) RecordCalibration(ctx echo.Context) error {
	return s.record(ctx, ledger.KindCalibration)
}
func (s Handler) ListCalibrations(ctx echo.Context, _ openapi.ListCalibrationsParams) error {
	return s.list(ctx, ledger.KindCalibration)
}

func (s Handler) RecordRuleSet(ctx echo.Context) error { return s.record(ctx, ledger.KindRuleSet) }
func (s Handler) ListRuleSets(ctx echo.Context, _ openapi.ListRuleSetsParams) error {
	return s.list(ctx, ledger.KindRuleSet)
}

func (s Handler) RecordSample(ctx echo.Context) error { return s.record(ctx, ledger.KindSample) }
func (s Handler) ListSamples(ctx echo.Context, _ openapi.ListSamplesParams) error {
	return s.list(ctx, ledger.KindSample)
}

func (s Handler) RecordCheck(ctx echo.Context) error { return s.record(ctx, ledger.KindCheck) }
func (s Handler) ListChecks(ctx echo.Context, _ openapi.ListChecksParams) error {
	return s.list(ctx, ledger.KindCheck)
}

func (s Handler) RecordLotStatus(ctx echo.Context) error { return s.record(ctx, ledger.KindLotStatus) }
func (s Handler) ListLotStatuses(ctx echo.Context, _ openapi.ListLotStatusesParams) error {
	return s.list(ctx, ledger.KindLotStatus)
}

func (s Handler) RecordSettlement(ctx echo.Context) error {
	return s.record(ctx, ledger.KindSettlement)
}
func (s Handler) ListSettlements(ctx echo.Context, _ openapi.ListSettlementsParams) error {
	return s.list(ctx, ledger.KindSettlement)
}

func (s Handler) RecordAcceptance(ctx echo.Context) error {
	return s.record(ctx, ledger.KindAcceptance)
}
func (s Handler) ListAcceptances(ctx echo.Context, _ openapi.ListAcceptancesParams) error {
	return s.list(ctx, ledger.KindAcceptance)
}

func (s Handler) RecordWithdrawal(ctx echo.Context) error {
	return s.record(ctx, ledger.KindWithdrawal)
}
func (s Handler) ListWithdrawals(ctx echo.Context, _ openapi.ListWithdrawalsParams) error {
	return s.list(ctx, ledger.KindWithdrawal)
}
