package ledger

import "time"

// Operator says how one row of the outfit's own tables stands from now on: the
// outfit itself, a person, a token, a feed key, a tablet or a delivery. Exactly one of the
// fields is set. Such an entry is written in the transaction that changes the
// row, so that an audit can hold the tables against the book. It holds no
// secret, only the SHA-256 of what the table keeps of one.
type Operator struct {
	Outfit   *OperatorOutfit   `json:"outfit,omitempty"`
	Person   *OperatorPerson   `json:"person,omitempty"`
	Token    *OperatorToken    `json:"token,omitempty"`
	FeedKey  *OperatorFeedKey  `json:"feed_key,omitempty"`
	Tablet   *OperatorTablet   `json:"tablet,omitempty"`
	Delivery *OperatorDelivery `json:"delivery,omitempty"`
}

// OperatorOutfit is the outfit as its table has it.
type OperatorOutfit struct {
	ID       ID        `json:"id"`
	Name     string    `json:"name"`
	TimeZone string    `json:"time_zone"`
	Units    string    `json:"units"`
	MadeAt   time.Time `json:"made_at"`
	// DecimalMark is "point" or "comma"; empty where nobody said what the outfit's
	// spreadsheets write.
	DecimalMark string `json:"decimal_mark,omitempty"`
	// BlendWeights are nil where the outfit goes by the usual ones.
	BlendWeights *BlendWeights `json:"blend_weights,omitempty"`
}

// OperatorPerson is somebody of the outfit as the table of people has him or her.
type OperatorPerson struct {
	ID     ID         `json:"id"`
	Name   string     `json:"name"`
	Role   string     `json:"role"`
	MadeAt time.Time  `json:"made_at"`
	LeftAt *time.Time `json:"left_at,omitempty"`
	// PasswordSHA256 and UnlockSHA256 are the SHA-256 of the stored hashes, in
	// hexadecimal; empty where there is none.
	PasswordSHA256 string `json:"password_sha256,omitempty"`
	UnlockSHA256   string `json:"unlock_sha256,omitempty"`
	// Sessions goes up when the person is signed out everywhere.
	Sessions int64 `json:"sessions"`
}

// OperatorToken is a program's way in, in a person's name.
type OperatorToken struct {
	ID        ID         `json:"id"`
	PersonID  ID         `json:"person_id"`
	Name      string     `json:"name"`
	MadeAt    time.Time  `json:"made_at"`
	RevokedAt *time.Time `json:"revoked_at,omitempty"`
	// SHA256 is the SHA-256 of the stored hash, in hexadecimal.
	SHA256 string `json:"sha256"`
}

// OperatorFeedKey is a key that stands in the address of a feed.
type OperatorFeedKey struct {
	ID   ID     `json:"id"`
	Name string `json:"name"`
	// Feed is the one feed that it reads; empty where it reads all.
	Feed      string     `json:"feed,omitempty"`
	MadeBy    string     `json:"made_by"`
	MadeAt    time.Time  `json:"made_at"`
	RevokedAt *time.Time `json:"revoked_at,omitempty"`
	// SHA256 is the SHA-256 of the stored hash, in hexadecimal.
	SHA256 string `json:"sha256"`
}

// OperatorTablet is a device of the shed that stays signed in.
type OperatorTablet struct {
	ID        ID         `json:"id"`
	Name      string     `json:"name"`
	MadeAt    time.Time  `json:"made_at"`
	RevokedAt *time.Time `json:"revoked_at,omitempty"`
}

// OperatorDelivery is where the evening's page goes by itself.
type OperatorDelivery struct {
	ID ID `json:"id"`
	// Way is mail or hook.
	Way     string `json:"way"`
	Name    string `json:"name"`
	Address string `json:"address"`
	// Server, Sender and Account are of mail alone.
	Server  string `json:"server,omitempty"`
	Sender  string `json:"sender,omitempty"`
	Account string `json:"account,omitempty"`
	// AtMinute is the minute of the outfit's day at which it goes.
	AtMinute int        `json:"at_minute"`
	Language string     `json:"language"`
	MadeBy   string     `json:"made_by"`
	MadeAt   time.Time  `json:"made_at"`
	EndedAt  *time.Time `json:"ended_at,omitempty"`
	// SHA256 is the SHA-256 of what signs a web hook, in hexadecimal; empty for mail.
	SHA256 string `json:"sha256,omitempty"`
}

// Kind implements Body.
func (*Operator) Kind() Kind { return KindOperator }

// About is the id of the row that the entry tells of; the zero ID where it tells
// of none.
func (o *Operator) About() ID {
	switch {
	case o.Outfit != nil:
		return o.Outfit.ID
	case o.Person != nil:
		return o.Person.ID
	case o.Token != nil:
		return o.Token.ID
	case o.FeedKey != nil:
		return o.FeedKey.ID
	case o.Tablet != nil:
		return o.Tablet.ID
	case o.Delivery != nil:
		return o.Delivery.ID
	}
	return ID{}
}

// ViaOperator is an entry made by one of the operator's commands, and ViaFound
// one that says how a row was found when its outfit's book began to keep such
// entries: nobody vouches for how it came to be so.
const (
	ViaOperator Via = "operator"
	ViaFound    Via = "as_found"
)

// OperatorBefore gives the entry that said last, before entry e, how the row
// stands that e tells of; nil where none did, or e tells of no row.
func (b *Book) OperatorBefore(e *Entry) *Entry {
	o, ok := e.Body.(*Operator)
	if !ok {
		return nil
	}
	told := b.told[o.About()]
	for i := len(told) - 1; i >= 0; i-- {
		if told[i].Number < e.Number {
			return told[i].Entry
		}
	}
	return nil
}

// OutfitAsKnown is the outfit as the book had it when its last entry was the one
// numbered n. Where the book did not say yet, it is as the book said first; nil where it
// never does.
func (b *Book) OutfitAsKnown(n int64) (o *OperatorOutfit) {
	for e := range b.RecordedOf(KindOperator, 0) {
		if e.Number > n && o != nil {
			break
		}
		if is := e.Body.(*Operator).Outfit; is != nil {
			o = is
		}
	}
	return o
}

// PersonName is what somebody of the outfit is called; empty where the book has
// nobody of that id.
func (b *Book) PersonName(id ID) string {
	told := b.told[id]
	for i := len(told) - 1; i >= 0; i-- {
		if p := told[i].Body.(*Operator).Person; p != nil {
			return p.Name
		}
	}
	return ""
}
