package ledger

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"
)

// trait is one thing that a row of an outfit's tables says.
type trait struct{ what, value string }

// called is how a row is spoken of, its table, and what the row says.
func (o *Operator) called() (name, table string, traits []trait) {
	switch {
	case o.Outfit != nil:
		x := o.Outfit
		return "the outfit " + strconv.Quote(x.Name), "outfits", []trait{{"name", x.Name}, {"time zone", x.TimeZone}, {"units", x.Units}, {"decimal mark", cmp.Or(x.DecimalMark, "not said")},
			{"blend weights", x.BlendWeights.told()}, {"founding", moment(&x.MadeAt)}}
	case o.Person != nil:
		x := o.Person
		return x.Name, "people", []trait{{"name", x.Name}, {"role", x.Role}, {"joining", moment(&x.MadeAt)}, {"leaving", moment(x.LeftAt)},
			{"password", secret(x.PasswordSHA256)}, {"tablet code", secret(x.UnlockSHA256)}, {"count of signing out everywhere", strconv.FormatInt(x.Sessions, 10)}}
	case o.Token != nil:
		x := o.Token
		return "the token " + strconv.Quote(x.Name), "tokens", []trait{{"name", x.Name}, {"person", x.PersonID.String()}, {"making", moment(&x.MadeAt)},
			{"revoking", moment(x.RevokedAt)}, {"secret", secret(x.SHA256)}}
	case o.FeedKey != nil:
		x := o.FeedKey
		feed := x.Feed
		if feed == "" {
			feed = "all"
		}
		return "the feed key " + strconv.Quote(x.Name), "feed keys", []trait{{"name", x.Name}, {"feed", feed}, {"maker", x.MadeBy}, {"making", moment(&x.MadeAt)},
			{"revoking", moment(x.RevokedAt)}, {"secret", secret(x.SHA256)}}
	case o.Tablet != nil:
		x := o.Tablet
		return "the tablet " + strconv.Quote(x.Name), "tablets", []trait{{"name", x.Name}, {"signing in", moment(&x.MadeAt)}, {"signing out", moment(x.RevokedAt)}}
	case o.Delivery != nil:
		x := o.Delivery
		return "the delivery " + strconv.Quote(x.Name), "deliveries", []trait{{"name", x.Name}, {"way", x.Way}, {"address", x.Address}, {"server", x.Server}, {"sender", x.Sender},
			{"account", x.Account}, {"minute", strconv.Itoa(x.AtMinute)}, {"language", x.Language}, {"maker", x.MadeBy}, {"making", moment(&x.MadeAt)}, {"ending", moment(x.EndedAt)}, {"secret", secret(x.SHA256)}}
	}
	return "nothing", "nothing", nil
}

func moment(t *time.Time) string {
	if t == nil {
		return never
	}
	return t.UTC().Format(time.RFC3339Nano)
}

const (
	never    = "never"
	noSecret = "none"
)

// secret tells secrets apart by the beginning of the digest of their hash.
func secret(sha256 string) string {
	if sha256 == "" {
		return noSecret
	}
	return "one of digest " + sha256[:min(len(sha256), 12)]
}

// OperatorDifferences holds the rows of an outfit's tables against what the book
// says of them, and says in words where they differ. Rows whose last entry came
// with an archive (it has the number archived or a lower one) may lack what they
// sign in with: an archive carries no secrets.
func (b *Book) OperatorDifferences(rows []*Operator, archived int64) (out []string) {
	seen := map[ID]bool{}
	for _, row := range rows {
		name, table, now := row.called()
		seen[row.About()] = true
		told := b.told[row.About()]
		if len(told) == 0 {
			out = append(out, fmt.Sprintf("%s (%s) stands in the table of %s, and the book knows of none", name, row.About(), table))
			continue
		}
		last := told[len(told)-1].Body.(*Operator)
		if _, of, _ := last.called(); of != table {
			out = append(out, fmt.Sprintf("%s (%s) stands in the table of %s; the book has that id among the %s", name, row.About(), table, of))
			continue
		}
		travelled := told[len(told)-1].Number <= archived
		for i, says := range traitsOf(last) {
			if says == now[i] || travelled && now[i].value == noSecret {
				continue
			}
			out = append(out, fmt.Sprintf("%s: the %s is %s in the table of %s; the book says %s since entry %d",
				name, says.what, now[i].value, table, says.value, since(told, i)))
		}
	}
	for _, id := range slices.SortedFunc(maps.Keys(b.told), func(x, y ID) int { return strings.Compare(x.String(), y.String()) }) {
		told := b.told[id]
		last := told[len(told)-1]
		about := last.Body.(*Operator)
		wayIn := about.Token != nil || about.FeedKey != nil || about.Tablet != nil || about.Delivery != nil
		if seen[id] || wayIn && last.Number <= archived {
			continue
		}
		name, table, _ := about.called()
		out = append(out, fmt.Sprintf("%s (%s) is missing in the table of %s; the book has it since entry %d", name, id, table, told[0].Number))
	}
	return out
}

func traitsOf(o *Operator) []trait {
	_, _, traits := o.called()
	return traits
}

// since is the entry that first said what the last one says of trait i.
func since(told []*fact, i int) int64 {
	at := len(told) - 1
	is := traitsOf(told[at].Body.(*Operator))[i]
	for at > 0 {
		before := traitsOf(told[at-1].Body.(*Operator))
		if i >= len(before) || before[i] != is {
			break
		}
		at--
	}
	return told[at].Number
}
