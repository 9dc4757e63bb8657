package heat

import (
	"bytes"
	"strings"
	"testing"
)

func TestAFileThatIsTooLargeIsRefusedAndNotCutShort(t *testing.T) {
	t.Parallel()
	const most = 2 << 20
	if data, err := readUpTo(most, bytes.NewReader(make([]byte, most))); err != nil || len(data) != most {
		t.Errorf("of %d bytes %d were read, %v", most, len(data), err)
	}
	if _, err := readUpTo(most, bytes.NewReader(make([]byte, most+1))); err == nil || !strings.Contains(err.Error(), "larger than 2 MB") {
		t.Errorf("one byte too many: %v", err)
	}
}
