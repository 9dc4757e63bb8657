package ledger

// Name is what the crew calls the thing that id names, as it is called now: a
// yard's or tank's name, a lot's code, a container's number. It is empty for
// what has none.
func (b *Book) Name(id ID) string {
	f := b.fact(id)
	if f == nil {
		return ""
	}
	return calledBy(f.root.subject)
}

// calledBy is the name that a body gives itself.
func calledBy(subject Body) string {
	switch x := subject.(type) {
	case *Season:
		return x.Name
	case *Yard:
		return x.Name
	case *SuperKind:
		return x.Name
	case *ContainerKind:
		return x.Name
	case *Room:
		return x.Name
	case *Tank:
		return x.Name
	case *Instrument:
		return x.Name
	case *Buyer:
		return x.Name
	case *RuleSet:
		return x.Name
	case *Run:
		return x.Name
	case *Lot:
		return x.Code
	case *Fill:
		return x.Container
	}
	return ""
}
