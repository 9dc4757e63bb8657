// Package document tells what a file is that somebody hands in as a paper: a PDF, or a
// picture of one. It goes by what the file holds, never by what it is called or said to
// be.
package document

import (
	"bytes"
	"image"
	"image/jpeg"
	"image/png"
	"io"
	"strconv"

	"pullbook/domain/fault"
	"pullbook/domain/message"
)

// Type is a media type of a file that is taken.
type Type string

const (
	PDF  Type = "application/pdf"
	JPEG Type = "image/jpeg"
	PNG  Type = "image/png"
)

// Ending is how names of such files end; empty for a type that is not taken.
func (t Type) Ending() string {
	switch t {
	case PDF:
		return ".pdf"
	case JPEG:
		return ".jpg"
	case PNG:
		return ".png"
	}
	return ""
}

// What a file may be. A page scanned in grey at 300 dots an inch, or photographed by a
// telephone, has half a megabyte to four (common practice).
const (
	// MostBytes bounds a file, in bytes.
	MostBytes = 5 << 20
	// MostAcross and MostPixels bound a picture: who looks at one unpacks it.
	MostAcross = 20_000
	MostPixels = 100_000_000
	// MostPictureBytes bounds a picture that is taken with an entry, in bytes: enough to read
	// a label or a scale by (common practice).
	MostPictureBytes = 512 << 10
)

// How pictures begin.
var jpegBegins, pngBegins = []byte("\xff\xd8\xff"), []byte("\x89PNG\r\n\x1a\n")

// Read tells what a file is by its bytes: of a picture it reads the head, and unpacks
// nothing. The error is a fault of the field /file that says what came and what would do.
func Read(data []byte) (Type, error) {
	switch {
	case len(data) == 0:
		return "", refuse(fault.Invalid, nil, message.F("The file is empty. Choose the certificate once more: a PDF, or a JPEG or PNG picture of it."))
	case len(data) > MostBytes:
		return "", TooLarge(int64(len(data)))
	case bytes.HasPrefix(data, []byte("%PDF-1.")), bytes.HasPrefix(data, []byte("%PDF-2.")):
		return PDF, nil
	case bytes.HasPrefix(data, jpegBegins):
		return picture(JPEG, data, jpeg.DecodeConfig)
	case bytes.HasPrefix(data, pngBegins):
		return picture(PNG, data, png.DecodeConfig)
	case ofATelephone(data):
		return "", refuse(fault.Invalid, begins(data), message.F("This is a picture in a format of telephones that not everybody can open (HEIC or AVIF). Set the camera to JPEG, often called most compatible, or send the certificate as PDF."))
	}
	return "", refuse(fault.Invalid, begins(data), message.F("This is no PDF and no JPEG or PNG picture, whatever it is called. Save the certificate as PDF, or photograph the paper."))
}

// ReadPicture is Read for a picture that was taken with an entry.
func ReadPicture(data []byte) (Type, error) {
	switch {
	case len(data) == 0:
		return "", refuse(fault.Invalid, nil, message.F("The picture is empty. Take it once more."))
	case len(data) > MostPictureBytes:
		return "", PictureTooLarge(int64(len(data)))
	case !bytes.HasPrefix(data, jpegBegins) && !bytes.HasPrefix(data, pngBegins):
		return "", refuse(fault.Invalid, begins(data), message.F("This is no JPEG or PNG picture, whatever it is called. Set the camera to JPEG, often called most compatible, and take the picture once more."))
	}
	return Read(data)
}

// PictureTooLarge is the fault of a picture of so many bytes; 0 where it was not read to its end.
func PictureTooLarge(size int64) error {
	var came any
	if size > 0 {
		came = size
	}
	return refuse(fault.TooLarge, came, message.F("A picture with an entry may have %s kB. Take it smaller, and send it again.", int64(MostPictureBytes>>10)))
}

// TooLarge is the fault of a file of so many bytes; 0 where it was not read to its end.
func TooLarge(size int64) error {
	var came any
	if size > 0 {
		came = size
	}
	return refuse(fault.TooLarge, came, message.F("A certificate's file may have %s MB. Scan it in grey and at 150 to 200 dots an inch, or take the photograph smaller, and send it again.", int64(MostBytes>>20)))
}

func picture(t Type, data []byte, head func(io.Reader) (image.Config, error)) (Type, error) {
	size, err := head(bytes.NewReader(data))
	if err != nil {
		return "", refuse(fault.Invalid, begins(data), message.F("The picture is damaged or was cut short: how large it is cannot be read. Send it again, or photograph it anew."))
	}
	if size.Width < 1 || size.Height < 1 || size.Width > MostAcross || size.Height > MostAcross || size.Width*size.Height > MostPixels {
		return "", refuse(fault.Invalid, strconv.Itoa(size.Width)+" x "+strconv.Itoa(size.Height), message.F("The picture has %s by %s pixels. It may have %s along a side and %s in all: make it smaller, and send it again.",
			int64(size.Width), int64(size.Height), int64(MostAcross), int64(MostPixels)))
	}
	return t, nil
}

// ofATelephone reports whether a file is of the family of HEIC and AVIF (ISO/IEC 23008-12):
// a box ftyp with one of their brands.
func ofATelephone(data []byte) bool {
	if len(data) < 12 || string(data[4:8]) != "ftyp" {
		return false
	}
	switch string(data[8:12]) {
	case "heic", "heix", "heim", "heis", "hevc", "hevx", "mif1", "msf1", "avif", "avis":
		return true
	}
	return false
}

// begins is the beginning of a file, as text shows it.
func begins(data []byte) string { return strconv.QuoteToASCII(string(data[:min(len(data), 12)])) }

func refuse(code fault.Code, came any, why message.Text) error {
	return &fault.Error{Code: code, Message: message.F("Nothing was stored: this file cannot be taken."), Fields: []fault.Field{{Pointer: "/file", Sent: came, Message: why}}}
}
