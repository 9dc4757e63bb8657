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

// Settlement is what a buyer owes for a parcel, in minor units. Net is exactly Gross
// less Deducted.
type Settlement struct{ Gross, Deducted, Net int64 }

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
				p.add(fmt.Sprintf("%s/discounts/%d", field, i), t.Discounts[i].Parameter, "the step overlaps the one above %s", t.Discounts[j].Above)
			}
		}
	}
}

func (d *Discount) validate(field string, p *problems) {
	parameter, ok := parameterByID[d.Parameter]
	if !ok || parameter.IsObservation() {
		p.add(field+"/parameter", d.Parameter, "name a measured parameter that every book knows")
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

// maxParcelGrams keeps sums of cents far inside int64; it is a thousand tonnes.
const maxParcelGrams = 1_000_000_000

// Settle prices a parcel. Every amount is reckoned exactly and rounded once, a
// half cent away from zero. It refuses a parcel without a value that a step asks
// for, and a value beyond the last step, since the terms do not price it.
func (t *PriceTerms) Settle(parcel Parcel) (Settlement, error) {
	var p problems
	s := t.settle(parcel, &p)
	if len(p) > 0 {
		return Settlement{}, p.err()
	}
	return s, nil
}

func (t *PriceTerms) settle(parcel Parcel, p *problems) (s Settlement) {
	if parcel.NetGrams <= 0 || parcel.NetGrams > maxParcelGrams {
		p.add("parcels/0/net_grams", fmt.Sprint(parcel.NetGrams), "whole grams above 0, at most %s", maxParcelGrams)
		return s
	}
	kilograms := decimal.New(parcel.NetGrams, -3)
	gross := kilograms.Mul(t.PricePerKg.d)
	var ok bool
	if s.Gross, ok = wholeCents(gross); !ok {
		p.add("parcels/0/net_grams", fmt.Sprint(parcel.NetGrams), "the amount is too large to be booked")
		return s
	}
	for _, parameter := range t.discountedParameters() {
		if step := t.stepFor(parameter, parcel, p); step != nil {
			amount, _ := wholeCents(step.amount(kilograms, gross))
			s.Deducted += amount
		}
	}
	if s.Net = s.Gross - s.Deducted; s.Net < 0 {
		p.add("parcels/0", parcel.ID, "the deductions come to more than the price")
	}
	return s
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
func (t *PriceTerms) stepFor(parameter string, parcel Parcel, p *problems) *Discount {
	value, ok := parcel.Values[parameter]
	if !ok {
		p.add("parcels/0/values/"+parameter, "", "the price depends on it, so it has to be measured")
		return nil
	}
	beyond := true
	for i := range t.Discounts {
		d := &t.Discounts[i]
		if d.Parameter != parameter {
			continue
		}
		if d.counts(value) {
			return d
		}
		if d.UpTo == nil || value.Cmp(*d.UpTo) <= 0 {
			beyond = false
		}
	}
	if beyond {
		p.add("parcels/0/values/"+parameter, value.String(), "it is beyond the last step, so these terms give no price for it")
	}
	return nil
}

// Example prices a mass whose value of one step's parameter lies just within the step, and
// which no step of another parameter lowers. It returns that value, in the step's unit. It fails
// where the deduction comes to more than the price.
func (t *PriceTerms) Example(step int, netGrams int64) (Decimal, Settlement, error) {
	d := t.Discounts[step]
	places := d.Above.Places()
	if d.Unit == "%" {
		places = max(places, 1) // moisture is read to a tenth
	}
	value := Decimal{d.Above.d.Add(decimal.New(1, -places))}
	if d.UpTo != nil && d.UpTo.Cmp(value) < 0 {
		value = *d.UpTo
	}
	alone := PriceTerms{Currency: t.Currency, PricePerKg: t.PricePerKg, Discounts: []Discount{d}}
	s, err := alone.Settle(Parcel{NetGrams: netGrams, Values: map[string]Decimal{d.Parameter: value}})
	return value, s, err
}
