package season

import (
	"pullbook/domain/ledger"
	"pullbook/domain/say"
)

// OperatorSentence says what an entry of the operator's changed: "Mirren may now
// record (crew)". It is empty for any other entry.
func OperatorSentence(b *ledger.Book, e *ledger.Entry) say.Text {
	now, ok := e.Body.(*ledger.Operator)
	if !ok {
		return say.Text{}
	}
	was := &ledger.Operator{}
	if before := b.OperatorBefore(e); before != nil {
		was = before.Body.(*ledger.Operator)
	}
	text := say.F("%s", say.Series{Between: "; ", Items: operatorChanges(b, e, was, now)})
	if e.Via == ledger.ViaFound {
		return say.F("as found: %s", text)
	}
	return text
}

func operatorChanges(b *ledger.Book, e *ledger.Entry, was, now *ledger.Operator) []say.Text {
	switch {
	case now.Outfit != nil:
		return []say.Text{outfitChange(was.Outfit, now.Outfit)}
	case now.Person != nil:
		return personChanges(was.Person, now.Person)
	case now.Token != nil:
		if now.Token.RevokedAt != nil {
			return []say.Text{say.F("the token %s is good for nothing any more", say.Quoted(now.Token.Name))}
		}
		return []say.Text{say.F("the token %s lets a program in as %s", say.Quoted(now.Token.Name), b.PersonName(now.Token.PersonID))}
	case now.FeedKey != nil:
		return []say.Text{feedKeyChange(now.FeedKey)}
	case now.Tablet != nil:
		if now.Tablet.RevokedAt != nil {
			return []say.Text{say.F("the tablet %s is signed out for good", say.Quoted(now.Tablet.Name))}
		}
		return []say.Text{say.F("the tablet %s is signed in", say.Quoted(now.Tablet.Name))}
	}
	return nil
}

func outfitChange(was, now *ledger.OperatorOutfit) say.Text {
	units := say.F("kilograms")
	if now.Units == "us" {
		units = say.F("pounds")
	}
	if was == nil {
		return say.F("the book of %s: its days are those of %s, its pages show %s", say.Quoted(now.Name), now.TimeZone, units)
	}
	return say.F("the book of %s: its days are now those of %s, its pages show %s", say.Quoted(now.Name), now.TimeZone, units)
}

func personChanges(was, now *ledger.OperatorPerson) (out []say.Text) {
	if was == nil {
		was = &ledger.OperatorPerson{Sessions: now.Sessions}
	}
	if now.Role != was.Role {
		switch now.Role {
		case "reader":
			out = append(out, say.F("%s may now read (reader)", now.Name))
		case "crew":
			out = append(out, say.F("%s may now record (crew)", now.Name))
		default:
			out = append(out, say.F("%s may now record, set up, correct and withdraw (manager)", now.Name))
		}
	}
	switch {
	case now.PasswordSHA256 != was.PasswordSHA256 && now.PasswordSHA256 == "":
		out = append(out, say.F("%s has no password any more", now.Name))
	case now.PasswordSHA256 != was.PasswordSHA256:
		out = append(out, say.F("%s has a new password", now.Name))
	case now.Sessions != was.Sessions:
		out = append(out, say.F("%s was signed out everywhere", now.Name))
	}
	switch {
	case now.UnlockSHA256 != was.UnlockSHA256 && now.UnlockSHA256 == "":
		out = append(out, say.F("%s has no code for the shed's tablets any more", now.Name))
	case now.UnlockSHA256 != was.UnlockSHA256:
		out = append(out, say.F("%s has a new code for the shed's tablets", now.Name))
	}
	if now.LeftAt != nil && was.LeftAt == nil {
		out = append(out, say.F("%s has left", now.Name))
	}
	if out == nil {
		out = append(out, say.F("%s stays as before", now.Name))
	}
	return out
}

func feedKeyChange(now *ledger.OperatorFeedKey) say.Text {
	switch {
	case now.RevokedAt != nil:
		return say.F("the feed key %s is good for nothing any more", say.Quoted(now.Name))
	case now.Feed == "":
		return say.F("the feed key %s reads all feeds", say.Quoted(now.Name))
	}
	return say.F("the feed key %s reads the feed %s", say.Quoted(now.Name), now.Feed)
}
