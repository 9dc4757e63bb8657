package reports

import (
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"
	openapi_types "github.com/oapi-codegen/runtime/types"

	"pullbook/api/request"
	"pullbook/api/wire"
	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/quality"
	"pullbook/domain/standard"
	"pullbook/openapi"
)

// ListStandards lists the published rule sets without their lines.
func (s Handler) ListStandards(ctx echo.Context) error {
	library, err := standard.Published()
	if err != nil {
		return err
	}
	sets := library.All()
	out := make([]standard.RuleSet, len(sets))
	for i, set := range sets {
		out[i] = *set
		out[i].Limits = nil
	}
	return ctx.JSON(http.StatusOK, out)
}

// GetStandard is one published rule set with its lines.
func (s Handler) GetStandard(ctx echo.Context, id string) error {
	library, err := standard.Published()
	if err != nil {
		return err
	}
	set, ok := library.Get(id)
	if !ok {
		return fault.New(fault.NotFound, "No published rule set has the id %s; GET /v1/standards lists them.", message.Quoted(id))
	}
	return ctx.JSON(http.StatusOK, set)
}

// OnDay is the day that a report is asked for, or else today where the outfit
// is.
func OnDay(s *request.Service, b *ledger.Book, asked *openapi_types.Date) standard.Date {
	if asked == nil {
		return standard.Date(s.Now().In(b.Location()).Format(time.DateOnly))
	}
	return standard.Date(wire.DateIn(*asked))
}

// RuleSetsOf finds the rule sets that a report is asked for: by their ids with
// commas between, or else every one that is in force, the outfit's own first.
func RuleSetsOf(b *ledger.Book, asked *string, on standard.Date) ([]ledger.Resolved, error) {
	if asked == nil || *asked == "" {
		return EveryRuleSet(b, on)
	}
	var out []ledger.Resolved
	for name := range strings.SplitSeq(*asked, ",") {
		set, err := RuleSetOf(b, "rule_sets", strings.TrimSpace(name), on)
		if err != nil {
			return nil, err
		}
		out = append(out, set)
	}
	return out, nil
}

// RuleSetOf finds the rule set that a parameter of a request names, as of a day: a published
// one by its id or its family, the outfit's own by its name or id.
func RuleSetOf(b *ledger.Book, parameter, name string, on standard.Date) (ledger.Resolved, error) {
	ref := ledger.RuleSetRef{Standard: name}
	if id, err := uuid.Parse(name); err == nil {
		ref = ledger.RuleSetRef{RuleSetID: id}
	} else if !published(name) {
		if own, _ := called(b, name, ledger.KindRuleSet); len(own) == 1 {
			ref = ledger.RuleSetRef{RuleSetID: own[0]}
		}
	}
	set, err := b.RuleSet(ref, on)
	if err != nil {
		return set, request.ParameterFault(parameter, name, "%s", capitalised(err.Error())+".")
	}
	return set, nil
}

// published reports whether a published rule set or a family of them has an id.
func published(id string) bool {
	library, err := standard.Published()
	if err != nil {
		return false
	}
	_, is := library.Get(id)
	return is || library.HasFamily(id)
}

func capitalised(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

// EveryRuleSet returns the published rule sets in force on a day, and the outfit's own.
func EveryRuleSet(b *ledger.Book, on standard.Date) ([]ledger.Resolved, error) {
	var out []ledger.Resolved
	b.InForceOf(ledger.KindRuleSet, func(root ledger.ID, _ *ledger.Entry) bool {
		if set, err := b.RuleSet(ledger.RuleSetRef{RuleSetID: root}, on); err == nil {
			out = append(out, set) // one that is not in force says nothing today
		}
		return true
	})
	library, err := standard.Published()
	if err != nil {
		return nil, err
	}
	for _, set := range library.AllInForce(on) {
		out = append(out, ledger.Resolved{RuleSet: set})
	}
	return out, nil
}

// RuleSetsInUse is RuleSetsOf, but that where none is asked for it gives the
// outfit's own and those that its checks go by: what it sells by decides what
// must go first. An outfit that has neither gets all.
func RuleSetsInUse(b *ledger.Book, asked *string, on standard.Date) ([]ledger.Resolved, error) {
	every, err := RuleSetsOf(b, asked, on)
	if err != nil || asked != nil {
		return every, err
	}
	if out := soldBy(b, every); len(out) > 0 {
		return out, nil
	}
	return every, nil
}

// RuleSetsSoldBy returns the outfit's own rule sets and those that its checks go by, as
// of a day. There may be none.
func RuleSetsSoldBy(b *ledger.Book, on standard.Date) ([]ledger.Resolved, error) {
	every, err := EveryRuleSet(b, on)
	return soldBy(b, every), err
}

func soldBy(b *ledger.Book, every []ledger.Resolved) []ledger.Resolved {
	used := map[string]bool{}
	b.InForceOf(ledger.KindCheck, func(_ ledger.ID, e *ledger.Entry) bool {
		if found := e.Body.(*ledger.Check).Found; found != nil {
			for _, r := range found.Results {
				used[r.ID] = true
			}
		}
		return true
	})
	return slices.DeleteFunc(slices.Clone(every), func(r ledger.Resolved) bool { return r.Entry == (ledger.ID{}) && !used[r.ID] })
}

// gathered returns what the book knows of a lot that a path names, and the day that is
// asked for.
func (s Handler) gathered(b *ledger.Book, lot string, asked *openapi_types.Date) (*quality.Gathered, standard.Date, error) {
	on := OnDay(s.Service, b, asked)
	id, err := InPath(b, ledger.KindLot, lot)
	if err != nil {
		return nil, on, err
	}
	g, err := quality.Gather(b, id, on)
	return g, on, err
}

// GetLotVerdictsReport is one lot against rule sets, nothing recorded.
func (s Handler) GetLotVerdictsReport(ctx echo.Context, lot string, params openapi.GetLotVerdictsReportParams) error {
	return s.ReadThen(ctx, func(_ db.Outfit, b *ledger.Book) (func() any, error) {
		g, on, err := s.gathered(b, lot, params.On)
		if err != nil {
			return nil, err
		}
		sets, err := RuleSetsOf(b, params.RuleSets, on)
		if err != nil {
			return nil, err
		}
		rule := standard.DecisionRule{AcceptR: wire.OrZero(params.AcceptR), RejectR: wire.OrZero(params.RejectR)}
		results, err := quality.Judge(b, g, sets, on, rule)
		if err != nil {
			return nil, err
		}
		decision, err := lotDecisionOf(b, g.LotID, on)
		if err != nil {
			return nil, err
		}
		through, estimates := b.Len(), quality.Estimates(b, g, on)
		return func() any {
			return lotVerdicts{
				g.LotID, g.Lot.Code, on, through, decision.out(), g.Lot.Declares, len(g.Numbers), results, request.Said(g.LeftOut), wire.Each(estimates, estimateOut),
			}
		}, nil
	})
}

// lotVerdicts is a LotVerdicts of the contract.
type lotVerdicts struct {
	LotID        ledger.ID                 `json:"lot_id"`
	Code         string                    `json:"code"`
	On           standard.Date             `json:"on"`
	ThroughEntry int64                     `json:"through_entry"`
	Decision     openapi.LotDecision       `json:"decision"`
	Declares     standard.Declaration      `json:"declares,omitempty"`
	Containers   int                       `json:"containers"`
	Results      []ledger.RuleSetResult    `json:"results"`
	LeftOut      []string                  `json:"left_out"`
	Estimates    []openapi.QualityEstimate `json:"estimates"`
}

// lotDecision is whether a lot may leave on a day, and by what. superseded is nil unless that
// rests on figures that changed.
type lotDecision struct {
	quality.Standing
	superseded *openapi.Superseded
}

func lotDecisionOf(b *ledger.Book, lot ledger.ID, on standard.Date) (d lotDecision, err error) {
	if d.Standing, err = quality.StandingOf(b, lot, on); err != nil || d.By == nil {
		return d, err
	}
	x, ok := d.By.Body.(*ledger.LotStatus)
	if !ok || x.CheckID == (ledger.ID{}) {
		return d, nil
	}
	superseded, err := SupersededBy(b, map[ledger.ID]bool{x.CheckID: true})
	d.superseded = superseded[x.CheckID]
	return d, err
}

func (d lotDecision) out() openapi.LotDecision {
	out := openapi.LotDecision{Status: openapi.LotDecisionStatus(d.Status), Outdated: wire.OrNil(d.Outdated.String())}
	if d.Opened != nil {
		out.OpenedByEntry = &d.Opened.Number
	}
	out.BecauseOfLotID = wire.OrNil(d.Of)
	if d.By == nil {
		return out
	}
	out.EntryID, out.EntryNumber, out.DecidedAt, out.DecidedBy = &d.By.ID, &d.By.Number, &d.By.OccurredAt, &d.By.RecordedBy
	out.Why = wire.OrNil(string(d.Why))
	x, ok := d.By.Body.(*ledger.LotStatus)
	if !ok { // somebody saw it ferment
		return out
	}
	out.Override, out.Note, out.CheckID, out.Superseded = wire.OrNil(x.Override), wire.OrNil(x.Note), wire.OrNil(x.CheckID), d.superseded
	return out
}

// lotsOf are the lots that were opened in a season, in order of occurrence.
func lotsOf(b *ledger.Book, seasonID ledger.ID) ([]ledger.ID, error) {
	s, ok := standingSeason(b, seasonID)
	if !ok {
		return nil, fault.New(fault.NotFound, "There is no season %s in the book.", seasonID)
	}
	var out []ledger.ID
	for root, e := range b.HappenedOf(ledger.KindLot) {
		if s.Holds(e.OccurredAt, b.Location()) {
			out = append(out, root)
		}
	}
	return out, nil
}

func standingSeason(b *ledger.Book, id ledger.ID) (*ledger.Season, bool) {
	e := b.InForce(id)
	if e == nil {
		return nil, false
	}
	s, ok := e.Body.(*ledger.Season)
	return s, ok
}

func estimateOut(e quality.Estimate) openapi.QualityEstimate {
	return openapi.QualityEstimate{Parameter: e.Parameter, Unit: e.Unit, Low: e.Low, Middle: e.Middle, High: e.High, How: e.How.String()}
}

// GetVerdictsReport is the lots of a season against rule sets.
func (s Handler) GetVerdictsReport(ctx echo.Context, params openapi.GetVerdictsReportParams) error {
	return s.Read(ctx, func(_ db.Outfit, b *ledger.Book) (any, error) {
		on := OnDay(s.Service, b, params.On)
		seasonID, err := SeasonOf(s.Service, params.Season, b)
		if err != nil {
			return nil, err
		}
		lots, err := lotsOf(b, seasonID)
		if err != nil {
			return nil, err
		}
		sets, err := RuleSetsOf(b, params.RuleSets, on)
		if err != nil {
			return nil, err
		}
		out := openapi.VerdictsReport{On: string(on), ThroughEntry: b.Len(), RuleSets: make([]openapi.NamedRuleSet, len(sets)), Lots: make([]openapi.VerdictRow, len(lots))}
		for i, set := range sets {
			out.RuleSets[i] = openapi.NamedRuleSet{ID: set.ID, Name: set.Title, Edition: set.Edition, Version: wire.OrNil(set.Version)}
		}
		day := s.Judged.DayOf(b, on)
		for i, lot := range lots {
			if out.Lots[i], err = verdictRow(b, day, lot, sets); err != nil {
				return nil, err
			}
		}
		return out, nil
	})
}

// verdictRow judges a lot by rule sets as of a day.
func verdictRow(b *ledger.Book, day *quality.Day, lot ledger.ID, sets []ledger.Resolved) (openapi.VerdictRow, error) {
	row := openapi.VerdictRow{
		LotID: lot, Code: b.Name(lot), Status: string(b.State().LotStatus(lot).Status),
		Outcomes: make([]string, len(sets)), Grades: make([]string, len(sets)),
	}
	answers, err := day.Answers(lot, sets)
	for i, a := range answers {
		row.Outcomes[i], row.Grades[i] = a.Outcome.String(), a.Grade
	}
	return row, err
}

// GetFermentationReport is the risk that a lot ferments.
func (s Handler) GetFermentationReport(ctx echo.Context, lot string, params openapi.GetFermentationReportParams) error {
	return s.ReadThen(ctx, func(_ db.Outfit, b *ledger.Book) (func() any, error) {
		g, on, err := s.gathered(b, lot, params.On)
		if err != nil {
			return nil, err
		}
		f, err := quality.FermentationOf(b, g, quality.ClimateOf(b), on)
		if err != nil {
			return nil, err
		}
		sets, err := RuleSetsInUse(b, nil, on)
		if err != nil {
			return nil, err
		}
		f.Advise(b, g, on, sets...)
		return func() any {
			return openapi.FermentationReport{
				LotID: f.LotID, Code: f.Code, Worst: openapi.FermentationReportWorst(f.Worst.String()), SeenFermenting: f.SeenFermenting(), StoreTemperatureC: f.StoreC,
				Risks: wire.Each(f.Risks, riskOut), Unknown: append([]string{}, f.Unknown...),
			}
		}, nil
	})
}

func riskOut(r quality.Risk) openapi.ContainerRisk {
	out := openapi.ContainerRisk{
		FillID: r.FillID, Container: r.Container.ContainerID, Risk: openapi.ContainerRiskRisk(r.Risk.String()),
		SeenFermenting: r.Container.SeenFermenting, Basis: string(r.Basis), MoistureClass: wire.OrNil(r.Class.Text),
		Why: request.Said(r.Why), Lower: wire.Each(r.Lower, remedyOut),
	}
	if m := r.Container.MoisturePct; m != nil {
		out.MoisturePct = new(m.Float64())
	}
	if l := r.Container.LiquidMoisturePct; l != nil && r.Container.Granulating {
		out.LiquidMoisturePct = new(l.Float64())
	}
	if y := r.Container.YeastPerG; y != nil {
		out.YeastPerG = new(y.Float64())
	}
	if a := r.Container.WaterActivity; a != nil {
		out.WaterActivity = &a.Value
	}
	return out
}

func remedyOut(x quality.Remedy) openapi.Remedy {
	return openapi.Remedy{
		Kind: openapi.RemedyKind(x.Kind), Text: x.Text.String(), MassKg: wire.OrNil(x.Kg), WithLot: wire.OrNil(x.WithLot), TemperatureC: wire.OrNil(x.TemperatureC),
		Minutes: wire.OrNil(x.Minutes), HmfRiseMgPerKg: wire.OrNil(x.HMFRise.Middle), HmfRiseLowMgPerKg: wire.OrNil(x.HMFRise.Low), HmfRiseHighMgPerKg: wire.OrNil(x.HMFRise.High),
	}
}

// GetKeepingReport is how long the lots of a season keep.
func (s Handler) GetKeepingReport(ctx echo.Context, params openapi.GetKeepingReportParams) error {
	return s.ReadThen(ctx, func(_ db.Outfit, b *ledger.Book) (func() any, error) {
		on := OnDay(s.Service, b, params.On)
		seasonID, err := SeasonOf(s.Service, params.Season, b)
		if err != nil {
			return nil, err
		}
		lots, err := lotsOf(b, seasonID)
		if err != nil {
			return nil, err
		}
		sets, err := RuleSetsInUse(b, params.RuleSets, on)
		if err != nil {
			return nil, err
		}
		kept, err := s.Judged.DayOf(b, on).Keeping(lots, sets)
		return func() any { return wire.Each(kept, keepingOut) }, err
	})
}

func keepingOut(k quality.Keeps) openapi.KeepingLot {
	out := openapi.KeepingLot{
		LotID: k.LotID, Code: k.Code, HeldKg: wire.Kg(k.HeldG), Fermentation: openapi.KeepingLotFermentation(k.Risk.String()), SeenFermenting: k.SeenFermenting,
		StoreTemperatureC: k.StoreC, StoreBasis: k.StoreBasis.String(), Acidity: wire.OrNil(k.Acidity.String()), GoBy: wire.OrNil(string(quality.Roughly(k.GoBy, k.On))), Why: k.Why.String(), Lines: make([]openapi.KeepingLine, len(k.Lines)),
	}
	if m := k.MoisturePct; m != nil {
		out.MoisturePct = new(m.Float64())
	}
	for i, l := range k.Lines {
		line := openapi.KeepingLine{
			RuleSetID: l.Set.ID, RuleSet: l.Set.Title, Parameter: l.Parameter, Grade: wire.OrNil(l.Grade), Limit: l.Limit.String(), Clause: l.Clause,
			FromMemory: wire.OrNil(l.FromMemory), MeasuredDay: wire.OrNil(string(l.MeasuredOn)), Outside: wire.OrNil(l.Outside), Why: wire.OrNil(l.Why.String()),
		}
		if l.MeasuredOn != "" {
			line.Value = &k.Lines[i].Value
		}
		if l.Leaves != nil {
			x := l.Leaves.Roughly(k.On)
			line.Earliest, line.Expected, line.Latest = new(string(x.Low)), new(string(x.Middle)), new(string(x.High))
		}
		out.Lines[i] = line
	}
	return out
}

// GetSampleReport says which containers a seed draws, nothing recorded.
func (s Handler) GetSampleReport(ctx echo.Context, lot string, params openapi.GetSampleReportParams) error {
	return s.Read(ctx, func(_ db.Outfit, b *ledger.Book) (any, error) {
		g, on, err := s.gathered(b, lot, params.On)
		if err != nil {
			return nil, err
		}
		set, err := RuleSetOf(b, "rule_set", params.RuleSet, on)
		if err != nil {
			return nil, err
		}
		if len(g.Numbers) == 0 {
			return nil, fault.New(fault.Conflict, "Lot %s had no container by %s, so there is nothing to take a sample from. Record its fills first, or give a later day in on.", g.Lot.Code, string(on))
		}
		draw, err := set.DrawSample(g.Numbers, params.Seed)
		if err != nil {
			return nil, request.ParameterFault("seed", params.Seed, "%s.", err)
		}
		fill := func(number string) ledger.ID { return g.FillOf[number] }
		return openapi.Drawn{RuleSetName: set.Name(), Plan: draw.Plan.Title, LotSize: draw.LotSize, Numbers: draw.Containers, Containers: wire.Each(draw.Containers, fill)}, nil
	})
}

// GetSettlementReport sets a settlement beside the outfit's own figures.
func (s Handler) GetSettlementReport(ctx echo.Context, id openapi_types.UUID, _ openapi.GetSettlementReportParams) error {
	return s.ReadThen(ctx, func(_ db.Outfit, b *ledger.Book) (func() any, error) {
		r, err := quality.SettlementOf(b, id)
		return func() any { return settlementOut(r) }, err
	})
}

func settlementOut(r *quality.Settled) openapi.SettlementReport {
	out := openapi.SettlementReport{
		EntryID: r.Entry, DispatchID: r.Dispatch, Buyer: r.Buyer, Terms: r.Terms, Currency: r.Currency,
		OwnNetKg: wire.Kg(r.OwnNetG), BuyerNetKg: wire.Kg(r.BuyerNetG), ByOwnMinor: r.ByOwn, ByBuyerMinor: r.ByBuyer, PaidMinor: r.Paid,
		Drums: make([]openapi.SettledDrum, len(r.Drums)), NotReported: append([]string{}, r.NotReported...),
	}
	if r.ByOwn != nil {
		out.ShortOfOwnMinor = new(*r.ByOwn - r.Paid)
	}
	if r.ByBuyer != nil {
		out.ShortOfBuyerMinor = new(*r.ByBuyer - r.Paid)
	}
	if len(r.NotReported) > 0 {
		out.NotReportedKg, out.NotReportedByOwnMinor = new(wire.Kg(r.NotReportedG)), r.NotReportedByOwn
	}
	for i, d := range r.Drums {
		out.Drums[i] = openapi.SettledDrum{
			FillID: d.FillID, Container: d.Container, OwnNetKg: wire.Kg(d.OwnNetG), BuyerNetKg: wire.Kg(d.BuyerNetG),
			OwnMoisturePct: d.OwnMoisturePct, BuyerMoisturePct: d.BuyerMoisturePct, OwnColourMmPfund: d.OwnColour, BuyerColourMmPfund: d.BuyerColour,
			ByOwnMinor: d.ByOwn, ByBuyerMinor: d.ByBuyer, Differences: request.Said(d.Differences),
		}
	}
	return out
}
