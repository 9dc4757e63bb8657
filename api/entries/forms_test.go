package entries

import (
	"testing"

	"pullbook/api/request"
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
