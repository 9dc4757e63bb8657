package request

import (
	"bytes"
	"errors"
	"io"
	"net/http"
	"os"
	"time"

	"github.com/labstack/echo/v4"

	"pullbook/domain/fault"
)

// bodyPace is how slowly a body may come: so long without any of it counting, and
// from then on so many bytes a second.
type bodyPace struct {
	grace     time.Duration
	perSecond int64
}

var (
	strangerPace = bodyPace{8 * time.Second, 16 << 10}
	knownPace    = bodyPace{10 * time.Second, 1 << 10}
	importPace   = bodyPace{20 * time.Second, 4 << 10}
)

// readBody reads a request's body before the request takes a place to be served.
// What it read takes memory until gone is called.
func (s *Service) readBody(ctx echo.Context, who asker) (gone func(), err error) {
	r := ctx.Request()
	if r.Body == nil || r.Body == http.NoBody {
		return func() {}, nil
	}
	most, pace := s.Settings(ctx).MostBytes, knownPace
	if most == 0 { // a body that nobody asked for
		most = strangerFormBytes
	}
	if who.stranger() {
		most, pace = min(most, strangerFormBytes), strangerPace
	}
	if r.ContentLength > most {
		return nil, &http.MaxBytesError{Limit: most}
	}
	gone, err = s.arriving.Enter(r.Context(), turn, who.of(s.Concurrent)...)
	if err != nil {
		return nil, err
	}
	s.paceBody(ctx, most, max(s.RequestTimeout, time.Second), pace)
	body, err := readWhole(ctx.Request())
	if err == nil {
		// The time that reading had is over before the answer is.
		_ = http.NewResponseController(ctx.Response()).SetReadDeadline(time.Time{})
		ctx.Request().Body = arrivedBody{bytes.NewReader(body), body}
	}
	if err != nil {
		gone()
		return nil, arrived(err)
	}
	return gone, nil
}

// arrivedBody is a request's body that was read whole.
type arrivedBody struct {
	*bytes.Reader
	whole []byte
}

func (arrivedBody) Close() error { return nil }

// wholeBody returns a request's body, which nobody has begun to use.
func wholeBody(r *http.Request) ([]byte, error) {
	if arrived, is := r.Body.(arrivedBody); is {
		return arrived.whole, nil
	}
	return io.ReadAll(r.Body)
}

// mostAtOnce is how much memory a body gets for its word that it is so long. What is
// longer gets more as it comes.
const mostAtOnce = 64 << 10

func readWhole(r *http.Request) ([]byte, error) {
	var body bytes.Buffer
	body.Grow(int(min(max(r.ContentLength, 0), mostAtOnce)) + bytes.MinRead)
	_, err := body.ReadFrom(r.Body)
	return body.Bytes(), err
}

// arrived says why a body could not be read.
func arrived(err error) error {
	var explained *fault.Error
	switch tooLarge := new(http.MaxBytesError); {
	case errors.As(err, &tooLarge), errors.As(err, &explained):
		return err
	case errors.Is(err, os.ErrDeadlineExceeded):
		return fault.New(fault.TooSlow, "The body came too slowly, and nothing of it was stored. Where the network is poor, send it again with the same id: it is not booked twice.")
	}
	return fault.New(fault.Malformed, "The body did not arrive whole. Send it again with the same id.")
}

// paceBody bounds a body's length and how slowly it may come.
func (s *Service) paceBody(ctx echo.Context, most int64, within time.Duration, pace bodyPace) {
	r := ctx.Request()
	now := time.Now()
	r.Body = &pacedBody{
		ReadCloser: http.MaxBytesReader(ctx.Response().Writer, r.Body, most), control: http.NewResponseController(ctx.Response()),
		due: now.Add(min(pace.grace, within)), last: now.Add(within), pace: pace,
	}
}

// pacedBody gives the sender more time as more of the body comes.
type pacedBody struct {
	io.ReadCloser
	control   *http.ResponseController
	due, last time.Time
	pace      bodyPace
}

func (b *pacedBody) Read(into []byte) (int, error) {
	// Where the connection has no deadlines, it keeps the server's own.
	_ = b.control.SetReadDeadline(b.due)
	n, err := b.ReadCloser.Read(into)
	b.due = b.due.Add(time.Duration(n) * time.Second / time.Duration(b.pace.perSecond))
	if b.due.After(b.last) {
		b.due = b.last
	}
	return n, err
}

// leaveUnread gives back why a request is refused before all of its body was read. The
// answer goes out at once, and the connection ends: the server would otherwise wait
// for the rest of the body first.
func leaveUnread(ctx echo.Context, err error) error {
	if r := ctx.Request(); r.Body != nil && r.Body != http.NoBody {
		ctx.Response().Header().Set("Connection", "close")
		_ = http.NewResponseController(ctx.Response()).SetReadDeadline(time.Now().Add(time.Second))
	}
	return err
}
