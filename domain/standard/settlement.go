package standard

import (
	"fmt"
	"math"
	"slices"

	"github.com/shopspring/decimal"
)

// PriceTerms is a buyer's price and the steps by which quality lowers it. Money
// is in minor units (cents) of the currency.
type PriceTerms struct {
	Currency   string     `json:"currency"`           // ISO 4217 code
	PricePerKg Decimal    `json:"minor_units_per_kg"` // may have fractions of a cent
	Discounts  []Discount `json:"discounts,omitempty"`
}

// Discount is one step: it counts for values above Above, up to and including
// UpTo. The steps of one parameter do not overlap. Exactly one of Percent and
// PerKg is filled in.
type Discount struct {
	Parameter string   `json:"parameter"`
	Unit      string   `json:"unit"`
	Above     Decimal  `json:"above"`
	UpTo      *Decimal `json:"up_to,omitempty"` // absent: and all above
	Percent   *Decimal `json:"percent,omitempty"`
	PerKg     *Decimal `json:"minor_units_per_kg,omitempty"`
	Clause    string   `json:"clause"`
}

// Parcel is what is priced as one: a container, or a whole lot.
type Parcel struct {
	ID       string
	NetGrams int64
	// Values by parameter, each in the unit of the terms.
	Values map[string]Decimal
}

// Settlement is what a buyer owes, to the cent. Net is exactly the sum of the
// parcels' nets, and each parcel's net exactly its gross less its deductions.
type Settlement struct {
	Currency string
	Parcels  []ParcelSettlement
	Gross    int64
	Deducted int64
	Net      int64
}

// ParcelSettlement is one parcel's part, in minor units.
type ParcelSettlement struct {
	Parcel     Parcel
	Gross      int64
	Deductions []Deduction
	Net        int64
}

// Deduction is one step that counted.
type Deduction struct {
	Discount Discount
	Value    Decimal
	Amount   int64
}

func (t *PriceTerms) validate(field string, p *problems) {
	if len(t.Currency) != 3 {
		p.add(field+"/currency", t.Currency, "a three-letter code such as EUR")
	}
	if t.PricePerKg.Sign() <= 0 {
		p.add(field+"/minor_units_per_kg", t.PricePerKg.String(), "a price above 0 in cents per kilogram")
	}
	for i := range t.Discounts {
		t.Discounts[i].validate(fmt.Sprintf("%s/discounts/%d", field, i), p)
		for j := range i {
			if t.Discounts[i].overlaps(&t.Discounts[j]) {
				p.add(fmt.Sprintf("%s/discounts/%d", field, i), t.Discounts[i].Parameter, "the step overlaps step %s", j)
			}
		}
	}
}

func (d *Discount) validate(field string, p *problems) {
	parameter, ok := parameterByID[d.Parameter]
	if !ok || parameter.IsObservation() {
		p.add(field+"/parameter", d.Parameter, "name a measured parameter")
		return
	}
	if _, ok := parameter.unit(d.Unit); !ok {
		p.add(field+"/unit", d.Unit, "%s", parameter.unitAdvice(d.Unit))
	}
	if d.UpTo != nil && d.UpTo.Cmp(d.Above) <= 0 {
		p.add(field+"/up_to", d.UpTo.String(), "the step ends above where it starts, %s", d.Above)
	}
	if (d.Percent == nil) == (d.PerKg == nil) {
		p.add(field, d.Parameter, "give either percent or minor_units_per_kg")
	}
	for _, amount := range []*Decimal{d.Percent, d.PerKg} {
		if amount != nil && amount.Sign() < 0 {
			p.add(field, amount.String(), "a deduction is 0 or more")
		}
	}
	if d.Clause == "" {
		p.add(field+"/clause", "", "name the clause of the contract")
	}
}

func (d *Discount) overlaps(other *Discount) bool {
	return d.Parameter == other.Parameter &&
		(other.UpTo == nil || d.Above.Cmp(*other.UpTo) < 0) && (d.UpTo == nil || other.Above.Cmp(*d.UpTo) < 0)
}

func (d *Discount) counts(value Decimal) bool {
	return value.Cmp(d.Above) > 0 && (d.UpTo == nil || value.Cmp(*d.UpTo) <= 0)
}

// Settle prices the parcels. Every amount is reckoned exactly and rounded once, a
// half cent away from zero. It refuses a parcel without a value that a step asks
// for, and a value beyond the last step, since the terms do not price it.
func (t *PriceTerms) Settle(parcels []Parcel) (Settlement, error) {
	settlement := Settlement{Currency: t.Currency}
	var p problems
	for i, parcel := range parcels {
		part := t.settleParcel(fmt.Sprintf("parcels/%d", i), parcel, &p)
		settlement.Parcels = append(settlement.Parcels, part)
		settlement.Gross += part.Gross
		settlement.Net += part.Net
	}
	if len(p) > 0 {
		return Settlement{}, p.err()
	}
	settlement.Deducted = settlement.Gross - settlement.Net
	return settlement, nil
}

// maxParcelGrams keeps sums of cents far inside int64; it is a thousand tonnes.
const maxParcelGrams = 1_000_000_000

func (t *PriceTerms) settleParcel(field string, parcel Parcel, p *problems) ParcelSettlement {
	part := ParcelSettlement{Parcel: parcel}
	if parcel.NetGrams <= 0 || parcel.NetGrams > maxParcelGrams {
		p.add(field+"/net_grams", fmt.Sprint(parcel.NetGrams), "whole grams above 0, at most %s", maxParcelGrams)
		return part
	}
	kilograms := decimal.New(parcel.NetGrams, -3)
	gross := kilograms.Mul(t.PricePerKg.d)
	var ok bool
	if part.Gross, ok = wholeCents(gross); !ok {
		p.add(field+"/net_grams", fmt.Sprint(parcel.NetGrams), "the amount is too large to be booked")
		return part
	}
	part.Net = part.Gross
	for _, parameter := range t.discountedParameters() {
		step, value := t.stepFor(field, parameter, parcel, p)
		if step == nil {
			continue
		}
		amount, _ := wholeCents(step.amount(kilograms, gross))
		part.Deductions = append(part.Deductions, Deduction{*step, value, amount})
		part.Net -= amount
	}
	if part.Net < 0 {
		p.add(field, parcel.ID, "the deductions come to more than the price")
	}
	return part
}

func (d *Discount) amount(kilograms, gross decimal.Decimal) decimal.Decimal {
	if d.PerKg != nil {
		return kilograms.Mul(d.PerKg.d)
	}
	return gross.Mul(d.Percent.d).Shift(-2)
}

func wholeCents(amount decimal.Decimal) (int64, bool) {
	rounded := roundHalfUp(amount, 0).BigInt()
	return rounded.Int64(), rounded.IsInt64() && rounded.Int64() < math.MaxInt64/1_000_000
}

func (t *PriceTerms) discountedParameters() []string {
	var parameters []string
	for _, d := range t.Discounts {
		if !slices.Contains(parameters, d.Parameter) {
			parameters = append(parameters, d.Parameter)
		}
	}
	return parameters
}

// stepFor finds the step that counts for the parcel's value of a parameter, nil
// when the value lies below the first step or between two.
func (t *PriceTerms) stepFor(field, parameter string, parcel Parcel, p *problems) (*Discount, Decimal) {
	value, ok := parcel.Values[parameter]
	if !ok {
		p.add(field+"/values/"+parameter, "", "the price depends on it, so it has to be measured")
		return nil, value
	}
	beyond := true
	for i := range t.Discounts {
		d := &t.Discounts[i]
		if d.Parameter != parameter {
			continue
		}
		if d.counts(value) {
			return d, value
		}
		if d.UpTo == nil || value.Cmp(*d.UpTo) <= 0 {
			beyond = false
		}
	}
	if beyond {
		p.add(field+"/values/"+parameter, value.String(), "it is beyond the last step, so these terms give no price for it")
	}
	return nil, value
}
