package recording_test

import (
	"bytes"
	"image"
	"image/jpeg"
	"math/rand/v2"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pullbook/api/apitest"
	"pullbook/api/browsertest"
)

// whereItWas stands in the head of a picture, as the place does in those of telephones.
const whereItWas = "49 53 04 N 97 08 47 W"

// aLargePhotograph is a file of some megabytes, as a telephone's camera makes them, with a
// head that says where it was taken (EXIF).
func aLargePhotograph(t *testing.T) string {
	t.Helper()
	random := rand.New(rand.NewPCG(14, 14))
	picture := image.NewRGBA(image.Rect(0, 0, 2400, 1800))
	for i := range picture.Pix {
		picture.Pix[i] = byte(random.Uint32())
	}
	var out bytes.Buffer
	if err := jpeg.Encode(&out, picture, &jpeg.Options{Quality: 90}); err != nil {
		t.Fatal(err)
	}
	head := "Exif\x00\x00" + whereItWas
	whole := append([]byte{0xff, 0xd8, 0xff, 0xe1, 0, byte(len(head) + 2)}, head...)
	return keptIn(t, "IMG_0001.jpg", append(whole, out.Bytes()[2:]...))
}

func keptIn(t *testing.T, name string, content []byte) string {
	t.Helper()
	file := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(file, content, 0o600); err != nil {
		t.Fatal(err)
	}
	return file
}

// TestAPictureIsTakenWithoutNetwork: one touch takes it. It waits with its reading, and is in
// the book after it, small, with nothing in it but what was seen.
func TestAPictureIsTakenWithoutNetwork(t *testing.T) {
	t.Parallel()
	s := apitest.NewShed()
	h := s.Open(t, "metric")
	l := h.Line(t)
	d := browsertest.Start(t).WithAWorker().Device(t, "en-CA")
	d.SignInAs(l, h, "Tam", h.CrewMember(t, "Tam"))
	d.KnowsTheShed()
	d.WorkerStands()
	d.NoNetwork(l, true)
	d.Tile("reading")
	d.Choose("on", "tank 2")
	d.Key("192")
	takes := func(file string) { t.Helper(); d.ChooseFileBy(file, func() { d.Touch(".take") }) }
	takes(keptIn(t, "notes.jpg", []byte("no picture")))
	d.Until(`document.getElementById('taken-says').innerText.includes('could not be read as a picture')`)
	photograph := aLargePhotograph(t)
	takes(photograph)
	d.Until(`document.querySelector('#taken img')?.naturalWidth > 0`)
	takes(photograph)
	d.Until(`document.querySelectorAll('#taken li').length === 2`)
	d.Look("picture", phones...)
	d.Touch("#taken li:last-child button")
	d.Until(`document.querySelectorAll('#taken li').length === 1`)
	d.Saved()
	d.Until(`document.getElementById('today-list').innerText.includes('pictures kept on this device: 1')`)
	d.Waits(1)

	d.NoNetwork(l, false)
	d.Waits(0)
	d.Until(`document.getElementById('today-list').innerText.includes('pictures in the book: 1')`)
	reading, taken := h.One(t, "readings"), h.Ask(t, "photos")
	if len(taken) != 1 || taken[0]["entry_id"] != reading["id"] || taken[0]["recorded_by"] != "Tam" {
		t.Fatalf("the book has %v", taken)
	}
	h.SignIn(t)
	_, file := h.Get(t, "/v1/photos/"+taken[0]["id"].(string)+"/file")
	size, err := jpeg.DecodeConfig(strings.NewReader(file))
	if err != nil || max(size.Width, size.Height) > 1600 || len(file) > 300<<10 {
		t.Errorf("the picture has %d bytes and %d x %d pixels: %v", len(file), size.Width, size.Height, err)
	}
	t.Logf("of a photograph of %d kB the book has %d kB, %d x %d", fileSize(t, photograph)>>10, len(file)>>10, size.Width, size.Height)
	if strings.Contains(file, "Exif") || strings.Contains(file, whereItWas) {
		t.Error("the picture says where it was taken")
	}
	d.Open(d.At(l) + "/journal/" + reading["id"].(string))
	d.Until(`document.querySelector('img.taken')?.scrollIntoView() ?? document.querySelector('img.taken')?.naturalWidth > 0`)
	d.Look("picture-entry", phones...)
	if _, page := h.Get(t, "/journal"); !strings.Contains(page, "1 picture") {
		t.Error("the journal does not say that there is a picture")
	}
}

func fileSize(t *testing.T, name string) int64 {
	t.Helper()
	info, err := os.Stat(name)
	if err != nil {
		t.Fatal(err)
	}
	return info.Size()
}

// TestAPictureNeverHoldsBackItsEntry: while the book takes no pictures the figures go, and
// so do those that are typed after them. One that it refuses is said, and the entry stands.
func TestAPictureNeverHoldsBackItsEntry(t *testing.T) {
	t.Parallel()
	s := apitest.NewShed()
	h := s.Open(t, "metric")
	l := h.Line(t)
	d := browsertest.Start(t).Device(t, "es-MX")
	d.SignInAs(l, h, "Tamsin", h.Password)
	d.KnowsTheShed()
	answers := func(status int) {
		trouble := func(w http.ResponseWriter, r *http.Request) bool {
			if r.Method != http.MethodPost || r.URL.Path != "/v1/photos" {
				return false
			}
			w.Header().Set("Content-Type", "application/problem+json")
			w.Header().Set("Retry-After", "1")
			w.WriteHeader(status)
			_, _ = w.Write([]byte(`{"title": "no", "detail": "no room", "errors": []}`))
			return true
		}
		l.Instead.Store(&trouble)
	}
	photograph := aLargePhotograph(t)
	reads := func() {
		t.Helper()
		d.Tile("reading")
		d.Choose("on", "tank 2")
		d.Key("192")
		d.ChooseFileBy(photograph, func() { d.Touch(".take") })
		d.Until(`document.querySelectorAll('#taken li').length === 1`)
		d.Saved()
		d.InBook()
	}
	answers(http.StatusServiceUnavailable)
	reads()
	d.Until(`document.getElementById('today-list').innerText.includes('imágenes guardadas en este dispositivo: 1')`)
	d.Tile("temperature")
	d.Choose("on", "hot room")
	d.Key("34.5")
	d.Saved()
	d.InBook()
	if taken := h.Ask(t, "photos"); len(taken) != 0 {
		t.Errorf("the book has %v", taken)
	}
	l.Instead.Store(nil)
	browsertest.Evaluated[bool](d, `dispatchEvent(new Event('online'))`)
	d.Until(`document.getElementById('today-list').innerText.includes('imágenes en el libro: 1')`)

	answers(http.StatusUnprocessableEntity)
	reads()
	d.Until(`document.getElementById('today-list').innerText.includes('El libro no aceptó una imagen. El asiento vale sin ella. no room')`)
	d.Look("picture-refused", phones...)
	if readings, taken := h.Booked(t, "readings"), h.Ask(t, "photos"); len(readings) < 2 || len(taken) != 1 {
		t.Errorf("the book has %d readings and %d pictures", len(readings), len(taken))
	}
}
