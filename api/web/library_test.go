package web_test

import (
	"crypto/sha256"
	"encoding/hex"
	"io/fs"
	"testing"

	"pullbook/api/web"
)

// The library that reads codes is what npm publishes as qr 0.7.0, less what no page needs. The
// package's own integrity there is
// sha512-/VrrACmOAwZVipuRITwfEwOL5oAMEHH5PTmBWaGtlTom2Thxaa+rhmna4zU9PRN2uLw2wdccbkHOLGZb1Q9SdA==
var published = map[string]string{
	"LICENSE":      "f9946796a8a5bd5981565142fa42e3b0cc36aef6f80e86beaf5905b3c0fef1b5",
	"LICENSE-MIT":  "07a9f887e9215644439b808628b09f8eece932d79130ff563f958f3a1783e684",
	"decode.js":    "00e209820dcb11d624e9a03d6383e580766792b57d1651318f0a29e4e1ff0fe8",
	"index.js":     "a0de370051f94bd74f218f74401fdf197585e3f9ef0143164f87ea941a3fdd6f",
	"package.json": "cb4788786aeba66a19c48e7daddccc56e75109743ea98cfcda02f2fe9a3501b5",
}

func TestTheLibraryThatReadsCodesIsKeptUnchanged(t *testing.T) {
	t.Parallel()
	names := web.Names("assets/qr")
	for _, name := range names {
		body, err := fs.ReadFile(web.Files, "assets/qr/"+name)
		if err != nil {
			t.Fatal(err)
		}
		if sum := sha256.Sum256(body); hex.EncodeToString(sum[:]) != published[name] {
			t.Errorf("%s has the SHA-256 digest %x, the published file has %q", name, sum, published[name])
		}
	}
	if len(names) != len(published) {
		t.Errorf("there are %v", names)
	}
}
