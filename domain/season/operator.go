package season

import (
	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// OperatorSentence says what an entry of the operator's changed: "Mirren may now
// record (crew)". It is empty for any other entry.
func OperatorSentence(b *ledger.Book, e *ledger.Entry) message.Text {
	now, ok := e.Body.(*ledger.Operator)
	if !ok {
		return message.Text{}
	}
	was := &ledger.Operator{}
	if before := b.OperatorBefore(e); before != nil {
		was = before.Body.(*ledger.Operator)
	}
	text := message.F("%s", message.Series{Between: "; ", Items: operatorChanges(b, was, now)})
	if e.Via == ledger.ViaFound {
		return message.F("as found: %s", text)
	}
	return text
}

func operatorChanges(b *ledger.Book, was, now *ledger.Operator) []message.Text {
	switch {
	case now.Outfit != nil:
		return outfitChanges(was.Outfit, now.Outfit)
	case now.Person != nil:
		return personChanges(was.Person, now.Person)
	case now.Token != nil:
		if now.Token.RevokedAt != nil {
			return []message.Text{message.F("the token %s is no longer valid", message.Quoted(now.Token.Name))}
		}
		return []message.Text{message.F("the token %s lets a program in as %s", message.Quoted(now.Token.Name), b.PersonName(now.Token.PersonID))}
	case now.FeedKey != nil:
		return []message.Text{feedKeyChange(now.FeedKey)}
	case now.Tablet != nil:
		if now.Tablet.RevokedAt != nil {
			return []message.Text{message.F("the tablet %s is signed out for good", message.Quoted(now.Tablet.Name))}
		}
		return []message.Text{message.F("the tablet %s is signed in", message.Quoted(now.Tablet.Name))}
	case now.Delivery != nil:
		return []message.Text{deliveryChange(now.Delivery)}
	}
	return nil
}

func outfitChanges(was, now *ledger.OperatorOutfit) []message.Text {
	units := message.F("kilograms")
	if now.Units == "us" {
		units = message.F("pounds")
	}
	if was == nil {
		return append([]message.Text{message.F("the book of %s: its days are those of %s, its pages show %s", message.Quoted(now.Name), now.TimeZone, units)}, decimalMark("", now.DecimalMark)...)
	}
	return append([]message.Text{message.F("the book of %s: its days are now those of %s, its pages show %s", message.Quoted(now.Name), now.TimeZone, units)}, decimalMark(was.DecimalMark, now.DecimalMark)...)
}

// decimalMark says what an outfit's spreadsheets write; nothing where nobody ever said.
func decimalMark(was, now string) []message.Text {
	switch {
	case now == "point":
		return []message.Text{message.F("its spreadsheets write decimals behind a point")}
	case now == "comma":
		return []message.Text{message.F("its spreadsheets write decimals behind a comma")}
	case was != "":
		return []message.Text{message.F("nobody says any more what its spreadsheets write before decimals")}
	}
	return nil
}

func personChanges(was, now *ledger.OperatorPerson) (out []message.Text) {
	if was == nil {
		was = &ledger.OperatorPerson{Sessions: now.Sessions}
	}
	if now.Role != was.Role {
		switch now.Role {
		case "reader":
			out = append(out, message.F("%s may now read (reader)", now.Name))
		case "crew":
			out = append(out, message.F("%s may now record (crew)", now.Name))
		default:
			out = append(out, message.F("%s may now record, set up, correct and withdraw (manager)", now.Name))
		}
	}
	switch {
	case now.PasswordSHA256 != was.PasswordSHA256 && now.PasswordSHA256 == "":
		out = append(out, message.F("%s has no password any more", now.Name))
	case now.PasswordSHA256 != was.PasswordSHA256:
		out = append(out, message.F("%s has a new password", now.Name))
	case now.Sessions != was.Sessions:
		out = append(out, message.F("%s was signed out everywhere", now.Name))
	}
	switch {
	case now.UnlockSHA256 != was.UnlockSHA256 && now.UnlockSHA256 == "":
		out = append(out, message.F("%s has no code for the shed's tablets any more", now.Name))
	case now.UnlockSHA256 != was.UnlockSHA256:
		out = append(out, message.F("%s has a new code for the shed's tablets", now.Name))
	}
	if now.LeftAt != nil && was.LeftAt == nil {
		out = append(out, message.F("%s has left", now.Name))
	}
	if out == nil {
		out = append(out, message.F("%s stays as before", now.Name))
	}
	return out
}

func feedKeyChange(now *ledger.OperatorFeedKey) message.Text {
	switch {
	case now.RevokedAt != nil:
		return message.F("the feed key %s is no longer valid", message.Quoted(now.Name))
	case now.Feed == "":
		return message.F("the feed key %s reads all feeds", message.Quoted(now.Name))
	}
	return message.F("the feed key %s reads the feed %s", message.Quoted(now.Name), now.Feed)
}

func deliveryChange(now *ledger.OperatorDelivery) message.Text {
	switch {
	case now.EndedAt != nil:
		return message.F("the evening's page goes no more to %s", now.Address)
	case now.Way == "mail":
		return message.F("the evening's page goes to %s as mail, through %s", now.Address, now.Server)
	}
	return message.F("the evening's page goes to %s as a web hook", now.Address)
}
