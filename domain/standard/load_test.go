package standard

import "testing"

func TestPub(t *testing.T) {
	l, err := Published()
	if err != nil {
		t.Fatal(err)
	}
	t.Log(len(l.All()))
}
