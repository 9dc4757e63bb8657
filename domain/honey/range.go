package honey

// Range says what a formula rests on: the figures that its table prints or that
// its samples had. A formula may be carried on beyond it, with less trust.
type Range struct {
	// Of is the quantity, Unit its unit.
	Of, Unit string
	From, To float64
}

// Covers reports whether a figure lies within the range, its ends included.
func (r Range) Covers(value float64) bool { return within(value, r.From, r.To) }

// beyond returns how far a figure lies outside the range, 0 within it.
func (r Range) beyond(value float64) float64 { return max(0, r.From-value, value-r.To) }
