package browsertest

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/chromedp/chromedp"
)

// Camera is Chromium's own false camera, which shows a film to whoever opens it.
type Camera struct {
	t    testing.TB
	film string
}

// NewCamera makes one for the browser that is started with its flags; show it something first.
func NewCamera(t testing.TB) Camera {
	return Camera{t, filepath.Join(t.TempDir(), "camera.y4m")}
}

// Flags have a browser find the camera and allow it to every page.
func (c Camera) Flags() []chromedp.ExecAllocatorOption {
	return []chromedp.ExecAllocatorOption{
		chromedp.Flag("use-fake-device-for-media-stream", true), chromedp.Flag("use-fake-ui-for-media-stream", true),
		chromedp.Flag("use-file-for-fake-video-capture", c.film),
	}
}

// Show puts a code before the camera, for whoever opens it from now on.
func (c Camera) Show(code image.Image) {
	c.t.Helper()
	if err := os.WriteFile(c.film, filmOf(code), 0o644); err != nil {
		c.t.Fatal(err)
	}
}

// filmOf is a film of half a second, in the format YUV4MPEG2, of a code as a hand holds a
// phone before it: turned, within a grey picture.
func filmOf(code image.Image) []byte {
	const width, height, across, turn = 640, 480, 260.0, 0.2 // pixels, and radians
	size := code.Bounds()
	sin, cos := math.Sincos(turn)
	light := bytes.Repeat([]byte{120}, width*height)
	for i := range light {
		x, y := float64(i%width-width/2), float64(i/width-height/2)
		u, v := (x*cos+y*sin)/across+0.5, (y*cos-x*sin)/across+0.5
		if u >= 0 && u < 1 && v >= 0 && v < 1 {
			at := code.At(size.Min.X+int(u*float64(size.Dx())), size.Min.Y+int(v*float64(size.Dy())))
			light[i] = color.GrayModel.Convert(at).(color.Gray).Y
		}
	}
	frame := append(append([]byte("FRAME\n"), light...), bytes.Repeat([]byte{128}, width*height/2)...)
	return append(fmt.Appendf(nil, "YUV4MPEG2 W%d H%d F10:1 Ip A1:1 C420jpeg\n", width, height), bytes.Repeat(frame, 5)...)
}
