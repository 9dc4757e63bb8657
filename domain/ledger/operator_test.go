package ledger_test

import (
	"testing"
	"time"

	"pullbook/domain/ledger"
)

// The order of the fields is in the digests of books that there are, and so stays.
func TestWhatTheOperatorChangedIsWrittenAsEver(t *testing.T) {
	t.Parallel()
	made := time.Date(2026, 8, 1, 6, 30, 0, 0, time.UTC)
	ended := made.Add(time.Hour)
	id, other := ledger.ID{15: 1}, ledger.ID{15: 2}
	for want, body := range map[string]*ledger.Operator{
		`{"outfit":{"id":"00000000-0000-0000-0000-000000000001","name":"Fern Gully","time_zone":"America/Winnipeg","units":"us","made_at":"2026-08-01T06:30:00Z"}}`: {Outfit: &ledger.OperatorOutfit{
			ID: id, Name: "Fern Gully", TimeZone: "America/Winnipeg", Units: "us", MadeAt: made}},
		`{"outfit":{"id":"00000000-0000-0000-0000-000000000001","name":"Fern Gully","time_zone":"America/Winnipeg","units":"us","made_at":"2026-08-01T06:30:00Z","decimal_mark":"comma"}}`: {Outfit: &ledger.OperatorOutfit{
			ID: id, Name: "Fern Gully", TimeZone: "America/Winnipeg", Units: "us", MadeAt: made, DecimalMark: "comma"}},
		`{"outfit":{"id":"00000000-0000-0000-0000-000000000001","name":"Fern Gully","time_zone":"America/Winnipeg","units":"us","made_at":"2026-08-01T06:30:00Z","blend_weights":{"source_kg":25,"moisture_given":1,"hmf_given":0.01,"diastase_given":0,"colour_given":0.02,"year_kg":0.005,"over_kg":0.05}}}`: {Outfit: &ledger.OperatorOutfit{
			ID: id, Name: "Fern Gully", TimeZone: "America/Winnipeg", Units: "us", MadeAt: made,
			BlendWeights: &ledger.BlendWeights{SourceKg: 25, MoistureGiven: 1, HMFGiven: 0.01, ColourGiven: 0.02, YearKg: 0.005, OverKg: 0.05}}},
		`{"person":{"id":"00000000-0000-0000-0000-000000000001","name":"Odell","role":"crew","made_at":"2026-08-01T06:30:00Z","left_at":"2026-08-01T07:30:00Z","password_sha256":"aa","unlock_sha256":"bb","sessions":3}}`: {Person: &ledger.OperatorPerson{
			ID: id, Name: "Odell", Role: "crew", MadeAt: made, LeftAt: &ended, PasswordSHA256: "aa", UnlockSHA256: "bb", Sessions: 3}},
		`{"token":{"id":"00000000-0000-0000-0000-000000000001","person_id":"00000000-0000-0000-0000-000000000002","name":"the scale","made_at":"2026-08-01T06:30:00Z","revoked_at":"2026-08-01T07:30:00Z","sha256":"aa"}}`: {Token: &ledger.OperatorToken{
			ID: id, PersonID: other, Name: "the scale", MadeAt: made, RevokedAt: &ended, SHA256: "aa"}},
		`{"feed_key":{"id":"00000000-0000-0000-0000-000000000001","name":"the office","feed":"lots","made_by":"Mirren","made_at":"2026-08-01T06:30:00Z","revoked_at":"2026-08-01T07:30:00Z","sha256":"aa"}}`: {FeedKey: &ledger.OperatorFeedKey{
			ID: id, Name: "the office", Feed: "lots", MadeBy: "Mirren", MadeAt: made, RevokedAt: &ended, SHA256: "aa"}},
		`{"tablet":{"id":"00000000-0000-0000-0000-000000000001","name":"by the extractor","made_at":"2026-08-01T06:30:00Z","revoked_at":"2026-08-01T07:30:00Z"}}`: {Tablet: &ledger.OperatorTablet{
			ID: id, Name: "by the extractor", MadeAt: made, RevokedAt: &ended}},
	} {
		e := &ledger.Entry{Kind: ledger.KindOperator, Body: body}
		content, err := e.Content()
		if err != nil || string(content) != `{"body":`+want+`}` {
			t.Errorf("%v: written as\n%s\nwant\n%s", err, content, want)
		}
	}
}
