package entries

import (
	"testing"

	"pullbook/api/request"
	"pullbook/domain/ledger"
	"pullbook/openapi"
)

func TestEveryKindThatTheContractRecordsIsTaken(t *testing.T) {
	ways, err := request.RecordedBy()
	if err != nil {
		t.Fatal(err)
	}
	for kind := range ways {
		if forms[kind] == nil {
			t.Errorf("nothing makes an entry of what is sent for a %s", kind)
		}
	}
}

func TestEveryQuantityOfAReadingHasWhatItCanBe(t *testing.T) {
	doc, err := openapi.Document()
	if err != nil {
		t.Fatal(err)
	}
	quantities := doc.Components.Schemas["Measured"].Value.Properties["quantity"].Value.Enum
	if len(quantities) == 0 {
		t.Fatal("the contract lists no quantities")
	}
	for _, q := range quantities {
		if q == ledger.OwnQuantity {
			continue // the rule set that names it says so
		}
		if _, _, _, _, known := ledger.Plausible(q.(string)); !known {
			t.Errorf("nothing says what %s can be", q)
		}
	}
}
