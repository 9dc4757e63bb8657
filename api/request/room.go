package request

import (
	"github.com/prometheus/client_golang/prometheus"
)

// Room is how much is left on the disk that keeps the book.
type Room struct {
	Folder    string
	FreeBytes uint64
	// Low: it is time to make room. Full: nothing more is recorded.
	Low, Full bool
}

// DiskRoom is nothing where the disk is not this machine's.
func (s *Service) DiskRoom() Room {
	if s.Room == nil {
		return Room{}
	}
	return s.Room()
}

// Sign says on which sort of disk a page was made, so that it is made anew when
// that changes.
func (r Room) Sign() string {
	switch {
	case r.Full:
		return "full"
	case r.Low:
		return "low"
	}
	return ""
}

// measureRoom has the metrics tell how much is left.
func (s *Service) measureRoom() {
	if s.Room == nil {
		return
	}
	s.Metrics.registry.MustRegister(prometheus.NewGaugeFunc(prometheus.GaugeOpts{
		Name: "pullbook_disk_free_bytes", Help: "Room left on the disk of the private PostgreSQL's folder.",
	}, func() float64 { return float64(s.Room().FreeBytes) }))
}
