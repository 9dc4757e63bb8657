package rest

import "math"

// Job is something that a station does.
type Job struct {
	// Begin is called as the job begins, and gives how long it takes.
	Begin func() (takes float64)
	// Done is called once it is done; nil where nothing follows.
	Done func()
}

// Station does jobs in the order in which they come, Servers of them at once.
type Station struct {
	Clock   *Clock
	Servers int
	// May gives the time from which the next job may begin; infinite where that hangs on something
	// after which Look is called. Nil: at once.
	May func() float64

	queue []Job
	begun int // of queue
	busy  int
	wakes float64
	// waiting and working are job-times up to since.
	waiting, working, since float64
}

// Come adds a job to the queue.
func (s *Station) Come(j Job) {
	s.count()
	s.queue = append(s.queue, j)
	s.Look()
}

// Look begins the jobs that may begin now.
func (s *Station) Look() {
	for s.busy < s.Servers && s.Waiting() > 0 {
		if s.May != nil {
			if at := s.May(); at > s.Clock.Now {
				s.wake(at)
				return
			}
		}
		s.count()
		j := s.queue[s.begun]
		s.queue[s.begun] = Job{}
		s.begun++
		s.busy++
		s.Clock.At(s.Clock.Now+j.Begin(), func() {
			s.count()
			s.busy--
			if j.Done != nil {
				j.Done()
			}
			s.Look()
		})
	}
}

// wake looks again at a time, once.
func (s *Station) wake(at float64) {
	if math.IsInf(at, 1) || s.wakes > s.Clock.Now && s.wakes <= at {
		return
	}
	s.wakes = at
	s.Clock.At(at, s.Look)
}

// Waiting is how many jobs have not begun; Busy how many are being done.
func (s *Station) Waiting() int { return len(s.queue) - s.begun }
func (s *Station) Busy() int    { return s.busy }

// Idle reports whether there is nothing to do.
func (s *Station) Idle() bool { return s.busy == 0 && s.Waiting() == 0 }

// Times are how long jobs waited and were done so far, all of them together: divided by the time, how many
// waited and were done on average.
func (s *Station) Times() (waiting, working float64) {
	s.count()
	return s.waiting, s.working
}

func (s *Station) count() {
	passed := s.Clock.Now - s.since
	s.waiting += passed * float64(s.Waiting())
	s.working += passed * float64(s.busy)
	s.since = s.Clock.Now
}
